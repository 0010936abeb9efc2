"""Whether a take that was kept in a show is the motion that the hand made, and what boards get of it.
  live_judge.py PROGRAM ROOT FOLDER
FOLDER has keeper.show.json, as saved, and keeper.take.json, the raw take. The take's own samples, put into the show as straight lines, are what the kept keys are held to; frames
on their way to boards in another process are read by the independent decoder of tests/reference."""
import csv
import json
import pathlib
import re
import subprocess
import sys
import threading

program, root, folder = sys.argv[1], pathlib.Path(sys.argv[2]), pathlib.Path(sys.argv[3])
kept_file, raw_file = folder / "keeper.show.json", folder / "raw.show.json"
wrong = []
control, actuator = "brow_raise_left", "brow_outer_left"  # half of a differential, straight in the control


def check(what, true):
    print(("ok      " if true else "FAILED  ") + what)
    if not true:
        wrong.append(what)


def render(show):
    out = folder / "ticks.csv"
    subprocess.run([program, "render", show, "--out", out], check=True)
    return list(csv.DictReader(open(out)))


take = json.loads((folder / "keeper.take.json").read_text())["takes"][-1]
track = next(t for t in take["tracks"] if t["control"] == control)
samples = [row.split() for row in track["keys"]]
begin, end = (float(t) for t in track["touched_s"][0].split())
values = [float(v) for _, v, *_ in samples]
check(f"the hand's way was recorded: {len(samples)} samples from {begin:.2f} to {end:.2f} s, {min(values):.2f} to {max(values):.2f}", end - begin > 2 and max(values) > 0.95)

show = json.loads(kept_file.read_text())
channel = next(c for c in show["channels"] if c["control"] == control)
inside = [k for k in channel["keys"] if begin <= float(k.split()[0]) <= end]
# Twenty to one is asked of takes in tests/live, where no busy machine shakes the hand.
check(f"{len(inside)} keys for {len(samples)} samples, at least ten to one", 0 < 10 * len(inside) <= len(samples))
# Half a per cent of the control's range, 0 to 1, is what simplification may miss; and every other key as it is.
raw = json.loads(kept_file.read_text())
next(c for c in raw["channels"] if c["control"] == control)["keys"] = (
    [k for k in channel["keys"] if float(k.split()[0]) < begin] + [f"{t} {v} linear" for t, v, *_ in samples if begin <= float(t) <= end] + [k for k in channel["keys"] if float(k.split()[0]) > end])
raw_file.write_text(json.dumps(raw))
kept, played = render(kept_file), render(raw_file)
angle = actuator + ".target_deg"
whole = max(float(r[angle]) for r in played) - min(float(r[angle]) for r in played)
worst = max(abs(float(a[angle]) - float(b[angle])) for a, b in zip(kept, played) if begin + 0.02 <= float(a["time_s"]) <= end - 0.02)
check(f"the keys are the hand's motion: {worst:.3f} deg apart at most, of {whole:.1f}", whole > 5 and worst <= 0.006 * whole)

board = subprocess.Popen([program, "board", "--listen", "127.0.0.1:0", "--state", "--capture", folder / "bytes"], stdout=subprocess.PIPE, text=True)
try:
    port = re.match(r"listening on 127\.0\.0\.1:(\d+)", board.stdout.readline()).group(1)
    threading.Thread(target=lambda: list(board.stdout), daemon=True).start()
    done = subprocess.run([program, "play", kept_file, "--port", f"tcp:127.0.0.1:{port}", "--for", "6", "--mute", "--json"], capture_output=True, text=True, stdin=subprocess.DEVNULL, timeout=120)
finally:
    board.terminate()
    board.wait(timeout=20)
check("mien play performs it", done.returncode == 0)
decoded = subprocess.run([sys.executable, root / "tests/reference/decode.py", folder / "bytes"], capture_output=True, text=True)
frames = [p for p in map(json.loads, decoded.stdout.splitlines()) if p.get("type") == "frame"]
rig = json.loads((folder / "keeper.rig.json").read_text())
servo = next(a for a in rig["actuators"] if a["name"] == actuator)
place = (next(b["address"] for b in rig["boards"] if b["name"] == servo["board"]), servo["output"])
sent = {f["sequence"]: p / 16 for f in frames for b in f["blocks"] for o, p in b["pulses"].items() if (b["address"], int(o)) == place}
ticks = [float(r[actuator + ".pulse_us"]) for r in kept]
missed = json.loads(done.stdout)["ticks_missed"] if done.returncode == 0 else 0
print(f"{len(sent)} frames with that servo, {missed} ticks missed")
# The performance begins somewhere behind the creep to the first pose; where no tick was missed the frames are the ticks, but for those that a busy machine dropped.
def alike(begin):
    pairs = [(sent[begin + n], ticks[n]) for n in range(100, 500) if begin + n in sent]
    return len(pairs) > 300 and all(a == b for a, b in pairs)


low, high = min(ticks[:550]), max(ticks[:550])
reached = any(abs(p - high) < 2 for p in sent.values()) and any(abs(p - low) < 2 for p in sent.values())
check("boards get the motion of the kept take", any(alike(n) for n in range(min(sent), max(sent) - 400)) or (missed > 0 and reached))
sys.exit(1 if wrong else 0)
