"""What the tests of the program as people run it share: their arguments (the program, the project's root, whatever else), checks that are told
one by one, and runs of the program. finish() ends the test, with 1 where a check failed."""
import os
import pathlib
import subprocess
import sys

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


def finish():
    sys.exit(1 if failures else 0)
