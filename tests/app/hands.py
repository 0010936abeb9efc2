"""Hands on the head by the command line: a show rendered and performed with a map and a script of bytes, recorded, and the take put into the show, which
then performs the same motion without hands."""
import csv
import json
import pathlib
import re
import tempfile

from program import check, finish, mien, root, run, together


def column(path, name):
    with open(path) as file:
        return [float(row[name]) for row in csv.DictReader(file)]


shows, desk = root / "shows", root / "shows/keeper.map.json"
show = shows / "keeper.show.json"
with tempfile.TemporaryDirectory() as folder:
    folder = pathlib.Path(folder)
    script = folder / "hands.txt"
    # The jaw's fader in running status, down and up again; the bend wheel all the way left at 1.5 s and let go at 2.5 s.
    lines = ["0.5 B0 01 00"] + [f"{0.6 + n * 0.02:.2f} 01 {min(n, 127 - n) * 2:02X}" for n in range(64)] + ["2 E0 00 00", "3 E0 00 40"]
    script.write_text("\n".join(lines) + "\n")
    check("mien check knows a map", run("check", desk).returncode == 0)

    # The show with the poses that the map names.
    with_looks = folder / "looks.show.json"
    check("the show takes the library in", run("clip", "import", show, shows / "keeper.clips.json", "--out", with_looks).returncode == 0)
    plain, played = folder / "plain.csv", folder / "played.csv"
    check("it renders", run("render", with_looks, "--out", plain).returncode == 0)
    rendered = run("render", with_looks, "--out", played, "--hands", desk, "--hands-script", script)
    check("and with hands, without a word", rendered.returncode == 0 and not rendered.stderr.strip())
    if rendered.stderr:
        print(rendered.stderr)
    actuator = next(k[:-len(".target_deg")] for k in csv.DictReader(open(plain)).fieldnames if k.startswith("jaw") and k.endswith(".target_deg"))
    before, after = column(plain, actuator + ".target_deg"), column(played, actuator + ".target_deg")
    check("until a hand is on it the jaw is the show's", before[:58] == after[:58])
    check("then it is the hand's", max(abs(a - b) for a, b in zip(before[60:300], after[60:300])) > 1)
    again = folder / "again.csv"
    run("render", with_looks, "--out", again, "--hands", desk, "--hands-script", script)
    check("the same touches give the same bits", played.read_bytes() == again.read_bytes())

    # A performance, recorded; and another with one control armed.
    takes, armed, recordings = folder / "evening.take.json", folder / "armed.take.json", {}

    def record(into, *words):
        recordings[into] = run("play", with_looks, "--mute", "--for", "4", "--hands", desk, "--hands-script", script, "--record", into, *words)

    together(lambda: record(takes), lambda: record(armed, "--record-only", "jaw_open"))
    done = recordings[takes]
    print(done.stdout[-400:], done.stderr)
    check("mien play records", done.returncode == 0 and takes.exists())
    listed = json.loads(run("take", takes, "--json").stdout)["takes"]
    check(f"one take: {listed}", len(listed) == 1 and listed[0]["controls"] == 2)
    made = folder / "made.show.json"
    into = run("take", takes, "--into", with_looks, "--out", made)
    print(into.stdout, into.stderr)
    counts = re.search(r"(\d+) samples, (\d+) keys", into.stdout)
    check("the take is in the show, in at most a twentieth of the keys", into.returncode == 0 and int(counts[2]) * 20 <= int(counts[1]))
    check("the show is sound", run("check", made).returncode in (0, 1))
    check("nothing was written to the other", "take 1" not in with_looks.read_text())
    # Without hands it performs what they played. The performance heard each touch up to a tick and the script's own 5 ms late, and the take makes up for what
    # a hand would hear late: so within a few ticks, and there to a twentieth of the way.
    motion = folder / "motion.csv"
    check("it renders", run("render", made, "--out", motion).returncode == 0)
    kept, span = column(motion, actuator + ".target_deg"), max(after[80:180]) - min(after[80:180])
    apart = {shift: max(abs(kept[n + shift] - after[n]) for n in range(80, 180)) for shift in range(-6, 7)}
    shift = min(apart, key=apart.get)
    check(f"and moves as the hand did: {apart[shift]:.2f} deg apart of {span:.1f}, {shift * 10} ms later", apart[shift] < 0.05 * span and abs(shift) <= 4)
    recorded = {t["control"]: [tuple(map(float, k.split()[:2])) for k in t["keys"]] for t in json.loads(takes.read_text())["takes"][0]["tracks"]}
    begin, end = listed[0]["begin_s"], listed[0]["end_s"]
    check(f"the hand's whole way was recorded, from {begin} to {end} s", begin < 0.3 and end > 3.5 and max(v for _, v in recorded["jaw_open"]) > 0.9)
    check("and with --channels", run("take", takes, "--into", with_looks, "--out", folder / "c.show.json", "--channels").returncode == 0)

    # One control armed.
    tracks = [t["control"] for t in json.loads(armed.read_text())["takes"][0]["tracks"]]
    check(f"what isn't armed isn't recorded: {tracks}", recordings[armed].returncode == 0 and tracks == ["jaw_open"])
    wrong = run("play", with_looks, "--hands", desk, "--record", armed, "--record-only", "jaw_opn")
    check("a control that the rig hasn't is named with a cure", wrong.returncode == 2 and "Did you mean 'jaw_open'?" in wrong.stderr)

    wrong = run("play", show, "--record", takes)
    check("--record without hands is refused with a cure", wrong.returncode == 2 and "--hands" in wrong.stderr)
    script.write_text("0 B0 07\n0 XX\n")
    wrong = run("render", show, "--out", plain, "--hands", desk, "--hands-script", script)
    check("a script that is none names its line", wrong.returncode == 2 and "line 2" in wrong.stderr)
    wrong = run("take", takes, "--into", show, "--take", "7", "--out", made)
    check("a take that is not there is refused", wrong.returncode == 2 and "no take 7" in wrong.stderr)

finish()
