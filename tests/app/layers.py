"""mien pose, clip and layer: what they list, change and refuse, and that a baked show asks for the same as the layers did."""
import csv
import json
import pathlib
import shutil
import tempfile

from program import check, finish, root, run_expecting as run


def targets(show, out):
    run("render", show, "--out", out)
    rows = list(csv.reader(open(out)))
    wanted = [i for i, name in enumerate(rows[0]) if name.endswith(".target_deg")]
    return [[float(row[i]) for i in wanted] for row in rows[1:]]


for family, verbs in (("pose", ("list", "capture", "key", "mirror")), ("clip", ("list", "make", "place", "mirror", "import", "export")),
                      ("layer", ("list", "add", "idle", "mute", "remove", "bake"))):
    run(family, "--help", says=verbs)
    run(family, expect=2)

with tempfile.TemporaryDirectory() as folder:
    folder = pathlib.Path(folder)
    for name in ("keeper.rig.json", "keeper.show.json", "keeper.clips.json", "keeper.ogg"):
        shutil.copy(root / "shows" / name, folder)
    original, library, show = folder / "keeper.show.json", folder / "keeper.clips.json", folder / "a.show.json"

    # A library, into a show and out of it.
    run("check", library, says=["nothing to report"])
    check("the library has twelve poses", len(json.loads(run("pose", "list", library, "--json"))) == 12)
    run("clip", "import", original, library, "--out", show, says=["12 poses and 2 clips"])
    run("clip", "import", show, library, "--out", show, says=["0 poses and 0 clips"])
    joy = next(p for p in json.loads(run("pose", "list", show, "--json")) if p["pose"] == "joy")
    check("joy is 6 and 12", joy["action_units"] == [6, 12], joy)
    run("clip", "export", show, "--out", folder / "some.clips.json", "--clips", "blink", says=["0 poses and 1 clips"])
    check("only the clip named", [c["clip"] for c in json.loads(run("clip", "list", folder / "some.clips.json", "--json"))] == ["blink"])
    run("clip", "export", show, "--out", folder / "none.clips.json", "--clips", "blnik", expect=2, says=["Did you mean 'blink'?"])
    run("clip", "export", original, "--out", folder / "none.clips.json", expect=2, says=["no poses and no clips"])
    ears = json.loads(library.read_text())
    ears["poses"][0]["values"].append("1 ears")
    (folder / "ears.clips.json").write_text(json.dumps(ears))
    run("clip", "import", original, folder / "ears.clips.json", "--out", folder / "b.show.json", expect=1, says=["pose 'joy'", "no control 'ears'", "11 poses and 2 clips"])
    run("clip", "import", original, original, "--out", folder / "b.show.json", expect=2, says=["'mien show', not 'mien clips'"])

    # Poses.
    run("pose", "capture", show, "now", "--at", "3", "--group", "brows", "--units", "2", "--out", show, says=["pose 'now'"])
    run("pose", "key", show, "joy", "--at", "3.5", "--weight", "0.5", "--out", folder / "b.show.json", says=["5 keys at 3.5 s"])
    run("pose", "key", show, "joyy", "--at", "3.5", "--out", folder / "b.show.json", expect=2, says=["Did you mean 'joy'?"])
    run("pose", "key", show, "joy", "--at", "soon", "--out", folder / "b.show.json", expect=2, says=["--at", "'soon' is not a time"])
    run("pose", "mirror", show, "smirk", "smirk right", "--out", show)
    mirrored = next(p for p in json.loads(run("pose", "list", show, "--json")) if p["pose"] == "smirk right")
    check("left and right change over", mirrored["values"] == {"lid_lower_raise": 0.2, "smile_right": 0.65, "mouth_shift": -0.2}, mirrored)

    # Clips and layers.
    run("clip", "make", show, "greeting", "--from", "1.3", "--until", "2.5", "--out", show, says=["clip 'greeting'"])
    run("clip", "make", show, "nothing", "--from", "100", "--until", "200", "--out", show, expect=2, says=["there is no key"])
    run("clip", "place", show, "wink", "--layer", "winks", "--at", "6", "--repeats", "2", "--fade-in", "0.1", "--out", show)
    run("clip", "place", show, "wink", "--layer", "winks", "--at", "6", "--rate", "0", "--out", folder / "b.show.json", expect=2, says=["rate: is 0"])
    run("clip", "place", show, "wonk", "--layer", "winks", "--at", "6", "--out", folder / "b.show.json", expect=2, says=["Did you mean 'wink'?"])
    run("layer", "add", show, "hands", "--add", "--weight", "0.5", "--mask", "brows", "--out", show)
    run("layer", "add", show, "hands", "--out", show, expect=2, says=["already"])
    run("layer", "add", show, "more", "--mask", "borws", "--out", folder / "b.show.json", expect=2, says=["Did you mean 'brows'?"])
    run("pose", "key", show, "surprise", "--at", "1", "--layer", "hands", "--out", show)
    run("layer", "idle", show, "life", "--seed", "7", "--manner", "listening", "--out", show, says=["listening, seed 7"])
    run("layer", "idle", show, "life", "--manner", "asleep", "--out", show, expect=2)
    layers = json.loads(run("layer", "list", show, "--json"))
    check("the layers, from the lowest up", [l["layer"] for l in layers] == ["speech", "winks", "hands", "life"], layers)
    check("life's seed", layers[3]["idle"] == {"seed": 7, "manner": "listening"}, layers[3])
    check("a layered show is version 2", json.loads(show.read_text())["version"] == 2)

    # The same tick for all of it: the same seed gives the same face, another one another; a muted layer none at all.
    plain, living = targets(original, folder / "x.csv"), targets(show, folder / "y.csv")
    check("layers change what is asked for", plain != living)
    check("and the same twice", living == targets(show, folder / "z.csv"))
    run("layer", "idle", show, "life", "--seed", "8", "--manner", "listening", "--out", folder / "b.show.json")
    check("another seed, another life", targets(folder / "b.show.json", folder / "z.csv") != living)
    silent = folder / "silent.show.json"
    shutil.copy(show, silent)
    for name in ("winks", "hands", "life"):
        run("layer", "mute", silent, name, "--out", silent)
    check("muted layers do nothing", targets(silent, folder / "z.csv") == plain)

    # Baked down: no layers, and the same within a little.
    run("layer", "bake", show, "life", "--error", "0.2", "--out", folder / "baked.show.json", says=["4 layers baked down"])
    check("no layer is left", json.loads(run("layer", "list", folder / "baked.show.json", "--json")) == [])
    worst = max(abs(a - b) for x, y in zip(living, targets(folder / "baked.show.json", folder / "z.csv")) for a, b in zip(x, y))
    check("baked targets within 0.5 deg of the layers'", worst < 0.5, worst)
    run("layer", "bake", show, "lief", "--out", folder / "b.show.json", expect=2, says=["Did you mean 'life'?"])
    run("layer", "remove", show, "life", "--out", show)
    check("a layer is deleted", [l["layer"] for l in json.loads(run("layer", "list", show, "--json"))] == ["speech", "winks", "hands"])

    # Into another folder: the rig is found from there.
    (folder / "elsewhere").mkdir()
    run("layer", "mute", show, "winks", "--out", folder / "elsewhere" / "c.show.json")
    run("layer", "list", folder / "elsewhere" / "c.show.json", says=["muted"])

finish()
