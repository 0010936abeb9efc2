"""mien play when its boards go away and come back: armed again by itself within the time that --resume-within gives, and not after it."""
import json
import re
import subprocess
import time

from program import Told, check, finish, mien, root, run_expecting, together

show = root / "tests/samples/small.show.json"
count = len(json.loads((root / "tests/samples/small.rig.json").read_text())["boards"])


def boards(listen="127.0.0.1:0"):
    process = subprocess.Popen([mien, "board", "--listen", listen, "--boards", str(count)], stdout=subprocess.PIPE, text=True)
    return process, re.match(r"listening on (.*)", process.stdout.readline()).group(1)


def lost_for_a_moment(resume_within, then):
    """Takes the boards away for a second, and hands what mien play says after that to then(), which waits for what it wants to hear."""
    server, address = boards()
    played = subprocess.Popen([mien, "play", show, "--port", "tcp:" + address, "--mute", "--loop", "--resume-within", resume_within],
                              stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True)
    try:
        told = Told(played.stdout)
        told.wait_for(r"s  sent .* armed$")
        server.kill(), server.wait()
        told.wait_for(r"s  sent .* lost$")
        time.sleep(1)
        server, _ = boards(address)
        then(told)
        played.terminate()
        told.wait_for("link lost [1-9][0-9]* times")
        check(f"a performance that lost its link ends with 1, given {resume_within} s", played.wait(60) == 1)
    finally:
        played.kill()
        server.kill()


def back_in_time():
    lost_for_a_moment("60", lambda told: told.wait_for(r"s  sent .* armed$"))


def back_too_late():
    def then(told):
        told.wait_for(r"s  sent .* ready$")
        told.wait_for("away for too long for the head to be armed again by itself. Arm again")
        told.wait_for("moves no more until the performance is begun anew")
    lost_for_a_moment("0.2", then)


def never():
    def then(told):
        told.wait_for(r"s  sent .* ready$")
        told.wait_for("lost while the head was armed")
    lost_for_a_moment("0", then)


together(back_in_time, back_too_late, never)
run_expecting("play", show, "--resume-within", "-1", expect=2, says="--resume-within")
finish()
