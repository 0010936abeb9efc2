"""Each thing that can start a cue, in one performance as people run it: a board's input, a MIDI note, an OSC message, an address of a map, a slot of a lighting desk, time code, the end of another, and chance
with its least pause."""
import json
import pathlib
import re
import socket
import subprocess
import tempfile
import time

from program import PATIENCE_S, Told, check, finish, mien, root, run, run_expecting


def osc(address):
    pad = lambda s: s.encode() + b"\0" * (4 - len(s) % 4)
    return pad(address) + pad(",")


def osc_float(address, value):
    import struct
    pad = lambda s: s.encode() + b"\0" * (4 - len(s) % 4)
    return pad(address) + pad(",f") + struct.pack(">f", value)


def quarter_frames(begin_s, code_s, length_s):
    """Lines of a script: MIDI Time Code at 25 frames a second (MMA 1987: pieces 0 to 7, low half first, the rate in the last), from code_s on."""
    for quarter in range(int(length_s * 100)):
        frame = int(code_s * 25) + quarter // 8 * 2
        h, m, s, f = frame // 90000, frame // 1500 % 60, frame // 25 % 60, frame % 25
        piece = quarter % 8
        nibble = [f & 15, f >> 4, s & 15, s >> 4, m & 15, m >> 4, h & 15, (h >> 4) | (1 << 1)][piece]
        yield f"{begin_s + quarter / 100:.2f} F1 {piece << 4 | nibble:02X}"


with tempfile.TemporaryDirectory() as folder:
    folder = pathlib.Path(folder)
    rig = json.loads((root / "tests/samples/small.rig.json").read_text())
    board = rig["boards"][0]["name"]
    rig["controls"].append({"name": "mood", "group": rig["groups"][0]["name"], "unit": "1", "min": 0, "max": 1, "rest": 0, "states": ["calm", "cross"]})
    rig["auxiliaries"] = [{"name": "display", "board": board, "control": "mood", "line": 6, "kind": "code", "lines": 1, "settle_ms": 1}]
    rig["inputs"] = [{"name": "mat", "board": board, "line": 0, "kind": "start-cue", "cue": "by_mat"}]
    (folder / "head.rig.json").write_text(json.dumps(rig))
    show_json = json.loads((root / "tests/samples/small.show.json").read_text())
    show_json["sounds"], show_json["rig"] = [], "head.rig.json"
    show = folder / "head.show.json"
    show.write_text(json.dumps(show_json))
    cue = lambda name, *words: run_expecting("cue", "add", show, name, *words, "--out", show)
    state = ("--state", "display:cross", "--fade-in", "0", "--fade-out", "0", "--hold", "0.2")
    cue("by_mat", *state)
    cue("after", *state)
    cue("by_note", *state, "--follow", "after")
    cue("by_osc", *state)
    cue("by_address", *state)
    cue("by_slot", *state)
    cue("by_code", *state, "--at-time", "2.5")
    cue("heads", *state)
    cue("tails", *state)
    cue("coin", "--choice", "heads", "tails", "--pause", "3")
    (folder / "desk.map.json").write_text(json.dumps({"format": "mien map", "version": 1, "name": "d", "fade_s": 0.5, "knobs": [], "triggers": [
        {"source": source, "does": "cue", "name": name, "hold": "once", "fade_in_s": 0.1, "fade_out_s": 0.1}
        for source, name in (("note 60", "by_note"), ("osc /desk/go", "by_address"), ("slot 18", "by_slot"))]}))
    (folder / "script.txt").write_text("\n".join(sorted(["2 90 3C 50", "2.2 80 3C 00", "8 slot 18 1", "8.3 slot 18 0", *quarter_frames(4, 2.0, 3)], key=lambda l: float(l.split()[0]))) + "\n")

    boards = subprocess.Popen([mien, "board", "--listen", "127.0.0.1:0", "--state", "--hands", "--boards", str(len(rig["boards"]))], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, bufsize=1)
    played = None
    try:
        port = "tcp:" + re.match(r"listening on (.*)", boards.stdout.readline()).group(1)
        Told(boards.stdout)  # somebody has to read it
        played = subprocess.Popen([mien, "play", show, "--port", port, "--mute", "--cues", "--for", "100", "--osc", "0", "--hands", folder / "desk.map.json", "--hands-script", folder / "script.txt", "--follow", "mtc"],
                                  stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True)
        told = Told(played.stdout)
        def began(name, times=1):
            """In whatever order they come, for the script's clock goes on."""
            with told.more:
                so = told.more.wait_for(lambda: sum(line.endswith(f"cue {name}: playing") for line in told.lines) >= times, timeout=PATIENCE_S)
            check(f"cue {name} began", so, told.lines[-20:])
        told.wait_for("OSC is heard at")
        to = ("127.0.0.1", int(re.search(r"127\.0\.0\.1:(\d+)", told.lines[told.at - 1]).group(1)))
        machine = socket.socket(socket.AF_INET, socket.SOCK_DGRAM)
        if told.wait_for("waiting for cues"):
            began("by_note")
            began("after")
            began("by_code")
            boards.stdin.write("input 0 0 high\n"), boards.stdin.flush()
            began("by_mat")
            machine.sendto(osc("/mien/cue/by_osc"), to)
            began("by_osc")
            machine.sendto(osc_float("/desk/go", 1), to)
            began("by_address")
            began("by_slot")
            # By chance, once: the second comes within the least pause and begins nothing.
            for _ in range(2):
                machine.sendto(osc("/mien/cue/coin"), to)
                told.wait_for("OSC cue coin")
            told.wait_for("cue coin: pausing|cue coin: leaving|cue (heads|tails): ready")
            time.sleep(1.5)
            machine.sendto(osc("/mien/cue/by_osc"), to)
            began("by_osc", 2)
            thrown = sum(bool(re.search("cue (heads|tails): playing", line)) for line in told.lines)
            check("a coin that was thrown twice within its pause fell once", thrown == 1, told.lines[-20:])
        played.terminate()
        played.wait(timeout=PATIENCE_S)
        check("mien play ends when it is told to", played.returncode in (0, 1), told.lines[-5:])
    finally:
        for process in (played, boards):
            if process and process.poll() is None:
                process.terminate()
        boards.wait(timeout=20)

finish()
