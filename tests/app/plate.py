"""A neck and a jaw that rods tilt, rendered, and measured from the table alone: turned by rotation matrices, each pin must be a rod's length away from the
tip of its horn, whose angle the table gives. Nothing here knows how the program solves for it. Then what the rig is told, and what it refuses."""
import csv
import json
import math
import pathlib
import random
import tempfile

from program import check, finish, root, run_expecting


def turned(pitch_deg, roll_deg, v):
    """About y (ahead) by the roll, then about x (to the right) by the pitch."""
    p, r = math.radians(pitch_deg), math.radians(roll_deg)
    x, y, z = v[0] * math.cos(r) + v[2] * math.sin(r), v[1], -v[0] * math.sin(r) + v[2] * math.cos(r)
    return x, y * math.cos(p) - z * math.sin(p), y * math.sin(p) + z * math.cos(p)


def rod_mm(plate, pitch_deg, roll_deg, servo_deg, side):
    """From horn's tip to pin; side -1 for the first actuator's, +1 for the second's."""
    span, arm, horn = side * plate["half_span_mm"], plate["arm_mm"], plate["horn_mm"]
    ahead = 1 if plate.get("horns_ahead") else -1
    t = math.radians(servo_deg + plate.get("horn_at_zero_deg", 0))
    tip = (span, -arm - ahead * horn + ahead * horn * math.cos(t), -plate["rod_mm"] + horn * math.sin(t))
    return math.dist(turned(pitch_deg, roll_deg, (span, -arm, 0)), tip)


def level_deg(plate, rest_deg):
    """The pitch at which both servos stand at one rest, by halving."""
    low, high = -30.0, 30.0
    rises = rod_mm(plate, high, 0, rest_deg, 1) > plate["rod_mm"]
    for _ in range(100):
        middle = (low + high) / 2
        if (rod_mm(plate, middle, 0, rest_deg, 1) > plate["rod_mm"]) == rises:
            high = middle
        else:
            low = middle
    return low


def jumps(rng, rig):
    """Every control thrown about, each value held until the next."""
    steps = {}
    for control in rig["controls"]:
        t, steps[control["name"]] = 0.0, []
        while t < 20:
            steps[control["name"]].append((round(t, 3), rng.uniform(control["min"], control["max"])))
            t += rng.uniform(0.1, 0.8)
    return steps


with tempfile.TemporaryDirectory() as folder:
    folder = pathlib.Path(folder)
    rig_file = root / "tests/samples/plate.rig.json"
    rig = json.loads(rig_file.read_text())
    run_expecting("check", rig_file, says="nothing to report")
    rng = random.Random(8)
    actuators = {a["name"]: a for a in rig["actuators"]}
    steps = jumps(rng, rig)
    keys, show, ticks = folder / "keys.csv", folder / "tilt.show.json", folder / "ticks.csv"
    keys.write_text("channel,time_s,value,easing\n" + "".join(f"{c},{t!r},{v!r},hold\n" for c, of in steps.items() for t, v in of))
    run_expecting("import", keys, "--rig", rig_file, "--out", show)
    run_expecting("render", show, "--out", ticks)
    rows = list(csv.DictReader(open(ticks)))
    table, hz, shares = {name: [float(r[name]) for r in rows] for name in rows[0]}, rig["tick_hz"], []
    for name, a in actuators.items():
        setpoints = table[name + ".setpoint_deg"]
        speeds = [(y - x) * hz for x, y in zip(setpoints, setpoints[1:])]
        shares.append(max(max(map(abs, speeds)) / a["velocity_deg_s"], max(abs(y - x) * hz for x, y in zip(speeds, speeds[1:])) / a["acceleration_deg_s2"]))
        check(f"{name} moves ({max(setpoints) - min(setpoints):.1f} deg) within its travel", a["min_deg"] <= min(setpoints) and max(setpoints) <= a["max_deg"] and max(setpoints) - min(setpoints) > 15)
    check(f"jumps break no servo's limit (worst share {max(shares):.4f})", max(shares) <= 1 + 1e-9)
    check("and the limits were really reached", min(shares) > 0.99, shares)

    for mapping in rig["mappings"]:
        plate, servos = mapping["response"], mapping["actuators"]
        rest = level_deg(plate, actuators[servos[0]]["rest_deg"])
        names = [axis["terms"][0].split(" ", 1)[1] for axis in mapping["axes"]]
        held = lambda name, tick: next(v for t, v in reversed(steps[name]) if t * hz <= tick + 1e-6)
        asked, made, arrived = 0.0, 0.0, 0
        for tick in range(len(rows)):
            pitch, roll = rest + held(names[0], tick), held(names[1], tick)
            off = {kind: max(abs(rod_mm(plate, pitch, roll, table[f"{name}.{kind}_deg"][tick], side) - plate["rod_mm"]) for name, side in zip(servos, (-1, 1))) for kind in ("target", "setpoint")}
            asked = max(asked, off["target"])
            if all(abs(table[name + ".target_deg"][tick] - table[name + ".setpoint_deg"][tick]) < 1e-9 for name in servos):
                made, arrived = max(made, off["setpoint"]), arrived + 1
        check(f"both rods of {servos} keep their length in what is asked (off by {asked:.1e} mm)", asked < 1e-9)
        check(f"  and in what was made of it, on {arrived} ticks of {len(rows)} (off by {made:.1e} mm)", arrived > 500 and made < 1e-9)

    # What it can't is named, with the cure, and refused where it can't stand at all.
    asks = json.loads(rig_file.read_text())
    asks["controls"][0]["max"] = 25.0
    (folder / "asks.rig.json").write_text(json.dumps(asks))
    run_expecting("check", folder / "asks.rig.json", expect=1,
                  says=("asks.rig.json: mapping of 'neck_right', two-rod plate: the rods can't reach beyond pitch", "with roll", "the travel of 'neck_", "Ask for less"))
    for field, value, words in (("horn_mm", 0.0, "must be lengths"), ("horn_at_zero_deg", 120.0, "with both servos at rest the rods can't hold the plate")):
        bad = json.loads(rig_file.read_text())
        bad["mappings"][0]["response"][field] = value
        (folder / "plate.rig.json").write_text(json.dumps(bad))
        run_expecting("check", folder / "plate.rig.json", expect=1, says=words)
    newer = json.loads(rig_file.read_text())
    newer["version"] = 3
    (folder / "plate.rig.json").write_text(json.dumps(newer))
    run_expecting("check", folder / "plate.rig.json", expect=2, says="from a newer Mien")
    run_expecting("describe", rig_file, says=("neck_right", "jaw_left"))
    run_expecting("describe", rig_file, "--wiring", folder / "wiring.html")
    check("the wiring sheet has the neck's servos", "neck_right" in (folder / "wiring.html").read_text())

finish()
