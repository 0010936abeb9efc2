"""What the tests of the program as people run it share: their arguments (the program, the project's root, whatever else), checks that are told
one by one, and runs of the program. finish() ends the test, with 1 where a check failed."""
import os
import pathlib
import re
import subprocess
import sys
import threading
import traceback

mien, root = sys.argv[1], pathlib.Path(sys.argv[2])
failures = []


def check(what, true, more=""):
    print(("ok      " if true else "FAILED  ") + what, "" if true else more)
    if not true:
        failures.append(what)


def run(*words, timeout=120):
    return subprocess.run([mien, *map(str, words)], capture_output=True, text=True, timeout=timeout, stdin=subprocess.DEVNULL)


def run_expecting(*words, expect=0, says=()):
    """Checks the exit code and that standard output or error says so, a text or several; returns standard output."""
    done = run(*words)
    told = done.stdout + done.stderr
    check("mien " + " ".join(str(w) if len(str(w)) < 60 else "..." + str(w)[-40:] for w in words) + f" -> {expect}", done.returncode == expect, f"gave {done.returncode}: {told}")
    for text in [says] if isinstance(says, str) else says:
        check(f"  says {text!r}", text in told, told)
    return done.stdout


def fault(name, made, held):
    """A row for the table of tests/faults.sh: how often it was made, and as many losses as checks failed so far."""
    print(f"fault: {name}: made {made} times, lost {len(failures)}")
    if table := os.environ.get("MIEN_FAULTS"):
        with open(table, "a") as file:
            file.write(f"{name}\t{made}\t{len(failures)}\t{held}\t\n")


def together(*parts):
    """Runs parts of a test that mostly wait at the same time; one that breaks off has failed."""
    def run_part(part):
        try:
            part()
        except Exception:  # whatever it is, the others go on
            check(f"{part.__name__} comes to its end", False, traceback.format_exc())

    threads = [threading.Thread(target=run_part, args=(part,)) for part in parts]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()


PATIENCE_S = 60  # for a busy machine; nothing that goes well waits so long


class Told:
    """Lines of a process as they come; wait_for() ends with the first, from where the last wait ended, that matches."""

    def __init__(self, stream):
        self.lines, self.at, self.more = [], 0, threading.Condition()
        threading.Thread(target=self.read, args=(stream,), daemon=True).start()

    def read(self, stream):
        for line in stream:
            with self.more:
                self.lines.append(line.rstrip("\n"))
                self.more.notify()

    def wait_for(self, pattern):
        def found():
            while self.at < len(self.lines):
                self.at += 1
                if re.search(pattern, self.lines[self.at - 1]):
                    return True
            return False
        with self.more:
            came = self.more.wait_for(found, timeout=PATIENCE_S)
        check(f"says {pattern!r}", came, self.lines[-20:])
        return came


def finish():
    sys.exit(1 if failures else 0)
