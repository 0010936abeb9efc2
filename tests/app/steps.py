"""Shows made of steps, rendered, and measured from the table alone: when a servo arrives, what it never exceeds, what holds between servos.

Arrival is held against the textbook's time-optimal move under velocity and acceleration limits (trapezoid, or triangle where it is short):
d / v + v / a from v * v / a on, else 2 * sqrt(d / a). 60 degrees at 300 deg/s and 4000 deg/s2 take 0.275 s. A target that moves by less than the
servo could in a tick counts as moving and is followed with no lag, so such steps may come two ticks before the closed form, never after it.
"""
import csv
import json
import math
import pathlib
import random
import subprocess
import tempfile

from program import check, finish, mien, root


def render(folder, rig, steps):
    """steps: (channel, time_s, value), each held until the next."""
    keys, show, ticks = folder / "steps.csv", folder / "steps.show.json", folder / "ticks.csv"
    keys.write_text("channel,time_s,value,easing\n" + "".join(f"{c},{t!r},{v!r},hold\n" for c, t, v in steps))
    for words in (("import", keys, "--rig", rig, "--out", show), ("render", show, "--out", ticks)):
        done = subprocess.run([mien, *map(str, words)], capture_output=True, text=True, timeout=120)
        check(f"mien {words[0]}", done.returncode == 0, done.stdout + done.stderr)
    rows = list(csv.DictReader(open(ticks)))
    return {name: [float(r[name]) for r in rows] for name in rows[0]}


def within_limits(actuator, setpoints, hz):
    """The largest shares of travel, velocity and acceleration limits that difference quotients reach; 1 is the limit."""
    middle, half = (actuator["max_deg"] + actuator["min_deg"]) / 2, (actuator["max_deg"] - actuator["min_deg"]) / 2
    speeds = [(b - a) * hz for a, b in zip(setpoints, setpoints[1:])]
    return (max(abs(x - middle) / half for x in setpoints), max(map(abs, speeds)) / actuator["velocity_deg_s"],
            max(abs(b - a) * hz for a, b in zip(speeds, speeds[1:])) / actuator["acceleration_deg_s2"])


def arrival_s(distance, velocity, acceleration):
    return distance / velocity + velocity / acceleration if distance >= velocity ** 2 / acceleration else 2 * math.sqrt(distance / acceleration)


with tempfile.TemporaryDirectory() as folder:
    folder = pathlib.Path(folder)
    random.seed(20)

    # One servo, moved in steps.
    head = json.loads((root / "tests/samples/small.rig.json").read_text())
    eye = next(a for a in head["actuators"] if a["name"] == "eyes_yaw")
    eye["velocity_deg_s"], eye["acceleration_deg_s2"] = 300.0, 4000.0
    rig = folder / "one.rig.json"
    rig.write_text(json.dumps(head))
    places = [-30.0, 30.0] + [random.uniform(-30, 30) for _ in range(60)]
    places += [places[-1] + d if places[-1] + d < 30 else places[-1] - d for d in (0.01, 0.4, 3)]
    at = [1.0 * (k + 1) for k in range(len(places))]
    table = render(folder, rig, [("gaze_yaw", 0.0, 0.0)] + [("gaze_yaw", t, x) for t, x in zip(at, places)] + [("gaze_yaw", at[-1] + 2, places[-1])])
    setpoints, hz = table["eyes_yaw.setpoint_deg"], head["tick_hz"]
    travel, speed, force = within_limits(eye, setpoints, hz)
    check(f"no limit of one servo is broken (velocity {speed}, acceleration {force})", max(travel, speed, force) <= 1 + 1e-9)
    late, early, early_short, beyond, before = 0.0, 0.0, 0.0, 0.0, 0.0
    for t, x in zip(at, places):
        first = round(t * hz)
        way = setpoints[first:first + hz]
        arrived = next(k for k in range(len(way)) if all(abs(y - x) < 1e-9 for y in way[k:]))
        off = arrived - hz * arrival_s(abs(x - before), 300, 4000)
        late = max(late, off)
        if abs(x - before) > 300 / hz:
            early = max(early, -off)
        else:
            early_short = max(early_short, -off)
        beyond = max(beyond, max((y - x) * math.copysign(1, x - before) for y in way))
        before = x
    check(f"every step arrives within a tick of the closed form ({late:.2f} ticks late, {early:.2f} early at worst)", max(late, early) <= 1)
    check(f"those shorter than a tick's way at full speed come at most two early ({early_short:.2f})", early_short <= 2)
    check(f"none goes beyond its target (by {beyond} deg)", beyond <= 1e-9)
    check("the textbook's move takes its 0.275 s", abs(arrival_s(60, 300, 4000) - 0.275) < 1e-12)

    # The demo's whole head, every control thrown about at once.
    rig = root / "shows/keeper.rig.json"
    head = json.loads(rig.read_text())
    steps = []
    for control in head["controls"]:
        t = 0.0
        while t < 30:
            steps.append((control["name"], round(t, 3), random.uniform(control["min"], control["max"])))
            t += random.uniform(0.05, 1.2)
    table = render(folder, rig, steps)
    hz = head["tick_hz"]
    shares = {a["name"]: within_limits(a, table[a["name"] + ".setpoint_deg"], hz) for a in head["actuators"]}
    worst = max(max(s) for s in shares.values())
    check(f"no limit of any servo of the head is broken (worst share {worst})", worst <= 1 + 1e-9, shares)
    check("and the limits were really reached", min(max(s[1:]) for s in shares.values()) > 0.99, shares)
    least = {}
    for constraint in head["constraints"]:
        terms = [(float(w), name) for w, name in (term.split(" ", 1) for term in constraint["terms"])]
        sums = [sum(w * table[name + ".setpoint_deg"][k] for w, name in terms) for k in range(len(table["time_s"]))]
        asked = [sum(w * table[name + ".target_deg"][k] for w, name in terms) for k in range(len(table["time_s"]))]
        least[constraint["name"]] = (min(sums) - constraint["at_least_deg"], min(asked) - constraint["at_least_deg"])
    check("every constraint holds on every tick", min(room for room, _ in least.values()) >= -1e-6, least)
    check("though the show asked for more", min(asked for _, asked in least.values()) < -1, least)

finish()
