"""mien lane: what it lists, moves and refuses; the order stands in the file and asks for the same of the head."""
import json
import pathlib
import shutil
import tempfile

from program import check, finish, root, run, run_expecting

with tempfile.TemporaryDirectory() as folder:
    folder = pathlib.Path(folder)
    for name in ("keeper.rig.json", "hurried.show.json"):
        shutil.copy(root / "shows" / name, folder)
    original, moved = folder / "hurried.show.json", folder / "moved.show.json"

    def lanes(show, group):
        return [l["control"] for l in json.loads(run_expecting("lane", "list", show, "--json")) if l["group"] == group]

    first = json.loads(run_expecting("lane", "list", original, "--json"))[0]
    group = first["group"]
    before = lanes(original, group)
    check("several lanes in the first group", len(before) > 1, str(before))
    run_expecting("lane", "move", original, before[-1], "--to", "1", "--out", moved, says=[f"'{before[-1]}' is lane 1 of {len(before)}"])
    check("it stands first, the others as before", lanes(moved, group) == [before[-1]] + before[:-1], str(lanes(moved, group)))
    others = [l for l in json.loads(run_expecting("lane", "list", moved, "--json")) if l["group"] != group]
    check("other groups stand as before", others == [l for l in json.loads(run_expecting("lane", "list", original, "--json")) if l["group"] != group])
    for show in (original, moved):
        run_expecting("render", show, "--out", show.with_suffix(".csv"))
    check("the head does the same", original.with_suffix(".csv").read_text() == moved.with_suffix(".csv").read_text())
    run_expecting("lane", "move", moved, before[-1], "--to", len(before), "--out", moved)
    check("back again", lanes(moved, group) == before)
    run_expecting("lane", "move", original, before[0] + "x", "--to", "1", "--out", moved, expect=2, says=["has no control", f"Did you mean '{before[0]}'?"])
    run_expecting("lane", "move", original, before[0], "--to", "99", "--out", moved, expect=2, says=["--to", "Give a place from 1 to"])
    check("a move that is refused writes nothing", not (folder / "none.show.json").exists() and run("lane", "move", original, "nobody", "--to", "1", "--out", folder / "none.show.json").returncode == 2 and not (folder / "none.show.json").exists())
finish()
