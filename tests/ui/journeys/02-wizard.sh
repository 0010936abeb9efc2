#!/bin/bash
# From nothing to a preview that moves: a list of servos pasted, a head made of it, its first two keys.
set -euo pipefail
. "$(dirname "$0")/../hands.sh" 1366x768 build/pictures "$@"

start 1366 768
click action/new_head
await "the new head" shows field/table
picture 02-wizard-empty
fill_in head_name "Moth"
click field/table
sleep 0.2
for line in name,min_deg,max_deg "left upper lid,," "left lower lid,," "right upper lid,," "right lower lid,," jaw,-2,28; do
  xdotool type --delay 20 "$line"; xdotool key Return
done
fill_in supply 5
await "that it can be made" hides "button/Begin with an example"
sleep 5  # until all of it is typed
picture 02-wizard
click "button/Make the head"
await "the head" journal_has "^opened $work/Moth.show.json"
"$program" check Moth.show.json >/dev/null || fail "the new head is not fine"
"$program" describe Moth.rig.json >described.txt
for servo in "left upper lid" "right lower lid" jaw; do grep -q "$servo" described.txt || fail "the rig has no $servo"; done

# The jaw opens within half a second.
await "the jaw's lane" shows lane/jaw_open/name
click lane/jaw_open/name
press_until "^edit" k
drag timeline/ruler -400 0
press_until "^edit" k
fill_in value 1
press_until "playing" space
sleep 0.4
picture 02-wizard-moving
press_until "^pause" space
press_until "^saved" ctrl+s
quit
holds Moth.show.json 'len(keys("jaw_open")) == 2 and float(keys("jaw_open")[1][1]) == 1'
"$program" render Moth.show.json --out ticks.csv
python3 - <<'PYTHON' || fail "the jaw doesn't move in what the boards would get"
import csv
rows = [r for r in csv.DictReader(open("ticks.csv"))]
setpoints = [float(v) for r in rows for k, v in r.items() if k.startswith("jaw") and "setpoint" in k] or [float(r["setpoint_deg"]) for r in rows if r.get("actuator") == "jaw"]
assert max(setpoints) - min(setpoints) > 10, (rows[0], len(setpoints))
PYTHON
echo "wizard: all well"
