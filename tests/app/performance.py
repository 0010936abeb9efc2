"""A show performed for five seconds against boards in another process: every frame that was sent must be found again on the boards'
side, in order, within the limits of the rig. The bytes are read by the independent decoder of tests/reference."""
import csv
import json
import pathlib
import re
import subprocess
import sys
import tempfile

from program import check, finish, mien, root, run

show = root / "shows/keeper.show.json"
rig = show.parent / json.loads(show.read_text())["rig"]


with tempfile.TemporaryDirectory() as folder:
    folder = pathlib.Path(folder)
    capture = folder / "bytes"
    board = subprocess.Popen([mien, "board", "--listen", "127.0.0.1:0", "--state", "--capture", str(capture)], stdout=subprocess.PIPE, text=True)
    try:
        port = re.match(r"listening on 127\.0\.0\.1:(\d+)", board.stdout.readline()).group(1)
        (folder / "log").touch()
        import threading
        lines = []
        reader = threading.Thread(target=lambda: lines.extend(board.stdout), daemon=True)
        reader.start()
        played = run("play", show, "--port", f"tcp:127.0.0.1:{port}", "--for", "5", "--mute", "--json")
    finally:
        board.terminate()
        board.wait(timeout=20)
    reader.join(timeout=20)
    print(played.stdout, played.stderr)
    check("mien play ends without findings", played.returncode == 0)
    summary = json.loads(played.stdout)

    decoded = subprocess.run([sys.executable, str(root / "tests/reference/decode.py"), str(capture)], capture_output=True, text=True)
    packets = [json.loads(line) for line in decoded.stdout.splitlines()]
    check("the independent decoder reads every packet", all("dropped" not in p for p in packets) and decoded.returncode == 0)
    frames = [p for p in packets if p.get("type") == "frame"]
    check(f"{len(frames)} frames arrived, {summary['frames_sent']} were sent", len(frames) == summary["frames_sent"] > 400)
    sequence = [f["sequence"] for f in frames]
    check("they arrived in order, none missing", all((b - a) % 65536 == 1 for a, b in zip(sequence, sequence[1:])))
    check("all were acknowledged", summary["frames_acknowledged"] >= summary["frames_sent"] - 5)

    latched = [int(m.group(2)) % 65536 for line in lines if (m := re.search(r"board (\d+) frame seq (\d+) latched", line)) and m.group(1) == "0"]
    check(f"board 0 latched {len(latched)} of them, in order", len(latched) >= 0.95 * len(frames) and all(0 < (b - a) % 65536 < 32768 for a, b in zip(latched, latched[1:])))

    # Each pulse against the rig as `mien describe` gives it, and each step against the velocity limit.
    table = list(csv.DictReader(run("describe", rig, "--csv").stdout.splitlines()))
    address = {b["name"]: b["address"] for b in json.loads(rig.read_text())["boards"]}
    rows = {(address[r["board"]], int(r["output"])): r for r in table}
    worst, last, in_range = 0.0, {}, True
    for frame in frames:
        for block in frame["blocks"]:
            for output, pulse in block["pulses"].items():
                place = (block["address"], int(output))
                row, us = rows[place], pulse / 16
                in_range &= float(row["pulse_min_us"]) <= us <= float(row["pulse_max_us"])
                per_deg = (float(row["pulse_max_us"]) - float(row["pulse_min_us"])) / (float(row["max_deg"]) - float(row["min_deg"]))
                if place in last:
                    step = abs(us - last[place]) - 1 / 16  # both pulses are rounded to a sixteenth
                    worst = max(worst, step / per_deg / 0.01 / float(row["velocity_deg_s"]))
                last[place] = us
    check("every pulse is within its range", in_range)
    check(f"every step is within the velocity limit (fastest {worst:.3f} of it)", worst <= 1 + 1e-9)
    check("every actuator was driven", len(last) == len(table))

    # The same show rendered: what was sent is what the tick works out, once the creep to the first pose is over.
    rendered = folder / "ticks.csv"
    check("mien render works", run("render", show, "--out", rendered).returncode == 0)
    if summary["ticks_missed"] == 0:
        names = {place: r["actuator"] for place, r in rows.items()}
        with open(rendered) as file:
            ticks = [{place: float(t[n + ".pulse_us"]) for place, n in names.items()} for t in csv.DictReader(file)]
        sent = []
        for frame in frames:
            sent.append({(b["address"], int(o)): p / 16 for b in frame["blocks"] for o, p in b["pulses"].items()})
        start = next((n for n in range(len(sent) - 300) if all(sent[n + 100 + k] == ticks[100 + k] for k in range(0, 200, 10))), None)
        check("the frames are the ticks that mien render writes", start is not None and all(sent[start + k] == ticks[k] for k in range(100, 480) if start + k < len(sent)))
    else:
        print("skipped the comparison with mien render: the machine missed", summary["ticks_missed"], "ticks")

finish()
