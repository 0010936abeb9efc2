#!/usr/bin/env python3
"""house.py ROOT: holds the tree to what DEVELOPERS.md says of the house: which folder may know which, which library is named where, what a header owes its
reader, and how long a file may be. Prints a line for each place that breaks it, with the rule; exits with 1 if there is one.

The rules are tables here, and tried on a made-up tree first: a check that finds nothing wrong in a wrong tree fails, too."""
import pathlib
import re
import sys
import tempfile

# Arrows run from a row to the rows below it, never sideways or up (DEVELOPERS.md, "The house").
ROWS = [{"app"}, {"editor"}, {"talk"}, {"perform", "store"}, {"live", "speech", "sound", "link"}, {"motion", "board"}, {"show", "wire"}]
THREADS_FROM = 5  # the rows above this one may use threads/, which itself knows nobody
# A library's headers, and the folders that may name them. What matches none of these must be the standard library's, or the system's.
LIBRARIES = {
    r"imgui|backends/imgui|GLFW/|epoxy/|X11/|dbus/": {"editor"},
    r"libserialport\.h": {"link"},
    r"rtmidi/|lo/": {"live"},
    r"cubeb/|sndfile\.h|samplerate\.h|ebur128\.h": {"sound"},
    r"pocketsphinx|sphinxbase/|flite/": {"speech"},
    r"espeak-ng/": {"speech/espeak"},
    r"cereal/": {"store"},
    r"CLI/": {"app"},
}
STANDARD_ALONE = {"show", "motion", "wire", "board"}  # not even the operating system's headers
SYSTEM = re.compile(r"(sys|netinet|arpa|net|linux)/|(unistd|fcntl|poll|netdb|termios|grp|sched|pthread|malloc|dlfcn|signal|ifaddrs|spawn|time)\.h$")
LONGEST = 440  # about 400


def row_of(folder):
    return next((n for n, row in enumerate(ROWS) if folder in row), None)


def may_know(folder, other):
    """Whether files of `folder` may include files of `other`."""
    if folder == other:
        return True
    if other == "threads":
        row = row_of(folder)
        return row is not None and row < THREADS_FROM
    if row_of(folder) is None or row_of(other) is None:
        return False
    return row_of(folder) < row_of(other)


OWN = re.compile(r"(?:(?:inline |static )?const(?:expr)? [\w:<>,&* ]*?\b(?P<value>k[A-Z]\w*) ?[={\[]|(?:struct|class|enum class|enum) (?P<type>\w+)|using (?P<alias>\w+ = [^;]+);"
                 r"|(?! )(?P<function>[\w:<>,&* ]+ \*?&?\w+\([^()]*\)(?: noexcept)?) \{)")


def own_names(line):
    """What a line of an unnamed namespace defines, as (name, meaning): two files may share a name only where an alias means the same."""
    own = OWN.match(line)
    if not own:
        return []
    if own["value"]:  # constexpr int kOne = 1, kTwo = 2;
        return [(name, None) for name in re.findall(r"\b(k[A-Z]\w*) ?[={\[]", line.split("//")[0])]
    if own["alias"]:
        return [(own["alias"].split()[0], own["alias"])]
    return [(own["type"] or own["function"], None)]


def names_twice(root, folder):
    """Lines for what two .cpp files of a folder both have in their unnamed namespaces. Builds from nothing compile files of a folder together (MIEN_BATCHES), where that can't be."""
    seen, found = {}, []
    for path in sorted(folder.glob("*.cpp")):
        inside = False
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1):
            inside = line == "namespace {" or (inside and not line.startswith("}  // namespace"))
            for name, meaning in own_names(line) if inside else []:
                first, meant = seen.setdefault(name, (path, meaning))
                if first != path and (meaning is None or meaning != meant):
                    found.append(f"{path.relative_to(root)}:{number}: {first.name} has '{name}', too, and both may be compiled together: share it in a header, or say by its name which it is")
    return found


def broken(root):
    """Lines "PLACE: RULE" for each thing below ROOT that breaks the house's rules."""
    src, found = root / "src", []
    known = {p.name for p in src.iterdir() if p.is_dir()}
    for folder in sorted(known - set().union(*ROWS) - {"threads"}):
        found.append(f"src/{folder}: no row of the arrows has this folder; give it one in DEVELOPERS.md and here")
    for path in sorted(p for p in src.rglob("*") if p.suffix in (".cpp", ".hpp")):
        place, folder = path.relative_to(root), path.relative_to(src).parts[0]
        deep = "/".join(path.relative_to(src).parts[:2])
        lines = path.read_text(encoding="utf-8").splitlines()
        if len(lines) > LONGEST:
            found.append(f"{place}: {len(lines)} lines; more than {LONGEST} are hard to read in a sitting")
        if path.suffix == ".hpp" and not (lines and lines[0].startswith("//")):
            found.append(f"{place}:1: a header begins by saying what it is for")
        if path.suffix == ".hpp" and "#pragma once" not in lines:
            found.append(f"{place}: #pragma once is missing")
        for number, line in enumerate(lines, 1):
            own = re.match(r'\s*#\s*include\s+"([^"]+)"', line)
            if own and "/" in own[1]:
                other = own[1].split("/")[0]
                if other in known and not may_know(folder, other):
                    found.append(f"{place}:{number}: {folder} may not know {other}")
            outer = re.match(r"\s*#\s*include\s+<([^>]+)>", line)
            if outer:
                for pattern, homes in LIBRARIES.items():
                    if re.match(pattern, outer[1]) and folder not in homes and deep not in homes:
                        found.append(f"{place}:{number}: <{outer[1]}> is named in {', '.join(sorted(homes))} alone")
                if folder in STANDARD_ALONE and SYSTEM.match(outer[1]):
                    found.append(f"{place}:{number}: {folder} knows no library but the standard one, and not the operating system")
    # What links is held to the same arrows: mien_folder(NAME mien_OTHER...).
    for path in sorted(src.glob("*/CMakeLists.txt")):
        for name, others in re.findall(r"mien_folder\((\w+)([^)]*)\)", path.read_text(encoding="utf-8")):
            for other in re.findall(r"\bmien_(\w+)", others):
                if other in known and not may_know(name, other):
                    found.append(f"{path.relative_to(root)}: {name} may not link {other}")
    for folder in sorted(p for top in (src, root / "tests") for p in top.rglob("*") if p.is_dir() and p != root / "tests/fuzz"):  # each fuzzer is a program of its own
        found += names_twice(root, folder)
    return found


def try_on_a_wrong_tree():
    """Each rule must find what breaks it, and nothing in a tree that keeps them."""
    def tree(files):
        with tempfile.TemporaryDirectory() as folder:
            root = pathlib.Path(folder)
            for name in {"show", "motion", "editor", "threads", "live"}:
                (root / "src" / name).mkdir(parents=True)
            for name, text in files.items():
                (root / name).parent.mkdir(parents=True, exist_ok=True)
                (root / name).write_text(text)
            return broken(root)

    right = {"src/show/show.hpp": "// What is authored.\n#pragma once\n#include <vector>\n", "src/motion/curve.cpp": '#include "show/show.hpp"\n',
             "src/motion/CMakeLists.txt": "mien_folder(motion mien_show)\n", "src/live/a.cpp": "namespace {\nusing K = A::K;\nint half(int n) {\n",
             "src/live/b.cpp": "namespace {\nusing K = A::K;\nint half(double x) {\n}\n}  // namespace\nstruct Row {};\n"}
    assert tree(right) == [], tree(right)
    wrong = {
        "up": {"src/show/a.cpp": '#include "motion/curve.hpp"\n'},
        "threads": {"src/motion/a.cpp": '#include "threads/ring.hpp"\n'},
        "library": {"src/live/a.cpp": "#include <imgui.h>\n"},
        "system": {"src/show/a.cpp": "#include <unistd.h>\n"},
        "links": {"src/show/CMakeLists.txt": "mien_folder(show mien_motion)\n"},
        "header": {"src/show/a.hpp": "#pragma once\n"},
        "once": {"src/show/a.hpp": "// What it is.\n"},
        "long": {"src/show/a.cpp": "\n" * (LONGEST + 1)},
        "one value twice": {"src/show/a.cpp": "namespace {\nconstexpr int kA = 1, kB = 2;\n}  // namespace\n", "src/show/b.cpp": "namespace {\nconstexpr double kB = 2;\n}  // namespace\n"},
        "one type twice": {"src/show/a.cpp": "namespace {\nstruct Row {};\n}  // namespace\n", "src/show/b.cpp": "namespace {\nclass Row;\n}  // namespace\n"},
        "one function twice": {"src/show/a.cpp": "namespace {\nint half(int n) { return n / 2; }\n}  // namespace\n", "src/show/b.cpp": "namespace {\nint half(int n) {\n"},
        "one alias, two meanings": {"src/live/c.cpp": "namespace {\nusing K = B::K;\n"},
        "new folder": {"src/cellar/a.cpp": "\n"},
    }
    for rule, files in wrong.items():
        assert len(tree(right | files)) == 1, f"the rule '{rule}' found {tree(right | files)} in a tree that breaks it once"


if __name__ == "__main__":
    if len(sys.argv) != 2:
        sys.exit("usage: house.py ROOT")
    try_on_a_wrong_tree()
    lines = broken(pathlib.Path(sys.argv[1]))
    print("\n".join(lines) if lines else "The house is in order.")
    sys.exit(bool(lines))
