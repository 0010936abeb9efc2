"""A recording of three hours: a mouth from the sound alone, and a text that is listened for and given up. Invented bursts of a buzz at 8 kHz."""
import array
import json
import pathlib
import shutil
import signal
import subprocess
import tempfile
import time
import wave

from program import check, finish, mien, root, run_expecting as run

HOURS, RATE_HZ = 3, 8000

with tempfile.TemporaryDirectory() as name:
    folder = pathlib.Path(name)
    for file in ("keeper.rig.json", "keeper.visemes.txt", "keeper.txt"):
        shutil.copy(root / "shows" / file, folder)
    # Four bursts of a buzz a second, with a pause every two seconds; four seconds of it, over and over.
    phrase = array.array("h")
    for n in range(4 * RATE_HZ):
        loud = 0 if n % (2 * RATE_HZ) > 1.4 * RATE_HZ else max(0.0, 1 - abs((n * 4 / RATE_HZ) % 1 - 0.5) * 2.5)
        phrase.append(int(12000 * loud * ((n * 120 / RATE_HZ) % 1 - 0.5) * 2))
    audio = folder / "long.wav"
    with wave.open(str(audio), "wb") as out:
        out.setnchannels(1), out.setsampwidth(2), out.setframerate(RATE_HZ)
        for _ in range(HOURS * 3600 // 4):
            out.writeframes(phrase.tobytes())
    show = json.loads((root / "shows/keeper.show.json").read_text())
    show.update(channels=[], layers=[], sounds=[], markers=[], length_s=str(HOURS * 3600 + 1))
    (folder / "long.show.json").write_text(json.dumps(show))

    run("sound", "add", folder / "long.show.json", audio, "--trim-end", "10790", "--out", folder / "ten.show.json", says="is heard from 0 to 10 s")
    report = json.loads(run("speak", folder / "ten.show.json", "--audio", audio, "--out", folder / "ten.show.json", "--json"))
    check("ten seconds of it", 3 <= report["phones"] <= 10, report)

    # Given up on the way, by Ctrl+C: soon, with a word, and nothing is written.
    model = "not there" not in subprocess.run([mien, "align", root / "shows/keeper.ogg", "--text", root / "shows/keeper.txt", "--out", folder / "try.TextGrid"], capture_output=True, text=True, timeout=120).stderr
    if model:
        (folder / "long.txt").write_text((folder / "keeper.txt").read_text() * 400)
        working = subprocess.Popen([mien, "align", audio, "--text", folder / "long.txt", "--out", folder / "heard.TextGrid"], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
        time.sleep(0.7)  # it reads the sound, or has begun to listen
        working.send_signal(signal.SIGINT)
        told = "".join(working.communicate(timeout=600))
        # A text that doesn't fit the first minutes may be refused before anybody gives up.
        check("given up or refused, with a word", working.returncode == 2 and ("given up" in told or "stopped" in told or "Check that text and sound" in told), (working.returncode, told))
        check("nothing was written", not (folder / "heard.TextGrid").exists())

    done = subprocess.run([mien, "speak", folder / "long.show.json", "--audio", audio, "--out", folder / "spoken.show.json", "--json"], capture_output=True, text=True, timeout=900)
    check("it is spoken", done.returncode in (0, 1), done.stderr)
    report = json.loads(done.stdout)
    check("all three hours, from the sound alone", report["length_s"] == HOURS * 3600 and report["phones"] > 5000, report["phones"])
    check("to the end", max(float(c["keys"][-1].split()[0]) for c in json.loads((folder / "spoken.show.json").read_text())["layers"][0]["channels"] if c["keys"]) > HOURS * 3600 - 10)

finish()
