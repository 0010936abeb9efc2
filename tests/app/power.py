"""mien power against a servo and sums written again from the words in motion/servo.hpp, from mien render's setpoints and the rig's file alone."""
import csv
import json
import math
import pathlib
import tempfile

from program import check, finish, root, run_expecting as run


class Servo:
    """Torque-speed line, drive in proportion to the error, dry friction, the skin's spring; backward Euler in steps of 2 ms by bisection."""

    def __init__(self, kind, actuator, volts, start_deg):
        share = volts / kind["voltage_v"]
        self.idle = kind.get("idle_current_a", 0.008)
        self.stall = self.idle + (kind["stall_current_a"] - self.idle) * share
        self.friction = kind.get("friction_n_m", 0.02)
        self.torque = kind["stall_torque_n_m"] * share
        self.free = math.radians(kind["no_load_deg_s"] * share)
        self.inertia = kind.get("inertia_kg_m2", 2e-4) + actuator.get("load_kg_m2", 0)
        self.full, self.dead = math.radians(kind.get("full_drive_error_deg", 8)), math.radians(kind.get("dead_band_deg", 0.4))
        self.skin = actuator.get("skin_n_m_per_deg", 0) / math.radians(1)
        self.rest = math.radians(actuator["rest_deg"])
        self.x, self.v = math.radians(start_deg), 0.0

    def forces(self, target, v, h):
        x = self.x + h * v
        error = target - x
        drive = math.copysign(min(1, max(0, (abs(error) - self.dead) / self.full)), error)
        # At the no-load speed what is left of the motor's torque is the friction, which is on top of the stall torque.
        motor = self.torque + self.friction
        share = max(-1, min(1, drive - v * self.torque / (self.free * motor)))
        return self.inertia * (v - self.v) / h - motor * share + self.skin * (x - self.rest), drive * share

    def tick(self, target_deg, tick_s):
        target, n, sum = math.radians(target_deg), max(1, math.ceil(tick_s / 0.002 - 1e-9)), 0
        h = tick_s / n
        for _ in range(n):
            push, _ = self.forces(target, 0, h)
            v = 0.0
            if abs(push) > self.friction:  # balance + friction rises with v: bisect on the side to which it is pushed
                sign = -1 if push > 0 else 1
                low, high = (0, 100) if sign > 0 else (-100, 0)
                for _ in range(48):
                    v = 0.5 * (low + high)
                    if self.forces(target, v, h)[0] + sign * self.friction > 0:
                        high = v
                    else:
                        low = v
            chopped = self.forces(target, v, h)[1]
            self.v = v
            self.x += h * v
            sum += max(0, chopped)
        return self.idle + (self.stall - self.idle) * sum / n


def rail_by_hand(show, rig, rail_name, folder):
    run("render", show, "--out", folder / "ticks.csv")
    ticks = list(csv.DictReader(open(folder / "ticks.csv")))
    board, rail = next((b, r) for b in rig["boards"] for r in b["rails"] if r["name"] == rail_name)
    kinds = {k["name"]: k for k in rig["servos"]}
    total, stall = [0.0] * len(ticks), 0
    for a in rig["actuators"]:
        if a["board"] != board["name"] or a["rail"] != rail_name:
            continue
        column = a["name"] + ".setpoint_deg"
        servo = Servo(kinds[a["servo"]], a, rail["voltage_v"], float(ticks[0][column]))
        stall += servo.stall
        for n, row in enumerate(ticks):
            total[n] += servo.tick(float(row[column]), 0.01)
    rms = [math.sqrt(sum(i * i for i in total[max(0, n - 99): n + 1]) / min(n + 1, 100)) for n in range(len(total))]
    return stall, total, rms


def ohm_per_m(awg, celsius):  # ASTM B258 and IEC 60028
    d = 0.127 * 92 ** ((36 - awg) / 39)
    return (1 + 0.00393 * (celsius - 20)) / (58 * math.pi / 4 * d * d)


def near(a, b, share):
    return abs(a - b) <= share * max(abs(a), abs(b))


with tempfile.TemporaryDirectory() as folder:
    folder = pathlib.Path(folder)
    show, rig = root / "shows/keeper.show.json", json.loads((root / "shows/keeper.rig.json").read_text())
    report = json.loads(run("power", show, "--json"))
    check("the members documented", set(report) == {"file", "assumed", "rails", "boards", "actuators", "findings", "caution"}, report.keys())
    check("every actuator is fed", sum(len(r["actuators"]) for r in report["rails"]) == 21)
    check("all figures are the rig's own", report["assumed"] == 0)
    check("energy is never negative", all(r["charge_as"] > 0 and r["peak_a"] >= r["rms_a"] > 0 for r in report["rails"]))

    rail = next(r for r in report["rails"] if r["rail"] == "brow servos")
    stall, total, rms = rail_by_hand(show, rig, "brow servos", folder)
    check("worst case", near(rail["worst_case_a"], stall, 1e-9), (rail["worst_case_a"], stall))
    check("peak", near(rail["peak_a"], max(total), 1e-4), (rail["peak_a"], max(total)))
    check("its time", near(rail["peak_s"], total.index(max(total)) * 0.01, 1e-9) or near(total[round(rail["peak_s"] * 100)], max(total), 1e-5))
    check("RMS", near(rail["rms_a"], max(rms), 1e-4), (rail["rms_a"], max(rms)))
    check("charge", near(rail["charge_as"], sum(total) * 0.01, 1e-4), (rail["charge_as"], sum(total) * 0.01))
    drop = 2 * 0.6 * max(total) * ohm_per_m(18, 35)
    check("drop over the wire", near(rail["drop_v"], drop, 1e-4), (rail["drop_v"], drop))

    text = run("power", show)
    check("the table names every rail", all(r["rail"] in text for r in report["rails"]))
    check("it closes with the caution", "licensed" in text.splitlines()[-1] and "ocal" in text and "codes" in text, text)

    # The budget of check: 12 * 0.8 + 4 * 2.5 = 19.6 A stalled is more than 80 % of 20 A.
    budget = json.loads((root / "tests/samples/small.rig.json").read_text())
    budget["boards"] = [{"name": "face", "address": 0, "outputs": 16, "rails": [{"name": "servos", "rating_a": 20.0}]}]
    budget["servos"] = [{"name": n, "voltage_v": 6.0, "no_load_deg_s": 500.0, "stall_torque_n_m": t, "stall_current_a": i} for n, t, i in (("small", 0.16, 0.8), ("large", 0.9, 2.5))]
    one, control = budget["actuators"][0], budget["controls"][0]
    budget["actuators"] = [dict(one, name=f"s{i}", board="face", rail="servos", output=i, servo="small" if i < 12 else "large") for i in range(16)]
    budget["controls"] = [dict(control, name=f"c{i}") for i in range(16)]
    budget["mappings"] = [{"actuators": [f"s{i}"], "response": {"kind": "straight"}, "axes": [{"role": "", "offset": one["rest_deg"], "terms": [f"1 c{i}"]}]} for i in range(16)]
    (folder / "budget.rig.json").write_text(json.dumps(budget))
    still = json.loads((root / "tests/samples/small.show.json").read_text())
    still["rig"], still["channels"], still["sounds"] = "budget.rig.json", [], []
    (folder / "budget.show.json").write_text(json.dumps(still))
    said = run("power", folder / "budget.show.json", expect=1)
    check("the budget warns", "all 16 stalled, of 19.6 A is above 16 A, 80 % of the supply's 20 A" in said, said)
    said = run("check", folder / "budget.show.json", expect=1)
    check("and so does check", "19.6 A is above 16 A" in said, said)
    run("power", folder / "missing.show.json", expect=2)

    # Without a servo of its own the rig is judged by usual ones, and says so; check says nothing of what it doesn't know.
    for a in budget["actuators"]:
        del a["servo"]
    del budget["servos"]
    (folder / "budget.rig.json").write_text(json.dumps(budget))
    said = run("power", folder / "budget.show.json")
    check("assumed figures are told", "16 servos have no kind" in said, said)
    run("check", folder / "budget.show.json")

    # A rail whose supply nobody has told: that is not fine, and what would do is said; fuse and wire are judged all the same.
    rail = budget["boards"][0]["rails"][0]
    del rail["rating_a"]
    rail["fuse_a"], rail["wire"] = 20.0, {"awg": 22, "length_m": 0.1}
    (folder / "budget.rig.json").write_text(json.dumps(budget))
    said = run("power", folder / "budget.show.json", expect=1)
    check("a rail with no rating is no rail that is fine", "no rating" in said and "No rail gives more" not in said and "so whether its supply carries" in said, said)
    check("  its cure names a supply", "Give the rail its supply's rating_a in the rig; " in said and "would do" in said, said)
    check("  and its fuse is judged", "the fuse of 20 A doesn't protect the wire" in said, said)
    report = json.loads(run("power", folder / "budget.show.json", "--json", expect=1))
    check("  JSON has it, too", report["rails"][0]["verdict"] == "no rating" and report["rails"][0]["rating_a"] == 0 and any("has no rating" in f["what"] for f in report["findings"]), report)
    said = run("check", folder / "budget.show.json", expect=1)
    check("  check names place and cure", "board 'face', rail 'servos', rating_a: the rail has no rating" in said and "`mien power` tells what would do" in said, said)

finish()
