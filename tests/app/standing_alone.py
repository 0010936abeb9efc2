"""A show baked and performed by simulated boards with no host: every pulse is what `mien render` says, within a microsecond. Then the same
boards are stored with it over the link."""
import csv
import json
import pathlib
import re
import signal
import subprocess
import tempfile
import threading

from program import check, finish, mien, root, run

rig = root / "shows/keeper.rig.json"


class Boards:
    """mien board with its output read as it comes; seen(text) waits for a line that holds it."""

    def __init__(self, *words):
        self.process = subprocess.Popen([mien, "board", "--listen", "127.0.0.1:0", "--state", *map(str, words)], stdout=subprocess.PIPE, text=True)
        self.port = re.match(r"listening on (127\.0\.0\.1:\d+)", self.process.stdout.readline()).group(1)
        self.lines, self.news = [], threading.Condition()
        threading.Thread(target=self.read, daemon=True).start()

    def read(self):
        for line in self.process.stdout:
            with self.news:
                self.lines.append(line.split())
                self.news.notify_all()

    def seen(self, text):
        with self.news:
            return self.news.wait_for(lambda: any(" ".join(line[1:]) == text for line in self.lines), timeout=60)

    def stop(self):
        self.process.send_signal(signal.SIGTERM)
        self.process.wait(timeout=20)


with tempfile.TemporaryDirectory() as folder:
    folder = pathlib.Path(folder)
    keys, show, baked, ticks = folder / "keys.csv", folder / "short.show.json", folder / "short.bake", folder / "ticks.csv"
    keys.write_text("channel,time_s,value,easing\njaw_open,0,0.1,smooth\njaw_open,0.6,0.8,smooth\njaw_open,1.5,0.1,smooth\n"
                    "gaze_yaw,0,-8,smooth\ngaze_yaw,0.4,9,smooth\ngaze_yaw,1.5,-8,smooth\nbrow_raise_left,0,0,smooth\nbrow_raise_left,1,0.6,smooth\nbrow_raise_left,1.5,0,smooth\n")
    made = run("import", keys, "--rig", rig, "--out", show)
    check("the show is made", made.returncode == 0, made.stderr)
    check("it is rendered", run("render", show, "--out", ticks).returncode == 0)
    done = run("bake", show, "--out", baked)
    check("it is baked", done.returncode == 0, done.stderr)

    table = list(csv.DictReader(run("describe", rig, "--csv").stdout.splitlines()))
    address = {b["name"]: b["address"] for b in json.loads(rig.read_text())["boards"]}
    boards = Boards("--baked", baked)
    try:
        for n in range(3):
            check(f"board {n} performs and comes to rest", boards.seen(f"board {n} phase show") and boards.seen(f"board {n} state disarming"))
    finally:
        boards.stop()
    start = {int(w[2]): float(w[0]) for w in boards.lines if w[1] == "board" and w[3:] == ["phase", "show"]}
    changes = {}
    for w in boards.lines:
        if w[1] == "board" and w[3] == "output":
            changes.setdefault((int(w[2]), int(w[4])), []).append((float(w[0]), float(w[6])))

    def pulse(place, time):
        before = [us for at, us in changes.get(place, []) if at <= time]
        return before[-1] if before else 0.0

    worst, moved = 0.0, set()
    rows = list(csv.DictReader(open(ticks)))
    for row in table:
        place = (address[row["board"]], int(row["output"]))
        want = [float(r[row["actuator"] + ".pulse_us"]) for r in rows]
        for k, us in enumerate(want):
            worst = max(worst, abs(pulse(place, start[place[0]] + k * 0.01 + 0.004) - us))
        if max(want) - min(want) > 20:
            moved.add(place[0])
    check(f"every pulse of every board is what mien render says (worst {worst:.4f} us)", worst <= 1.0)
    check("at least two boards moved", len(moved) >= 2, moved)
    spread_ms = 1000 * (max(start.values()) - min(start.values()))
    check(f"all boards began together (within {spread_ms:.3f} ms)", spread_ms <= 1.001)

    # Over the link, onto boards that perform something else just then.
    boards = Boards("--baked", baked)
    try:
        boards.seen("board 0 phase show")
        stored = run("bake", show, "--to", "tcp:" + boards.port, "--loop")
        check("it is stored over the link", stored.returncode == 0 and "Stored" in stored.stdout, stored.stdout + stored.stderr)
        check("the boards gave way first", boards.seen("board 0 phase off"))
    finally:
        boards.stop()
    broken = folder / "broken.bake"
    broken.write_bytes(baked.read_bytes()[:-1] + b"?")
    done = run("board", "--listen", "127.0.0.1:0", "--baked", broken)
    check("a damaged file is refused", done.returncode == 2 and "damaged" in done.stderr, done.stderr)
    broken.write_bytes(baked.read_bytes()[:100])
    done = run("board", "--listen", "127.0.0.1:0", "--baked", broken)
    check("and so is half of one", done.returncode == 2 and "cut short" in done.stderr, done.stderr)

finish()
