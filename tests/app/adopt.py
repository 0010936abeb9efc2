"""mien adopt against simulated boards in another process: what it lists, when it asks, and that it changes nothing but identities."""
import json
import os
import pathlib
import pty
import re
import subprocess
import tempfile

from program import check, finish, mien, root


def run(*words, expect=0, says=(), stdin=subprocess.DEVNULL):
    done = subprocess.run([mien, *map(str, words)], capture_output=True, text=True, timeout=60, stdin=stdin)
    told = done.stdout + done.stderr
    check(f"mien {words[0]} {' '.join(map(str, words[4:]))} -> {expect}", done.returncode == expect, f"gave {done.returncode}: {told}")
    for word in says:
        check(f"  says {word!r}", word in told, told)
    return told


def at_terminal(answers, *words):
    """Runs it with a terminal to ask on, which holds these answers already."""
    ours, theirs = pty.openpty()
    try:
        os.write(ours, answers.encode())
        return run(*words, stdin=theirs, expect=0 if "n" not in answers else 1)
    finally:
        os.close(ours)
        os.close(theirs)


class Boards:
    def __init__(self, count):
        self.count = count

    def __enter__(self):
        self.process = subprocess.Popen([mien, "board", "--listen", "127.0.0.1:0", "--state", "--boards", str(self.count)], stdout=subprocess.PIPE, text=True)
        return "tcp:" + re.match(r"listening on (.*)", self.process.stdout.readline()).group(1)

    def __exit__(self, *_):
        self.process.terminate()
        said = self.process.communicate(timeout=20)[0]
        check("no output was driven and no board armed", "pulse_us" not in said and "state armed" not in said and "state running" not in said, said)


def identities(file):
    return [b.get("identity") for b in json.loads(file.read_text())["boards"]]


def with_identities(file, ids):
    rig = json.loads(file.read_text())
    for board, identity in zip(rig["boards"], ids):
        board["identity"] = identity
    file.write_text(json.dumps(rig, indent=4))


with tempfile.TemporaryDirectory() as folder:
    rig = pathlib.Path(folder) / "head.rig.json"
    rig.write_text((root / "shows/keeper.rig.json").read_text())
    before, count = rig.read_text(), len(identities(rig))
    with Boards(count) as port:
        adopt = ("adopt", rig, "--port", port)
        run(*adopt, expect=1, says=["no terminal", "--yes", "new: the rig knows no identity"])
        check("without a yes the file stays as it was", rig.read_text() == before)
        at_terminal("n\n" * count, *adopt)
        check("after a no the file stays as it was", rig.read_text() == before)

        run(*adopt, "--yes", says=["adopted board", "told no limits", "before the head can be armed"])
        own = identities(rig)
        check("each board has an identity of its own", len(set(own)) == count and all(re.fullmatch("[0-9A-F]{16}", i) for i in own), own)
        rest = json.loads(rig.read_text())
        for board in rest["boards"]:
            del board["identity"]
        check("nothing but identities changed", rest == json.loads(before))
        run("check", rig)
        saved = rig.read_text()
        run(*adopt, says=["as the rig knows it"])
        check("a rig that knows its boards is not written", rig.read_text() == saved)

        other = "FEDCBA9876543210"
        with_identities(rig, [own[0], other, *own[2:]])
        name = json.loads(rig.read_text())["boards"][1]["name"]
        run(*adopt, expect=1, says=["replaced: another board answers", other, own[1]])
        told = at_terminal("y\n", *adopt)
        check("at a terminal it asks for that board, by name, address and identity", f"adopt board {name} at address 1 with identity {own[1]}? [y/N]" in told, told)
        check("the replaced board is adopted, the others stay", identities(rig) == own)

        with_identities(rig, [own[1], own[0], *own[2:]])
        swapped = rig.read_text()
        run(*adopt, "--yes", "--board", name, expect=1, says=["swapped: board", "Adopt both"])
        check("half of a swap is not written", rig.read_text() == swapped)
        run(*adopt, "--yes", says=["swapped: board"])
        check("swapped boards are adopted where they are", identities(rig) == own)
        run(*adopt, "--board", "no such board", expect=2, says=["no such board"])

    with Boards(count - 1) as port:
        run("adopt", rig, "--port", port, "--yes", expect=1, says=["missing: it does not answer"])
        check("a missing board stays the rig's", identities(rig) == own)

finish()
