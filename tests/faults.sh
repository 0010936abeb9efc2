#!/usr/bin/env bash
# faults.sh [--long] [--readme]: breaks things on purpose (kills saves, fills disks, pulls cables, jumps clocks, kills the display under a performance) and prints what was broken,
# how often, and what was lost by it. A minute; ends with 1 where anything was lost. The rows are what the tests themselves count (tests/support/fault.hpp).
#   --long    24 simulated hours on duty instead of half an hour, and the display ten times over: four minutes
#   --readme  writes the table into README.md
set -euo pipefail
cd "$(dirname "$0")/.."
long='' readme=''
for word; do
  case $word in
    --long) long=1 ;;
    --readme) readme=1 ;;
    *) sed -n 2,6p "$0"; exit 2 ;;
  esac
done
bash third_party/install.sh test
mkdir -p build
{ cmake --preset release && cmake --build --preset release --target mien mien_clock_jump test_store test_link test_perform test_editor; } >build/faults.log 2>&1 || { tail -n 20 build/faults.log; exit 2; }
export MIEN_FAULTS=$PWD/build/faults.tsv
: >"$MIEN_FAULTS"
code=0 begun=$SECONDS
if [[ $long ]]; then
  ctest --preset release -L faults -E 'CuesForHalfAnHour|display_gone' >>build/faults.log 2>&1 || code=1
  ctest --preset release -R 'CuesForADay' >>build/faults.log 2>&1 || code=1
  bash tests/ui/display_gone.sh build/release/mien build/pictures 10 >>build/faults.log 2>&1 || code=1
else
  ctest --preset release -L faults >>build/faults.log 2>&1 || code=1
fi
python3 - "$readme" "$long" "$code" "$((SECONDS - begun))" <<'PYTHON'
import collections, os, sys

readme, long, code, took_s = sys.argv[1], sys.argv[2], int(sys.argv[3]), int(sys.argv[4])
rows = collections.OrderedDict()
for line in sorted(open(os.environ["MIEN_FAULTS"]), key=lambda text: text.lower().lstrip("`")):
    name, made, lost, held, why_not = line.rstrip("\n").split("\t")
    row = rows.setdefault(name, [0, 0, held, why_not])
    row[0] += int(made)
    row[1] += int(lost)


def said(made, lost, why_not):
    return f"LOST: {lost}" if lost else f"not made here: {why_not}" if not made else "nothing"


table = ["| what was broken | how often | what had to come through | what was lost |", "|---|---|---|---|"]
table += [f"| {name} | {made:,} | {held} | {said(made, lost, why_not)} |" for name, (made, lost, held, why_not) in rows.items()]
print("\n".join(table))
if code or not rows:
    print("\nNot all is well; what failed stands in build/faults.log.")
if readme and not code:
    text = open("README.md").read()
    head = "## What was broken on purpose\n\n"
    begin = text.index(head) + len(head)
    end = text.index("\n\n## ", begin)
    intro = f"`bash tests/faults.sh{' --long' if long else ''}` breaks all of this for real, counts, and ends with 1 where anything is lost (`--readme` wrote this table, after {took_s} s on {os.cpu_count()} cores):"
    open("README.md", "w").write(text[:begin] + "\n".join([intro, ""] + table) + text[end:])
sys.exit(code or not rows)
PYTHON
