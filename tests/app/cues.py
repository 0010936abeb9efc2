"""mien cue, and cues performed: what is listed, changed and refused; a show that waits for cues by the command line, with idle life between; the same calls give the same bits."""
import csv
import json
import pathlib
import shutil
import subprocess
import tempfile
import re
import time

from program import check, finish, mien, root, run_expecting as run


def column(path, name):
    return [float(row[name]) for row in csv.DictReader(open(path))]


run("cue", "--help", says=("list", "add", "change", "remove"))
run("cue", expect=2)
duty = root / "shows/duty.show.json"
with tempfile.TemporaryDirectory() as folder:
    folder = pathlib.Path(folder)
    for name in ("keeper.rig.json", "duty.show.json", "keeper.ogg"):
        shutil.copy(root / "shows" / name, folder)
    show, out = folder / "duty.show.json", folder / "a.show.json"
    told = json.loads(run("check", show, "--json"))
    check("nothing is wrong with the demo, and what was not studied is said", told["errors"] == told["warnings"] == 0 and [(f["severity"], f["place"]) for f in told["findings"]] == [("note", "cues")], told)
    run("check", show, says=["note:", "was not studied", "mien render SHOW --cues"])
    run("bake", show, "--out", folder / "duty.bake", says=["start no cues", "mien play SHOW --cues"])
    cues = json.loads(run("cue", "list", show, "--json"))
    kinds = {c["kind"] for c in cues}
    check("the demo has a cue of each kind that its rig can do", {"clip", "pose", "stretch", "choice", "stop"} <= kinds, kinds)
    run("cue", "list", show, says=["round and round", "one of"])

    # The list is edited, and says what is wrong.
    run("cue", "add", show, "sleepy", "--pose", "doubt", "--fade-in", "1.5", "--key", "Z", "--at-clock", "22:00", "--out", out, says=["cue 'sleepy': pose doubt"])
    added = json.loads(run("cue", "list", out, "--json"))[-1]
    check("it is as it was said", added["fade_in_s"] == 1.5 and added["key"] == "Z" and added["at_clock"] == "22:00:00", added)
    run("cue", "add", out, "sleepy", "--pose", "doubt", "--out", out, expect=2, says=["has a cue 'sleepy' already"])
    run("cue", "add", out, "nothing", "--out", out, expect=2, says=["nothing says what cue 'nothing' does"])
    run("cue", "add", out, "two", "--pose", "joy", "--stop", "--out", out, expect=2)
    run("cue", "change", out, "sleepy", "--priority", "3", "--key", "-", "--name", "drowsy", "--place", "1", "--out", out, says=["is 'drowsy' now"])
    first = json.loads(run("cue", "list", out, "--json"))[0]
    check("changed and moved, the rest as it was", first["cue"] == "drowsy" and first["priority"] == 3 and first["key"] == "" and first["fade_in_s"] == 1.5, first)
    run("cue", "change", out, "sleepy", "--priority", "3", "--out", out, expect=2, says=["the show has no cue 'sleepy'"])
    run("cue", "change", out, "drowsy", "--at-clock", "25:00", "--out", out, expect=2, says=["--at-clock", "no time of day"])
    run("cue", "change", out, "drowsy", "--follow", "nobody", "--out", out, expect=2, says=["there is no cue 'nobody'"])
    run("cue", "remove", out, "drowsy", "--out", out, says=["deleted"])
    check("it is gone", json.loads(run("cue", "list", out, "--json")) == cues)

    # Rendered: the show stands, lives, and does what it is asked.
    plain, asked, again = folder / "plain.csv", folder / "asked.csv", folder / "again.csv"
    run("render", show, "--cues", "--for", "12", "--out", plain)
    calls = ("--cue-at", "1:Joy", "--cue-at", "3:-Joy", "--cue-at", "4.5:Welcome")
    run("render", show, "--cues", "--for", "12", "--out", asked, *calls)
    run("render", show, "--cues", "--for", "12", "--out", again, *calls)
    check("the same calls give the same bits", asked.read_bytes() == again.read_bytes())
    smile = "lip_corner_up_left.target_deg"
    before, after = column(plain, smile), column(asked, smile)
    check("until it is asked for nothing is otherwise", before[:100] == after[:100])
    check("joy is on the face", max(abs(a - b) for a, b in zip(before[200:290], after[200:290])) > 3)
    jaw = column(asked, "jaw.target_deg")
    check("and the welcome is spoken after it", max(jaw[500:1100]) - min(jaw[500:1100]) > 5)
    lids = column(plain, "lid_upper_left.target_deg")
    check("nobody asks, and it blinks", max(lids) - min(lids) > 5)
    run("render", show, "--cues", "--out", plain, expect=2, says=["--for"])
    run("render", show, "--cue-at", "1:Joi", "--out", plain, expect=2, says=["no cue 'Joi'", "Did you mean 'Joy'?"])
    run("render", show, "--cue-at", "Joy", "--out", plain, expect=2, says=["--cue-at"])
    run("play", root / "shows/keeper.show.json", "--cues", "--for", "1", expect=2, says=["no cues"])

    # Performed: a time of day a few seconds from now starts one, a key of the script another.
    soon = time.strftime("%H:%M:%S", time.localtime(time.time() + 8))
    run("cue", "change", show, "Welcome", "--at-clock", soon, "--out", show)
    (folder / "desk.map.json").write_text(json.dumps({"format": "mien map", "version": 1, "name": "d", "fade_s": 0.5, "knobs": [], "triggers": [
        {"source": "note 60", "does": "cue", "name": "Joy", "hold": "momentary", "fade_in_s": 0.1, "fade_out_s": 0.1}]}))
    (folder / "keys.txt").write_text("1 90 3C 50\n2.5 80 3C 00\n")
    run("check", folder / "desk.map.json")
    told = run("play", show, "--cues", "--for", "16", "--mute", "--hands", folder / "desk.map.json", "--hands-script", folder / "keys.txt", says=["waiting for cues", "cue Joy: playing", "cue Joy: leaving", "cue Welcome: playing"])
    print(told[-1500:])

finish()
