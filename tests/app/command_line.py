"""The command line as people and scripts use it: exit codes, tables, bad input."""
import csv
import io
import json
import pathlib
import subprocess
import tempfile

from program import check, finish, mien, root, run_expecting as run, together

samples = root / "tests/samples"
rig, show = samples / "small.rig.json", samples / "small.show.json"


for command in ("edit", "play", "render", "bake", "check", "arrive", "power", "describe", "import", "export", "new-rig", "board", "adopt", "align", "speak", "ports", "pose", "clip", "layer"):
    run(command, "--help", says=command)
run("--help", says="animatronic")
run("nonsense", expect=2)
run("render", show, expect=2)  # no --out
run("ports")
check("ports --json is JSON", set(json.loads(run("ports", "--json"))) == {"serial", "midi", "audio"})

with tempfile.TemporaryDirectory() as folder:
    folder = pathlib.Path(folder)

    # Render: the header as documented, a tick every 10 ms, angles within travel.
    out = folder / "ticks.csv"
    run("render", show, "--out", out)
    ticks = list(csv.reader(open(out)))
    names = [r["actuator"] for r in csv.DictReader(io.StringIO(run("describe", rig, "--csv")))]
    check("render's header", ticks[0] == ["time_s"] + [f"{n}.{w}" for n in names for w in ("target_deg", "setpoint_deg", "pulse_us")], ticks[0])
    check("render's ticks", [float(r[0]) for r in ticks[1:4]] == [0, 0.01, 0.02])
    run("render", show, "--out", folder / "no" / "such" / "folder.csv", expect=2, says="folder")

    # A new head: from a table to a rig and a show that are valid and perform.
    table, head, empty = folder / "servos.csv", folder / "mop.rig.json", folder / "mop.show.json"
    table.write_text("name,output,min_deg,servo\nleft upper lid,3,-30,\nleft lower lid,,,\njaw,,,\"Big, 0.2 s/60 deg, 120 deg, 900..2100 us\"\nleft ear,,,\n")
    run("new-rig", "--from", table, "--out", head, "--show", empty, "--servo", "Micro, 0.1 s/60 deg, 180 deg, 500..2500 us", "--supply", 5, says="4 servos on 1 board,")
    made = json.loads(head.read_text())
    check("new-rig takes the table's output", made["actuators"][0]["output"] == 3)
    check("new-rig's limits are the sheets'", [a["velocity_deg_s"] for a in made["actuators"]] == [480, 480, 240, 480], [a["velocity_deg_s"] for a in made["actuators"]])
    check("new-rig's lids don't cross", made["constraints"][0]["terms"] == ["1 left upper lid", "-1 left lower lid"] and made["constraints"][0]["at_least_deg"] == -30, made.get("constraints"))
    check("new-rig's head is called as its file", made["name"] == "mop", made["name"])
    run("check", head)
    run("check", empty)
    run("render", empty, "--out", folder / "mop.csv")
    table.write_text("name,output\njaw,x\n")
    run("new-rig", "--from", table, "--out", folder / "no.rig.json", expect=2, says="line 2")
    table.write_text("name,output\njaw,1\nlid,1\n")
    run("new-rig", "--from", table, "--out", folder / "no.rig.json", expect=2, says="taken by another servo")
    run("new-rig", "--from", table, "--out", folder / "no.rig.json", "--servo", "5 furlongs", expect=2, says="5 furlongs")
    check("new-rig writes nothing that can't be used", not (folder / "no.rig.json").exists())

    # Describe.
    header = run("describe", rig, "--csv").splitlines()[0]
    check("describe's header", header == "actuator,group,board,output,min_deg,max_deg,rest_deg,reversed,velocity_deg_s,acceleration_deg_s2,pulse_min_us,pulse_max_us", header)
    check("describe's controls", run("describe", rig, "--csv", "--controls").splitlines()[0] == "control,unit,min,max,rest")

    with_more = json.loads(rig.read_text())
    with_more["boards"][0]["identity"] = "0123456789ABCDEF"
    with_more["controls"].append({"name": "mood", "group": with_more["groups"][0]["name"], "unit": "1", "min": 0, "max": 2, "rest": 0, "states": ["calm", "curious", "cross"]})
    with_more.setdefault("auxiliaries", []).append({"name": "display", "board": with_more["boards"][0]["name"], "control": "mood", "line": 4,
                                                    "kind": "code", "lines": 2, "settle_ms": 5})
    (folder / "more.rig.json").write_text(json.dumps(with_more))
    run("describe", folder / "more.rig.json", says="0123456789ABCDEF")
    run("describe", folder / "more.rig.json", says="2 lines, no strobe, settles in 5 ms")
    run("describe", folder / "more.rig.json", "--controls", says="calm, curious, cross")
    auxiliaries = list(csv.DictReader(io.StringIO(run("describe", folder / "more.rig.json", "--auxiliaries", "--csv"))))
    check("describe's auxiliaries", [(a["auxiliary"], a["kind"], a["line"], a["control"]) for a in auxiliaries] == [("display", "code", "4", "mood")], auxiliaries)
    check("describe's header stays", run("describe", folder / "more.rig.json", "--csv").splitlines()[0] == header)

    # Keyframes out and in again are the same show.
    run("export", show, "--out", folder / "keys.csv")
    check("export's header", open(folder / "keys.csv").readline().strip() == "channel,time_s,value,easing")
    run("import", folder / "keys.csv", "--rig", rig, "--out", folder / "again.show.json")
    run("export", folder / "again.show.json", "--out", folder / "again.csv")
    check("export, import, export", (folder / "keys.csv").read_bytes() == (folder / "again.csv").read_bytes())
    run("export", root / "shows/keeper.show.json", "--out", folder / "demo.csv", says=["not in it: 1 layer", "1 sound", "mien layer bake"])
    (folder / "bad.csv").write_text("channel,time_s,value,easing\nblink,0,nan,linear\n")
    run("import", folder / "bad.csv", "--rig", rig, "--out", folder / "x.show.json", expect=2, says="2")
    check("a refused import writes nothing", not (folder / "x.show.json").exists())

    # Check, and bad input of every kind.
    run("check", root / "shows/keeper.show.json", says="nothing to report")
    run("check", show, expect=1, says="late")  # a sample of every field, not of good keys
    run("check", rig)
    good = show.read_text()
    for name, text, code, says in (
        ("empty", "", 2, "empty"),
        ("half", good[: len(good) // 2], 2, "half.show.json"),
        ("future", good.replace('"version": 1', '"version": 999'), 2, "999"),
        ("not JSON", "\x00\x01garbage" * 100, 2, "JSON"),
    ):
        file = folder / f"{name}.show.json"
        file.write_text(text)
        run("check", file, expect=code, says=says)
        run("play", file, "--for", "1", expect=2, says=says)
        check(f"{name}: untouched", file.read_text() == text)
    with open(folder / "huge.show.json", "wb") as file:
        file.truncate(1 << 30)
    run("check", folder / "huge.show.json", expect=2, says="512 MB")
    run("check", folder / "missing.show.json", expect=2, says="missing.show.json")

    # A sound that is none, and a show without its rig.
    silent = json.loads((root / "shows/keeper.show.json").read_text())
    silent["sounds"][0]["file"] = "noise.wav"
    (folder / "noise.wav").write_bytes(bytes(range(256)) * 64)
    (folder / "silent.show.json").write_text(json.dumps(silent))
    run("check", folder / "silent.show.json", expect=1, says="keeper.rig.json")
    (folder / "keeper.rig.json").write_bytes((root / "shows/keeper.rig.json").read_bytes())
    run("check", folder / "silent.show.json", expect=1, says="noise.wav")

    # A rig whose linkage can't close is told of where it is, and nothing is performed on it.
    broken = json.loads((root / "shows/keeper.rig.json").read_text())
    broken["mappings"][0]["response"]["rod_mm"] = 5.0
    (folder / "keeper.rig.json").write_text(json.dumps(broken))
    on_broken = folder / "keeper.show.json"
    on_broken.write_bytes((root / "shows/keeper.show.json").read_bytes())
    for words in (["check", folder / "keeper.rig.json"], ["check", on_broken]):
        run(*words, expect=1, says="keeper.rig.json: mapping of 'jaw', slider-crank: the linkage can't close")
    for words in (["render", on_broken, "--out", out], ["play", on_broken, "--mute", "--for", 1], ["arrive", on_broken, "--out", folder / "mended.show.json"]):
        run(*words, expect=2, says="slider-crank: the linkage can't close")

    # A show that is too fast, and the one command that makes it arrive.
    hurried, keeper, arrived = root / "shows/hurried.show.json", root / "shows/keeper.show.json", folder / "arrived.show.json"
    report = json.loads(run("check", hurried, "--json", expect=1))
    found = report["findings"]
    check("check's findings have when, what, why and how much",
          all(f["time_s"] >= 0 and f["actuator"] and f["late_ms"] >= 0 and f["off_deg"] >= 0 and f["cure"] for f in found), found)
    check("hurried has a finding of each kind", {f["cause"] for f in found} == {"late", "clipped", "out of sync"}, found)
    check("  and each kind of lateness", all(any(w in f["what"] for f in found) for w in ("arrives", "short", "past", "jump")), found)
    run("check", hurried, expect=1, says="late. Start the move")
    report = json.loads(run("arrive", hurried, "--out", arrived, "--json"))
    check("arrive tells of its changes", report["changes"] and not report["findings"] and all(c["channel"] and c["what"] for c in report["changes"]), report)
    run("check", arrived, says="nothing to report")

    # One finding of many: its channel alone is changed, and it is not found again; the others are.
    one = next(f for f in found if f["cause"] == "late" and f["channel"])
    mended = folder / "mended.show.json"
    report = json.loads(run("arrive", hurried, "--at", one["key_s"], "--channel", one["channel"], "--out", mended, "--json"))
    check("one finding is mended, in its channel", report["changes"] and {c["channel"] for c in report["changes"]} == {one["channel"]}, report)
    same = lambda f: all(f[k] == one[k] for k in ("channel", "key_s", "actuator", "cause"))
    check("  it is gone, and others are left", not any(map(same, report["findings"])) and 0 < len(report["findings"]) < len(found), report)
    others = lambda file: {c["control"]: c for c in json.loads(file.read_text())["channels"] if c["control"] != one["channel"]}
    check("  and no other channel was touched", others(mended) == others(hurried))
    report = json.loads(run("arrive", hurried, "--at", 1.5, "--channel", "brow_raise_left", "--out", mended, "--json"))
    check("  of the servos that a key is late for, the latest counts", not any(f["channel"] == "brow_raise_left" and f["key_s"] == 1.5 for f in report["findings"]), report)
    run("arrive", hurried, "--at", (one["time_s"] + one["until_s"]) / 2, "--channel", one["channel"], "--out", mended, says="findings left")
    run("arrive", hurried, "--at", 0, "--channel", one["channel"], "--out", folder / "none.show.json", expect=2, says=("channel '" + one["channel"] + "', 0 s: nothing is found there", "The nearest in this channel is at"))
    run("arrive", hurried, "--at", 1, "--channel", "nobody", "--out", folder / "none.show.json", expect=2, says="there is no channel 'nobody'")
    run("arrive", hurried, "--at", "soon", "--channel", one["channel"], "--out", folder / "none.show.json", expect=2, says="--at: 'soon' is not a time")
    run("arrive", hurried, "--at", 1, "--out", folder / "none.show.json", expect=2, says="--channel")
    run("arrive", keeper, "--at", 1, "--channel", "jaw_open", "--out", folder / "none.show.json", expect=2, says="keys have nothing to mend in this channel")
    check("  and nothing is written then", not (folder / "none.show.json").exists())
    before = hurried.read_bytes()
    run("arrive", keeper, "--out", folder / "same.show.json", says="0 changes")
    check("arrive leaves the show that it reads alone", hurried.read_bytes() == before)
    run("arrive", folder / "nothing.show.json", "--out", arrived, expect=2, says="nothing.show.json")

    # Baked, the demo is small; bad words are named.
    baked = folder / "keeper.bake"
    report = json.loads(run("bake", keeper, "--out", baked, "--json"))
    check("bake: at most 40 bytes per actuator and second", 0 < report["baked_bytes_per_actuator_second"] <= 40, report)
    check("bake: the file is all boards' bytes", baked.stat().st_size == report["bytes"] == sum(b["bytes"] for b in report["boards"]), report)
    check("bake: 2 MB of flash hold more than half an hour of the head", report["flash_2mb_s"] > 1800, report)
    run("bake", keeper, "--out", baked, says="minutes of the whole head")
    run("bake", keeper, "--out", baked, "--loop", "--pause", "3..9", "--idle", hurried, "--start", "code:5:2..4")
    run("bake", keeper, expect=2, says="--out FILE")
    for option, word in (("--start", "noon"), ("--start", "input:16"), ("--start", "code:9:0..2"), ("--start", "code:1:4..2"), ("--pause", "9..3"),
                         ("--pause", "nan"), ("--gap", "-1"), ("--gap", "1..x")):
        run("bake", keeper, "--out", baked, f"{option}={word}", expect=2, says=word)
    run("bake", keeper, "--out", baked, "--idle", show, expect=2, says="another rig")
    run("bake", on_broken, "--out", baked, expect=2, says="slider-crank: the linkage can't close")
    run("bake", keeper, "--out", folder / "no" / "such" / "folder.bake", expect=2, says="folder")
    run("bake", keeper, "--to", "sim:", expect=2, says="forget")
    run("bake", keeper, "--to", folder / "nothing", expect=2, says="nothing")

    parts = json.loads(rig.read_text())
    for name, change, says in (
        ("two on one output", lambda r: r["actuators"][1].update(output=r["actuators"][0]["output"]), "output"),
        ("no velocity", lambda r: r["actuators"][0].update(velocity_deg_s=0.0), "velocity"),
    ):
        broken = json.loads(rig.read_text())
        change(broken)
        file = folder / f"{name}.rig.json"
        file.write_text(json.dumps(broken))
        run("check", file, expect=1, says=says)
        report = json.loads(run("check", file, "--json", expect=1))
        check(f"{name}: findings have place and cure", report["errors"] >= 1 and all(f["place"] and f["cure"] for f in report["findings"]), report)
    run("describe", show, expect=2)

    # Ports that are none: each is given its time to appear.
    together(lambda: run("play", show, "--port", folder / "nothing", "--for", "1", "--mute", expect=2, says="nothing"),
             lambda: run("play", show, "--port", folder, "--for", "1", "--mute", expect=2, says="directory"))
    run("board", "--listen", "nowhere", expect=2, says="HOST:PORT")

    # Without a display the editor says so.
    import os
    bare = {k: v for k, v in os.environ.items() if k not in ("DISPLAY", "WAYLAND_DISPLAY")}
    done = subprocess.run([mien, "edit", str(show)], capture_output=True, text=True, timeout=60, env=bare)
    check("mien edit without a display -> 2, and says so", done.returncode == 2 and "display" in done.stderr.lower(), done.stderr)

finish()
