#!/usr/bin/env python3
"""includes.py BUILD_TREE: each file that was built with precompiled headers names what it needs itself, too. Exit 77 where nothing was built with them."""
import json
import os
import shlex
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor

commands = [c for c in json.load(open(os.path.join(sys.argv[1], "compile_commands.json"))) if "cmake_pch" in c["command"] and "cmake_pch.hxx." not in c["file"]]
if not commands:
    print("Nothing here was built with precompiled headers (MIEN_PRECOMPILE), so the build itself has shown it.")
    sys.exit(77)


def alone(command):
    words = shlex.split(command["command"])
    at = words.index("-Winvalid-pch")
    words[at:at + 3] = ["-fsyntax-only"]  # with "-include cmake_pch.hxx", which CMake puts behind it
    result = subprocess.run(words, cwd=command["directory"], capture_output=True, text=True)
    return command["file"], result.returncode, result.stderr


bad = 0
with ThreadPoolExecutor(os.cpu_count()) as pool:
    for file, code, said in pool.map(alone, commands):
        if code:
            bad += 1
            print(f"{file} needs a header that it doesn't name:\n" + "\n".join(said.splitlines()[:6]))
print(f"{len(commands)} files looked at, {bad} of them lean on others' headers.")
sys.exit(bad > 0)
