#!/usr/bin/env python3
"""includes.py: each file that the build compiles in a batch with others (MIEN_BATCHES) names what it needs itself, too. Exit 77 where nothing was built so."""
import json
import os
import pathlib
import shlex
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor

root = pathlib.Path(__file__).resolve().parents[2]
tree = subprocess.run(["bash", root / "tests/house/one_by_one.sh"], capture_output=True, text=True, check=True).stdout.strip()
if tree == "build/release":
    print("Nothing here was built in batches, so the build itself has shown it.")
    sys.exit(77)


def alone(command):
    result = subprocess.run([*shlex.split(command["command"]), "-fsyntax-only"], cwd=command["directory"], capture_output=True, text=True)
    return command["file"], result.returncode, result.stderr


commands = json.loads((root / tree / "compile_commands.json").read_text())
bad = 0
with ThreadPoolExecutor(os.cpu_count()) as pool:
    for file, code, said in pool.map(alone, commands):
        if code:
            bad += 1
            print(f"{file} leans on another's headers, or names:\n" + "\n".join(said.splitlines()[:6]))
print(f"{len(commands)} files looked at, {bad} of them can't stand alone.")
sys.exit(bad > 0)
