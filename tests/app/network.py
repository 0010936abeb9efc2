"""Other machines by the command line: OSC and sACN over this machine's loopback, written here by hand after their standards (OSC 1.0; ANSI E1.31-2018), and time code from a script of
bytes (MIDI Time Code, MMA 1987)."""
import csv
import json
import pathlib
import re
import socket
import struct
import subprocess
import tempfile
import time

from program import check, finish, mien, root, run, together

show, desk = root / "shows/keeper.show.json", root / "shows/keeper.map.json"


def text(s):
    raw = s.encode() + b"\0"
    return raw + b"\0" * (-len(raw) % 4)


def osc(address, *values):
    tags, body = ",", b""
    for v in values:
        if isinstance(v, str):
            tags, body = tags + "s", body + text(v)
        elif isinstance(v, float):
            tags, body = tags + "f", body + struct.pack(">f", v)
        else:
            tags, body = tags + "i", body + struct.pack(">i", v)
    return text(address) + text(tags) + body


def sacn(universe, sequence, levels, priority=100, options=0):
    total = 126 + len(levels)
    length = lambda at: struct.pack(">H", 0x7000 | (total - at))
    return (struct.pack(">HH", 0x10, 0) + b"ASC-E1.17\0\0\0" + length(16) + struct.pack(">I", 4) + bytes(range(16)) + length(38) + struct.pack(">I", 2) + b"Desk".ljust(64, b"\0") +
            struct.pack(">BHBBH", priority, 0, sequence, options, universe) + length(115) + bytes([2, 0xA1]) + struct.pack(">HHH", 0, 1, len(levels) + 1) + b"\0" + bytes(levels))


class Playing:
    """mien play with its lines; where() waits for one that matches."""

    def __init__(self, *words):
        self.process = subprocess.Popen([mien, "play", *map(str, words)], stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True)
        self.said = []

    def until(self, pattern):
        for line in self.process.stdout:
            self.said.append(line)
            if found := re.search(pattern, line):
                return found
        return None

    def end(self):
        self.said.extend(self.process.stdout)
        return self.process.wait(timeout=60)

    def text(self):
        return "".join(self.said)


class Machine:
    def __init__(self, port):
        self.socket = socket.socket(socket.AF_INET, socket.SOCK_DGRAM)
        self.socket.bind(("127.0.0.1", 0))
        self.socket.settimeout(0.3)
        self.to = ("127.0.0.1", port)

    def say(self, *message):
        self.socket.sendto(osc(*message), self.to)

    def state(self, holds, most_s=20):
        """The first report for which that holds: time, playing, armed, cue, link."""
        end = time.monotonic() + most_s
        asked = 0
        while time.monotonic() < end:
            if time.monotonic() > asked + 2:
                self.say("/mien/state")
                asked = time.monotonic()
            try:
                packet = self.socket.recv(2048)
            except socket.timeout:
                continue
            if not packet.startswith(text("/mien/state") + text(",fiisi")):
                continue
            rest = packet[len(text("/mien/state") + text(",fiisi")):]
            report = struct.unpack(">fii", rest[:12]) + struct.unpack(">i", rest[-4:])
            if holds(*report):
                return report
        return None


def map_by_slot(file):
    """The demo's desk, with a slot and an OSC address that lead the jaw."""
    by_slot = json.loads(desk.read_text())
    by_slot["knobs"] = [{"source": "slot 3", "control": "jaw_open", "low": 0.0, "high": 1.0, "takeover": "glide"}, {"source": "osc /desk/jaw", "control": "jaw_open", "low": 0.0, "high": 1.0, "takeover": "glide"}]
    by_slot["triggers"] = []
    file.write_text(json.dumps(by_slot))
    return file


def osc_leads():
    """OSC: the show waits for it."""
    playing = Playing(show, "--mute", "--osc", "0", "--wait-input", "--for", "90")
    port = playing.until(r"OSC is heard at 127\.0\.0\.1:(\d+); it may touch control,cue,transport")
    check("it says where OSC is heard, on loopback", port is not None, playing.text())
    check("it waits", playing.until("waiting for") is not None, playing.text())
    other = Machine(int(port.group(1)))
    check("who asks is told: armed, not playing", other.state(lambda t, p, a, l: a == 1 and p == 0 and l == 1) is not None)
    other.say("/mien/play")
    check("OSC plays it", other.state(lambda t, p, a, l: p == 1 and t > 0.05) is not None)
    other.say("/mien/locate", 2.0)
    check("and locates", other.state(lambda t, p, a, l: p == 1 and t >= 2.0) is not None)
    other.say("/mien/stop")
    check("and stops it", other.state(lambda t, p, a, l: p == 0 and t == 0) is not None)
    for address in ("/mien/arm", "/mien/disarm", "/mien/jog", "/mien/adopt"):
        other.say(address, 1.0)
    other.say("/mien/cue/greet")
    other.say("/mien/control/jaw_open", 0.5)
    other.socket.sendto(b"noise of no kind", other.to)
    other.say("/mien/play")
    check("it plays again", other.state(lambda t, p, a, l: p == 1) is not None)
    playing.process.send_signal(2)
    playing.end()
    print(playing.text())
    check("each order has its line", all(s in playing.text() for s in ("OSC play", "OSC locate 2.000 s", "OSC stop", "OSC cue greet: the show has no such cue")), playing.text())
    check("what it can't do has none", not re.search(r"OSC (arm|disarm|jog|adopt)", playing.text()))


def osc_touches_what_it_may():
    """What it may touch."""
    playing = Playing(show, "--mute", "--osc", "0", "--osc-may", "control", "--allow", "127.0.0.1,10.0.0.0/8", "--for", "8")
    other = Machine(int(playing.until(r"OSC is heard at 127\.0\.0\.1:(\d+); it may touch control$").group(1)))
    check("playing by itself", other.state(lambda t, p, a, l: p == 1 and t > 0.5) is not None)
    other.say("/mien/stop")
    other.say("/mien/control/jaw_open", 1.0)
    check("it goes on though OSC said stop", other.state(lambda t, p, a, l: p == 1 and t > 1.5) is not None)
    playing.end()
    check("that was not allowed, the control was", re.search(r"OSC [\d.:]+: 1 touches, 0 orders, 0 broken, 1 not allowed", playing.text()) is not None, playing.text())


def strangers_are_told_nothing():
    """Who it may be."""
    playing = Playing(show, "--mute", "--osc", "0", "--allow", "10.0.0.0/8", "--wait-input", "--for", "6")
    other = Machine(int(playing.until(r"OSC is heard at 127\.0\.0\.1:(\d+)").group(1)))
    check("who is not on the list is told nothing", other.state(lambda *r: True, most_s=2) is None)
    playing.end()


def a_desk_leads(map_file):
    """sACN, on a loopback address of this test's own: a slot leads the jaw."""
    checked = run("check", map_file)
    check("mien check knows slots and addresses", checked.returncode == 0, checked.stdout + checked.stderr)
    playing = Playing(show, "--mute", "--sacn", "7", "--sacn-bind", "127.0.0.77", "--hands", map_file, "--for", "11")
    heard = playing.until(r"sACN universe 7 is heard at 127\.0\.0\.77:5568")
    check("it says where sACN is heard", heard is not None, playing.text())
    sender = socket.socket(socket.AF_INET, socket.SOCK_DGRAM)
    for n in range(60):
        sender.sendto(sacn(7, n, [0, 0, min(255, n * 5)]), ("127.0.0.77", 5568))
        time.sleep(0.05)
    playing.end()
    check("a desk is heard", re.search(r"sACN universe 7 at [\d.:]+: 1 sources, \d\d+ touches", playing.text()) is not None, playing.text())
    check("and is lost", playing.text().rstrip().splitlines() and re.search(r"0 sources, \d\d+ touches", playing.text()) is not None, playing.text())


def scripted_machines_render(folder, map_file):
    """The same by a script, rendered: what other machines do is the same motion to the last bit."""
    script = folder / "others.txt"
    script.write_text("1 slot 3 1\n1 osc /mien/control/smile_left 0.5\n")
    column = lambda path, name: [float(row[name]) for row in csv.DictReader(open(path))]
    out, plain, again = folder / "a.csv", folder / "plain.csv", folder / "b.csv"
    rendered = run("render", show, "--out", out, "--hands", map_file, "--hands-script", script)
    check("it renders", rendered.returncode == 0, rendered.stderr)
    run("render", show, "--out", plain), run("render", show, "--out", again, "--hands", map_file, "--hands-script", script)
    jaw = next(k for k in csv.DictReader(open(out)).fieldnames if k.startswith("jaw") and k.endswith(".target_deg"))
    before, after = column(plain, jaw), column(out, jaw)
    check("before the second the jaw is the show's", before[:99] == after[:99])
    check("then it is the slot's: wide open", max(abs(x - after[250]) for x in after[250:400]) < 0.05 and abs(after[250] - before[250]) > 1)
    check("the same bits", out.read_bytes() == again.read_bytes())


def code_is_followed(folder):
    """Time code from a script: 01:00:02:00 on at 25 frames a second for three seconds, then silence."""
    lines = []
    for quarter in range(3 * 100):
        frame = 2 * 25 + quarter // 8 * 2
        h, m, s, f = 1, 0, frame // 25, frame % 25
        piece = quarter % 8
        nibble = [f & 15, f >> 4, s & 15, s >> 4, m & 15, m >> 4, h & 15, (h >> 4) | (1 << 1)][piece]
        lines.append(f"{1 + quarter / 100:.2f} F1 {piece << 4 | nibble:02X}")
    script = folder / "code.txt"
    script.write_text("\n".join(lines) + "\n")
    playing = Playing(show, "--mute", "--hands", desk, "--hands-script", script, "--follow", "mtc", "--code-zero", "01:00:00:00", "--for", "7")
    playing.end()
    print(playing.text())
    states = re.findall(r"follows mtc: (\w+), (-?[\d.]+) ms to make up, (\d+) dropouts", playing.text())
    check("it waits, locks, and waits again", [s[0] for s in states][0] == "waiting" and "locked" in [s[0] for s in states] and states[-1][0] == "waiting", str(states))
    times = [float(t) for t in re.findall(r"^ *([\d.]+) s  sent", playing.text(), re.M)]
    check(f"the show is where the code is, and stands where it ended: {times}", any(2.5 < t < 4.9 for t in times) and 5.5 < times[-1] < 6.3 and times == sorted(times))


def nonsense_is_refused():
    """What makes no sense."""
    for words, part in ((["--allow", "10.0.0.1"], "--osc PORT"), (["--osc", "0", "--osc-bind", "here"], "--osc-bind"), (["--osc", "0", "--osc-may", "arm"], "'arm' is nothing that OSC may touch"),
                        (["--osc", "0", "--allow", "10.0.0.0/40"], "--allow"), (["--follow", "mtc", "--code-zero", "99"], "--code-zero"), (["--sacn", "64000"], "--sacn"),
                        (["--osc", "0", "--osc-bind", "192.0.2.1"], "127.0.0.1"), (["--send-mtc", "nobody's port"], "no MIDI output")):
        wrong = run("play", show, "--mute", "--for", "1", *words)
        check(f"{' '.join(words)} is refused with a cure", wrong.returncode == 2 and part in wrong.stderr, wrong.stdout + wrong.stderr)
    wide = run("play", show, "--mute", "--for", "1", "--osc", "0", "--osc-bind", "0.0.0.0")
    check("a door that stands open is told of", wide.returncode == 0 and "every machine" in wide.stderr and "--allow" in wide.stderr, wide.stderr)


with tempfile.TemporaryDirectory() as folder:
    folder = pathlib.Path(folder)
    map_file = map_by_slot(folder / "slots.map.json")
    together(osc_leads, osc_touches_what_it_may, strangers_are_told_nothing, lambda: a_desk_leads(map_file), lambda: scripted_machines_render(folder, map_file),
             lambda: code_is_followed(folder), nonsense_is_refused)

finish()
