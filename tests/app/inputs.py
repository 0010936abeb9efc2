"""A rig whose inputs start things: mien play waits armed, hands at simulated boards in another process press, and the show does what the
rig says. And what mien describe and the wiring sheet say of it."""
import csv
import json
import pathlib
import re
import subprocess
import tempfile

from program import PATIENCE_S, Told, check, finish, mien, root, run

def write(folder):
    rig = json.loads((root / "tests/samples/small.rig.json").read_text())
    board = rig["boards"][0]["name"]
    rig["controls"].append({"name": "mood", "group": rig["groups"][0]["name"], "unit": "1", "min": 0, "max": 1, "rest": 0, "states": ["calm", "cross"]})
    rig["auxiliaries"] = [{"name": "display", "board": board, "control": "mood", "line": 6, "kind": "code", "lines": 1, "settle_ms": 1}]
    rig["inputs"] = [
        {"name": "button", "board": board, "line": 0, "kind": "play"},
        {"name": "end", "board": board, "line": 1, "kind": "stop"},
        {"name": "mat", "board": board, "line": 2, "active_low": True, "settle_ms": 50, "kind": "play-from", "marker": "late"},
        {"name": "touch", "board": board, "line": 3, "kind": "set-state", "auxiliary": "display", "state": "cross"},
    ]
    show = json.loads((root / "tests/samples/small.show.json").read_text())
    show["sounds"] = []
    show["markers"] = ["1.5 late"]
    (folder / "head.rig.json").write_text(json.dumps(rig))
    show["rig"] = "head.rig.json"
    (folder / "head.show.json").write_text(json.dumps(show))
    return rig, len(rig["boards"])


with tempfile.TemporaryDirectory() as folder:
    folder = pathlib.Path(folder)
    rig, count = write(folder)
    checked = run("check", folder / "head.show.json")
    check("the show and its rig are fine", checked.returncode in (0, 1) and "marker" not in checked.stderr, checked.stderr)

    table = list(csv.DictReader(run("describe", folder / "head.rig.json", "--inputs", "--csv").stdout.splitlines()))
    check("describe lists the inputs", [(r["input"], r["line"], r["acts at"]) for r in table] == [("button", "0", "high"), ("end", "1", "high"), ("mat", "2", "low"), ("touch", "3", "high")], table)
    check("and what they do", [r["does"] for r in table] == ["plays the show", "ends the show", "plays from marker 'late'", "tells display state 'cross'"], table)
    sheet = run("describe", folder / "head.rig.json", "--wiring", "-").stdout
    check("the wiring sheet has them with their caution", "plays from marker &#39;late&#39;" in sheet and "No input is an emergency stop" in sheet)

    boards = subprocess.Popen([mien, "board", "--listen", "127.0.0.1:0", "--state", "--hands", "--boards", str(count)], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, bufsize=1)
    played = None
    try:
        port = "tcp:" + re.match(r"listening on (.*)", boards.stdout.readline()).group(1)
        desk = Told(boards.stdout)

        def set_input(line, level):
            boards.stdin.write(f"input 0 {line} {level}\n")
            boards.stdin.flush()

        set_input(2, "high")  # the mat's contact is closed to ground: standing away from it is high
        set_input("x", "high")
        desk.wait_for("not understood: input 0 x high")
        played = subprocess.Popen([mien, "play", folder / "head.show.json", "--port", port, "--mute", "--wait-input", "--for", "100"], stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True)
        told = Told(played.stdout)
        if told.wait_for("waiting for an input"):
            set_input(3, "high")
            told.wait_for("input touch: tells display state 'cross'")
            desk.wait_for(r"board 0 line 6 level 255")
            set_input(0, "high")
            told.wait_for("input button: plays the show")
            desk.wait_for(r"board 0 line 6 level 0")  # the show says again
            set_input(1, "high")
            told.wait_for("input end: ends the show")
            set_input(2, "low")
            told.wait_for("input mat: plays from marker 'late'$")
            set_input(0, "low")
            set_input(0, "high")
        played.terminate()
        played.wait(timeout=PATIENCE_S)
        check("mien play ends when it is told to", played.returncode in (0, 1), played.returncode)
    finally:
        for process in (played, boards):
            if process and process.poll() is None:
                process.terminate()
        boards.wait(timeout=20)

    rig["inputs"] = []
    (folder / "head.rig.json").write_text(json.dumps(rig))
    refused = run("play", folder / "head.show.json", "--wait-input", "--mute")
    check("with no inputs there is nothing to wait for", refused.returncode == 2 and "names no inputs" in refused.stderr, refused.stderr)

finish()
