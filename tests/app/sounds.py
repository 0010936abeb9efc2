"""mien sound: what it lists, adds, trims and refuses; what a trim does to a mouth; and the rest of the program with a sound that is trimmed at its end."""
import csv
import json
import pathlib
import shutil
import subprocess
import tempfile

from program import check, finish, mien, root, run_expecting as run

with tempfile.TemporaryDirectory() as name:
    folder = pathlib.Path(name)
    for file in ("keeper.rig.json", "keeper.visemes.txt", "keeper.ogg", "keeper.txt", "keeper.TextGrid", "keeper.show.json"):
        shutil.copy(root / "shows" / file, folder)
    keeper, out = folder / "keeper.show.json", folder / "out.show.json"
    sounds = lambda show: json.loads(run("sound", "list", show, "--json"))
    before = sounds(keeper)[0]
    check("the demo's line", before["file"] == "keeper.ogg" and before["start_s"] == 1.3 and before["trim_end_s"] == 0 and 12 < before["length_s"] < 20, before)
    length = before["length_s"]

    # Trimmed at its end: the file says so, and is of the version that older programs refuse; whole again it is the file that it was.
    run("sound", "change", keeper, "keeper.ogg", "--trim-end", "5", "--gain", "-3", "--out", out, says="'keeper.ogg' is heard from 1.3 to")
    made = json.loads(out.read_text())
    check("in the file", made["version"] == 4 and made["sounds"][0] == {"file": "keeper.ogg", "start_s": "1.3", "trim_s": "0", "trim_end_s": "5", "gain_db": -3.0}, made["sounds"])
    check("as long as is left", abs(sounds(out)[0]["end_s"] - (1.3 + length - 5)) < 1e-6, sounds(out))
    run("check", out, says="nothing to report")
    run("sound", "change", out, "keeper.ogg", "--trim-end", "0", "--gain", "0", "--out", folder / "whole.show.json")
    check("whole again", json.loads((folder / "whole.show.json").read_text())["sounds"] == json.loads(keeper.read_text())["sounds"])

    # The mouth is still where nothing is heard, and its keys are there yet.
    def rows(show):
        run("render", show, "--out", folder / "all.csv")
        return list(csv.reader(open(folder / "all.csv")))

    keys = lambda show: sum(len(c["keys"]) for l in json.loads(show.read_text())["layers"] for c in l["channels"])
    check("its keys stay", keys(out) == keys(keeper))
    trimmed, whole = rows(out), rows(keeper)
    differ = [i for i, (a, b) in enumerate(zip(trimmed, whole)) if a != b and i > 0]
    check("another mouth after the cut, and only there", differ and min(differ) >= int((1.3 + length - 5) * 100) - 1, differ[:1])

    # Its beginning: what is left stays where it is heard.
    run("sound", "change", keeper, "keeper.ogg", "--trim", "2", "--out", out)
    check("stays where it is heard", abs(sounds(out)[0]["start_s"] - 3.3) < 1e-9, sounds(out))
    run("sound", "change", keeper, "keeper.ogg", "--at", "2", "--out", out)
    jaw = lambda show: float(next(c for l in json.loads(show.read_text())["layers"] if l["name"] == "speech" for c in l["channels"] if c["control"] == "jaw_open")["keys"][0].split()[0])
    check("the mouth moves along", abs(jaw(out) - jaw(keeper) - 0.7) < 1e-9, (jaw(out), jaw(keeper)))

    # What can't be is refused, with its place and its cure, and nothing is written.
    shutil.rmtree(out, ignore_errors=True), out.unlink()
    run("sound", "change", keeper, "keeper.ogg", "--trim-end", "99", "--out", out, expect=2, says=["nothing of it is heard", "Leave less of it out"])
    run("sound", "change", keeper, "keeper.ogg", "--trim-end", "-1", "--out", out, expect=2, says="trim_end: is -1 s")
    run("sound", "change", keeper, "keeper.ogg", "--trim-end", "soon", "--out", out, expect=2, says="'soon' is not a time")
    run("sound", "change", keeper, "other.ogg", "--trim-end", "1", "--out", out, expect=2, says="'mien sound list' prints them all")
    run("sound", "add", keeper, folder / "keeper.txt", "--out", out, expect=2, says="not a sound that can be read")
    check("nothing was written", not out.exists())

    # Twice the same file: which one has to be said.
    run("sound", "add", keeper, folder / "keeper.ogg", "--at", "20", "--trim-end", "9", "--out", out, says="is heard from 20 to")
    run("sound", "change", out, "keeper.ogg", "--trim", "1", "--out", out, expect=2, says="--place")
    run("sound", "remove", out, "keeper.ogg", "--place", "2", "--out", out, says="no longer played")
    check("one left", len(sounds(out)) == 1)

    # A file whose trims leave nothing is a warning of mien check.
    made = json.loads(keeper.read_text())
    made["version"], made["sounds"][0]["trim_end_s"] = 4, "60"
    out.write_text(json.dumps(made))
    run("check", out, expect=1, says=["sound 'keeper.ogg': nothing of it is heard", "60 s at its end"])
    run("speak", out, "--audio", folder / "keeper.ogg", "--out", folder / "none.show.json", expect=2, says="the show plays nothing of it")

    # mien speak listens to what is heard; other words are not its business.
    model = "not there" not in subprocess.run([mien, "align", folder / "keeper.ogg", "--text", folder / "keeper.txt", "--out", folder / "try.TextGrid"], capture_output=True, text=True, timeout=120).stderr
    bare = json.loads(keeper.read_text())
    bare["layers"], bare["channels"] = [], []
    (folder / "bare.show.json").write_text(json.dumps(bare))
    run("sound", "change", folder / "bare.show.json", "keeper.ogg", "--trim-end", str(length - 7), "--out", folder / "cut.show.json")
    alone = json.loads(run("speak", folder / "cut.show.json", "--audio", folder / "keeper.ogg", "--out", folder / "alone.show.json", "--json"))
    last = max(float(c["keys"][-1].split()[0]) for c in json.loads((folder / "alone.show.json").read_text())["layers"][0]["channels"])
    check("no key after what is heard", alone["keys"] > 50 and last < 1.3 + 7 + 0.45, last)
    if model:
        words = json.loads(run("align", folder / "keeper.ogg", "--text", folder / "keeper.txt", "--out", folder / "try.TextGrid", "--json"))["words"]
        heard = [w for w in words if w["end_s"] < 6.9]
        (folder / "heard.txt").write_text(" ".join(w["word"] for w in heard))
        said = json.loads(run("speak", folder / "cut.show.json", "--audio", folder / "keeper.ogg", "--text", folder / "heard.txt", "--out", folder / "said.show.json", "--json"))
        check("the words of what is heard", said["words"] == len(heard) and said["findings"] == [], said)
        run("check", folder / "said.show.json", says="nothing to report")
        # The text of the whole recording is understood, too.
        said = json.loads(run("speak", folder / "cut.show.json", "--audio", folder / "keeper.ogg", "--text", folder / "keeper.txt", "--out", folder / "said.show.json", "--json"))
        check("or those of all of it", said["words"] == len(words) and said["closures_held"] == said["closures"] > 3, said)

    # Keys of another hand on the mouth that speaks are told by mien check.
    made = json.loads(keeper.read_text())
    made["channels"].append({"control": "jaw_open", "keys": ["5 0.4 smooth", "6 0 smooth"]})
    (folder / "rival.show.json").write_text(json.dumps(made))
    run("check", folder / "rival.show.json", says=["channels of the show, 5 to 6 s", "the show has 2 keys of jaw_open there, which layer 'speech' covers", "Delete them"])

finish()
