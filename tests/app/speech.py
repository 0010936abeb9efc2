"""mien align, mien speak and what mien check says of speech: with the demo's line, and with sounds that are none."""
import json
import math
import pathlib
import random
import shutil
import subprocess
import tempfile
import wave

from program import check, finish, mien, root, run_expecting as run

line, text, keeper = root / "shows/keeper.ogg", root / "shows/keeper.txt", root / "shows/keeper.show.json"


def write_wave(path, samples, rate=16000, channels=1, width=2):
    with wave.open(str(path), "wb") as out:
        out.setnchannels(channels), out.setsampwidth(width), out.setframerate(rate)
        most = 2 ** (8 * width - 1) - 1
        out.writeframes(b"".join(int(max(-1, min(1, s)) * most).to_bytes(width, "little", signed=True) for s in samples))


def voice(seconds, rate):
    """Something with the rhythm of speech: a buzz whose loudness comes and goes."""
    return [0.4 * max(0, math.sin(2 * math.pi * 3 * n / rate)) * ((n * 120 / rate) % 1 - 0.5) for n in range(int(seconds * rate))]


with tempfile.TemporaryDirectory() as name:
    folder = pathlib.Path(name)
    model = "not there" not in subprocess.run([mien, "align", line, "--text", text, "--out", folder / "try.TextGrid"], capture_output=True, text=True, timeout=120).stderr

    # A mouth from the sound alone needs no model; the demo's rig without its table gives one by its roles.
    shutil.copy(root / "shows/keeper.rig.json", folder)
    shutil.copy(line, folder)
    bare = json.loads(keeper.read_text())
    bare["channels"], bare["sounds"], bare["layers"] = [], [], []
    (folder / "bare.show.json").write_text(json.dumps(bare))
    report = json.loads(run("speak", folder / "bare.show.json", "--audio", folder / "keeper.ogg", "--at", "1.3", "--out", folder / "alone.show.json", "--json"))
    check("keys without a text", report["keys"] > 200, report)
    check("in time", report["real_time_factor"] < 1, report)
    made = json.loads((folder / "alone.show.json").read_text())
    check("the sound is placed", made["sounds"] == [{"file": "keeper.ogg", "start_s": "1.3", "trim_s": "0", "gain_db": 0.0}], made["sounds"])
    check("no channel of the show's own", made["channels"] == [])
    layer = made["layers"][0]
    check("a layer that overrides", layer["name"] == "speech" and layer["blend"] == "over" and len(made["layers"]) == 1, layer["name"])
    check("seven channels", {c["control"] for c in layer["channels"]} == {"jaw_open", "lips_wide", "lips_round", "lip_close", "lip_tuck", "upper_lip_raise", "lower_lip_drop"})
    check("labels beside it", (folder / "keeper.TextGrid").read_text().startswith('File type = "ooTextFile"'))

    # Sounds that are no speech, and files that are no sounds.
    speak = lambda sound, **more: run("speak", folder / "bare.show.json", "--audio", sound, "--out", folder / "bad.show.json", **more)
    write_wave(folder / "silent.wav", [0] * 32000)
    speak(folder / "silent.wav", expect=2, says="silent")
    hiss = random.Random(1)
    write_wave(folder / "noise.wav", [hiss.uniform(-0.3, 0.3) for _ in range(32000)])
    speak(folder / "noise.wav", expect=2, says="level never moves")
    write_wave(folder / "nothing.wav", [])
    speak(folder / "nothing.wav", expect=2, says="nothing.wav")
    speak(folder / "missing.wav", expect=2, says="missing.wav")
    speak(folder / "bare.show.json", expect=2, says="bare.show.json")
    check("nothing was written", not (folder / "bad.show.json").exists())
    for what, rate, channels, width in (("8 kHz", 8000, 1, 2), ("24 bit", 48000, 1, 3), ("5.1", 16000, 6, 2)):
        samples = [s for s in voice(2, rate) for _ in range(channels)]
        write_wave(folder / "odd.wav", samples, rate, channels, width)
        run("speak", folder / "bare.show.json", "--audio", folder / "odd.wav", "--out", folder / "odd.show.json", says="keys in 7 channels")
    (folder / "cut.ogg").write_bytes(line.read_bytes()[:60000])
    subprocess.run([mien, "speak", folder / "bare.show.json", "--audio", folder / "cut.ogg", "--out", folder / "cut.show.json"], timeout=120, check=False, capture_output=True)
    check("a cut file speaks as far as it goes", 2 < json.loads((folder / "cut.show.json").read_text())["layers"][0]["channels"][0]["keys"].__len__())
    run("speak", folder / "bare.show.json", "--audio", line, "--at", "soon", "--out", folder / "bad.show.json", expect=2, says="'soon' is no time")
    run("align", line, "--text", text, "--out", folder / "what.doc", expect=2, says="TextGrid")

    if model:
        run("align", line, "--text", text, "--out", folder / "line.TextGrid", says="30 words")
        run("align", line, "--text", folder / "line.TextGrid", "--out", folder / "line.lab", says="30 words")
        run("align", line, "--text", folder / "line.lab", "--out", folder / "again.TextGrid")
        check("TextGrid to HTK and back", "moths" in (folder / "again.TextGrid").read_text())
        aligned = json.loads(run("align", line, "--text", text, "--out", folder / "line.txt", "--words", "--json"))
        check("words with their times", [w["word"] for w in aligned["words"][:2]] == ["good", "evening"] and aligned["words"][-1]["end_s"] > 13, aligned["words"][:2])
        check("the word that no dictionary has is marked", [w["word"] for w in aligned["words"] if not w["known"]] == ["ferrow"])
        (folder / "wrong.txt").write_text("The quick otter swims across a frozen lake to see his seven cousins, who are having soup for dinner tonight again.")
        run("align", line, "--text", folder / "wrong.txt", "--out", folder / "bad.TextGrid", expect=2, says="Check that text and sound belong together")
        (folder / "russian.txt").write_text("Добрый вечер, друзья мои", encoding="utf-8")
        run("align", line, "--text", folder / "russian.txt", "--out", folder / "bad.TextGrid", expect=2, says="--language")
        check("no labels were written", not (folder / "bad.TextGrid").exists())

        run("speak", folder / "bare.show.json", "--audio", folder / "keeper.ogg", "--text", text, "--at", "1.3", "--out", folder / "said.show.json", says="in 24 of 24 closures")
        check("labels that were there are kept", (folder / "keeper.TextGrid~").exists())
        run("check", folder / "said.show.json", says="nothing to report")
        said = json.loads((folder / "said.show.json").read_text())
        for channel in said["layers"][0]["channels"]:
            if channel["control"] == "lip_close":
                channel["keys"] = ["0 0 hold"]
        (folder / "mute.show.json").write_text(json.dumps(said))
        run("check", folder / "mute.show.json", expect=1, says="open where lips should close")
        run("speak", keeper, "--audio", line, "--text", text, "--out", folder / "same.show.json")
        same, was = json.loads((folder / "same.show.json").read_text()), json.loads(keeper.read_text())
        check("the demo's mouth is what mien speak makes", same["layers"] == was["layers"] and same["channels"] == was["channels"])
        mouth = {c["control"] for c in was["layers"][0]["channels"]}
        check("and nothing else", not mouth & {c["control"] for c in was["channels"]}, mouth)

        # A hand's edits of the layer, away from the line, survive another run; those of the line are made anew.
        jaw = next(c for c in same["layers"][0]["channels"] if c["control"] == "jaw_open")
        jaw["keys"] += ["16.5 0.4 smooth"]
        (folder / "keeper.show.json").write_text(json.dumps(same))
        run("speak", folder / "keeper.show.json", "--audio", line, "--text", text, "--out", folder / "again.show.json")
        again = json.loads((folder / "again.show.json").read_text())
        kept = next(c for c in again["layers"][0]["channels"] if c["control"] == "jaw_open")
        check("hand edits elsewhere survive", kept["keys"] == jaw["keys"], kept["keys"][-2:])

        # Bake and arrive take the layer as they find it.
        run("layer", "bake", folder / "said.show.json", "speech", "--out", folder / "baked.show.json", says="7 channels")
        run("check", folder / "baked.show.json", says="nothing to report")
        run("arrive", folder / "said.show.json", "--out", folder / "arrived.show.json", says="0 changes, 0 findings left")

        # The manner: blinks and glances are added, nods have no neck; seeded.
        lively = ("--brows", "0.5", "--head", "1", "--blinks", "1", "--gaze", "0.5")
        run("speak", folder / "bare.show.json", "--audio", folder / "keeper.ogg", "--text", text, "--at", "1.3", *lively, "--out", folder / "lively.show.json", says="Nods of the head are left out")
        manner = json.loads((folder / "lively.show.json").read_text())["layers"][1]
        check("the manner adds", manner["name"] == "speech manner" and manner["blend"] == "add")
        check("brows, lids and eyes", {"brow_raise_left", "blink_left", "blink_right", "gaze_yaw"} <= {c["control"] for c in manner["channels"]}, [c["control"] for c in manner["channels"]])
        run("speak", folder / "bare.show.json", "--audio", folder / "keeper.ogg", "--text", text, "--at", "1.3", *lively, "--out", folder / "twin.show.json")
        check("the same seed, the same show", (folder / "twin.show.json").read_bytes() == (folder / "lively.show.json").read_bytes())
        run("speak", folder / "bare.show.json", "--audio", folder / "keeper.ogg", "--text", text, "--at", "1.3", *lively, "--seed", "2", "--out", folder / "twin.show.json")
        check("another seed, another show", (folder / "twin.show.json").read_bytes() != (folder / "lively.show.json").read_bytes())
        run("check", folder / "lively.show.json", says="nothing to report")
        run("speak", folder / "bare.show.json", "--audio", folder / "keeper.ogg", "--gaze", "9", "--out", folder / "bad.show.json", expect=2, says="--gaze")

    if (pathlib.Path(mien).parent / "mien_espeak").exists():
        (folder / "german.txt").write_text("Guten Abend. Einundvierzig Jahre lang hütete ich die Lampe.", encoding="utf-8")
        said = subprocess.run([str(pathlib.Path(mien).parent / "mien_espeak"), "de", "150"], input=(folder / "german.txt").read_bytes(), capture_output=True, timeout=60).stdout
        head, _, rest = said.partition(b"samples ")
        count, _, pcm = rest.partition(b"\n")
        with wave.open(str(folder / "german.wav"), "wb") as out:
            out.setnchannels(1), out.setsampwidth(2), out.setframerate(int(head.split()[1])), out.writeframes(pcm)
        run("speak", folder / "bare.show.json", "--audio", folder / "german.wav", "--text", folder / "german.txt", "--language", "de", "--out", folder / "german.show.json", says="9 words")
        run("align", folder / "german.wav", "--text", folder / "german.txt", "--language", "xx-none", "--out", folder / "g.TextGrid", expect=2, says="no language 'xx-none'")

finish()
