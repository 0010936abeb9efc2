"""play.py MIEN ROOT IMAGE.elf NODE LOCKSTEP.so: `mien play` itself performs the demo on three emulated boards that run the firmware's image, in
lock step (lockstep.cpp, bridge.mjs). What it said to the boards is read by the independent decoder of tests/reference; every pulse on every pin is
held to the setpoint of its latch time, and those to what `mien render` writes. Its performing thread wakes up to 5 ms late."""
import bisect
import csv
import json
import os
import pathlib
import re
import subprocess
import sys
import tempfile
import threading

SKIPPED = 77
EPOCH_US = 10 ** 9      # bridge.mjs: the program's clock as the desk begins
PERIOD_US = 20_000
LEAD_US, EDGE_US = 300, 60  # src/board/README.md: later latches show one pulse later; about that line either setpoint is right
FOR_S = 3

sys.path += [str(pathlib.Path(__file__).parent.parent / folder) for folder in ("app", "reference")]
import decode  # noqa: E402
from program import check, finish, mien, root, run  # noqa: E402

image, node, shim = sys.argv[3:6]
modules = root / "build/node"
for there, what in ((image, "no firmware was built: it takes arm-none-eabi-g++"), (node, "node is missing"),
                    (shim, "the program is built with a sanitizer, under which nothing can be preloaded"),
                    (modules / "node_modules/rp2040js", "the emulator is missing: bash tests/run.sh installs it")):
    if not str(there) or not pathlib.Path(there).exists():
        print("skipped:", what)
        sys.exit(SKIPPED)

show, rig = root / "shows/keeper.show.json", root / "shows/keeper.rig.json"


def perform():
    """What the program said at its end, and what the bridge said."""
    words = [node, str(root / "tests/firmware/bridge.mjs"), image, "--boards", "3", "--ppm", "0,40,-40", "--delay-us", "0,7123,14246", "--tcp", "0", "--lockstep", "0"]
    bridge = subprocess.Popen(words, stdout=subprocess.PIPE, text=True, env={**os.environ, "MIEN_NODE_MODULES": str(modules)})
    try:
        port, step = (re.search(r" 127\.0\.0\.1:(\d+)", bridge.stdout.readline()).group(1) for _ in range(2))
        lines = []
        reader = threading.Thread(target=lambda: lines.extend(bridge.stdout))
        reader.start()
        played = subprocess.run([mien, "play", str(show), "--port", "tcp:127.0.0.1:" + port, "--for", str(FOR_S), "--mute", "--json"], capture_output=True, text=True,
                                timeout=150, env={**os.environ, "LD_PRELOAD": shim, "MIEN_LOCKSTEP": step, "MIEN_LOCKSTEP_LATE_US": "5000"})
        reader.join(timeout=20)
    finally:
        bridge.kill()
        bridge.wait()
    return played, [line.split() for line in lines]


played, said = perform()
print(played.stdout, played.stderr)
check("mien play ends without findings", played.returncode == 0)
summary = json.loads(played.stdout)
check("the bridge came to its end", said[-1] == ["end"])

frames, disarmed = [], None
for words in said:
    if words[0] == "told" and words[2] != "00":
        packet = decode.decode_stuffed(bytes.fromhex(words[2])[:-1]) or {}
        if "dropped" in packet:
            check("every packet of the program can be decoded", False, packet)
        if packet.get("type") == "disarm" and disarmed is None:
            disarmed = float(words[1])
        if packet.get("type") == "frame":
            pulses = {(b["address"], int(o)): p / 16 for b in packet["blocks"] for o, p in b["pulses"].items()}
            frames.append((packet["latch_us"] - EPOCH_US, pulses, float(words[1])))
check(f"{len(frames)} frames were sent", len(frames) == summary["frames_sent"] > 100 * FOR_S)
late = [latch - told for latch, _, told in frames]
check(f"each reached the line ahead of its latch time, by {min(late) / 1000:.1f} to {max(late) / 1000:.1f} ms", min(late) > 0)
check("the performing thread did wake late, by up to 5 ms", max(late) - min(late) > 4000)

# Pins against frames.
latches = [latch for latch, _, _ in frames]
pulses = [(int(w[1]), int(w[2]), float(w[3]), float(w[4])) for w in said if w[0] == "pulse"]
# What waits for its time as the boards are told to disarm is dropped: they go to rest by themselves.
first, last = latches[0] + PERIOD_US, disarmed
pulses = [p for p in pulses if first <= p[2] <= last]
driven = {place for _, each, _ in frames for place in each}
check("exactly the rig's outputs have pulses", {(board, output) for board, output, _, _ in pulses} == driven and len(driven) == 21)
worst = 0.0
for board, output, rise, width in pulses:
    line = rise - LEAD_US
    after = bisect.bisect_right(latches, line - EDGE_US)
    right = [frames[after - 1]] + [f for f in frames[after:after + 2] if f[0] <= line + EDGE_US]
    worst = max(worst, min(abs(width - f[1][board, output]) for f in right))
check(f"{len(pulses)} pulses, every one within 1 us of the setpoint of its latch time (worst {worst:.4f} us)", worst <= 1.0)
expected = 21 * (last - first) / PERIOD_US
check(f"none is missing ({expected:.0f} expected)", abs(len(pulses) - expected) <= 21)

groups = {}
for board, _, rise, _ in pulses:
    groups.setdefault(round(rise / PERIOD_US), []).append(rise)
skew = max(max(g) - min(g) for g in groups.values())
check(f"pulses that belong together start within 50 us, also on other boards ({skew:.1f} us)", skew <= 50)
apart = []
for n in range(3):
    off = [(rise + PERIOD_US / 2) % PERIOD_US for board, _, rise, _ in pulses if board == n]
    apart += [abs(o - sum(off) / len(off)) for o in off]
jitter = sorted(apart)[len(apart) * 99 // 100]
check(f"p99 of a board's starts about their mean is within 50 us ({jitter:.1f} us)", jitter <= 50)

# Frames against the show.
with tempfile.TemporaryDirectory() as folder:
    rendered = pathlib.Path(folder) / "ticks.csv"
    check("mien render works", run("render", show, "--out", rendered).returncode == 0)
    table = list(csv.DictReader(run("describe", rig, "--csv").stdout.splitlines()))
    address = {b["name"]: b["address"] for b in json.loads(rig.read_text())["boards"]}
    names = {(address[r["board"]], int(r["output"])): r["actuator"] for r in table}
    with open(rendered) as file:
        ticks = [{place: float(t[n + ".pulse_us"]) for place, n in names.items()} for t in csv.DictReader(file)]
sent = [each for _, each, _ in frames]
start = next((n for n in range(len(sent) - 250) if all(sent[n + k] == ticks[k] for k in range(100, 250))), None)
check("from the show's first second on, frames are the ticks that mien render writes", start is not None, sent[-1])

stats = {w[1]: [int(n) for n in w[2:]] for w in said if w[0] == "stats"}
check("no board lost a byte, none restarted", len(stats) == 3 and all(s[:3] == [0, 0, 0] and s[3] <= 1 for s in stats.values()), stats)
steps = next(int(w[1]) for w in said if w[0] == "steps")
waits_hz = steps / (frames[-1][2] * 1e-6)
# Of these, looks for a frame that is late: by up to 5 ms here, 2.5 ms on average, which takes some five looks a tick.
check(f"its threads sleep until something is due, and don't ask again and again ({waits_hz:.0f} waits a second)", waits_hz < 800 + 5 * 100)
check("nothing was refused or lost", summary["frames_refused"] == summary["frames_dropped"] == summary["times_lost"] == 0)

finish()
