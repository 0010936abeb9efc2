"""The system's clock jumps by up to years, five times a second, under a performance: 'mien play', unmodified, with tests/app/clock_jump.cpp preloaded. Every frame reaches the boards,
in order, and none is refused; cues that wait on the head are heard."""
import json
import os
import pathlib
import re
import subprocess
import sys
import tempfile

from program import check, fault, finish, mien, root

jumper = sys.argv[3]

with tempfile.TemporaryDirectory() as folder:
    folder = pathlib.Path(folder)
    capture, told = folder / "bytes", folder / "jumps"
    # The boards' clock is their own: only the host's jumps.
    board = subprocess.Popen([mien, "board", "--listen", "127.0.0.1:0", "--state", "--capture", str(capture)], stdout=subprocess.PIPE, text=True)
    try:
        port = re.match(r"listening on 127\.0\.0\.1:(\d+)", board.stdout.readline()).group(1)
        import threading
        lines = []
        reader = threading.Thread(target=lambda: lines.extend(board.stdout), daemon=True)
        reader.start()
        played = subprocess.run([mien, "play", str(root / "shows/duty.show.json"), "--cues", "--first", "Welcome", "--port", f"tcp:127.0.0.1:{port}", "--for", "6", "--mute", "--json"], capture_output=True,
                                text=True, timeout=120, stdin=subprocess.DEVNULL, env=os.environ | {"LD_PRELOAD": jumper, "MIEN_CLOCK_JUMPS": str(told)})
    finally:
        board.terminate()
        board.wait(timeout=20)
    reader.join(timeout=20)
    print(played.stdout, played.stderr)
    check("mien play ends without findings", played.returncode == 0)
    jumps, asked = map(int, told.read_text().split())
    check(f"the clock jumped {jumps} times and was asked {asked} times", jumps >= 25 and asked > 0)
    summary = json.loads(played.stdout)
    decoded = subprocess.run([sys.executable, str(root / "tests/reference/decode.py"), str(capture)], capture_output=True, text=True)
    sequence = [p["sequence"] for p in map(json.loads, decoded.stdout.splitlines()) if p.get("type") == "frame"]
    missing = max((b - a) % 65536 - 1 for a, b in zip(sequence, sequence[1:]))  # on a busy machine the link lets single ones give way to newer ones
    check(f"{len(sequence)} frames arrived, {summary['frames_sent']} were sent, at most {missing} in a row are missing", len(sequence) == summary["frames_sent"] > 400 and missing <= 10)
    check("none was refused, and the link was never lost", summary["frames_refused"] == 0 and summary["times_lost"] == 0)
    check("the cue was heard", summary["cues_begun"] >= 1)
    latched = sum(1 for line in lines if re.search(r"board 0 frame seq \d+ latched", line))
    check(f"board 0 latched {latched} of them", latched >= 0.95 * len(sequence))
    fault("system clock jumping, by seconds to years, forward and back", jumps, "the performance, with no stretch of 0.1 s without a frame")
finish()
