#!/bin/bash
# The workbench: one servo of simulated boards, armed after its checklist, jogged to its ends, which go into the rig; travelled end to end; stopped.
set -euo pipefail
. "$(dirname "$0")/../hands.sh" 1366x768 build/pictures "$@"

cp "$root"/tests/samples/small.*.json .
start 1366 768 small.show.json --port sim:
await "the link" journal_has "link=ready"
press_until "^bench actuator" ctrl+b
click "bench/actuator eyes_yaw"
await "that one" journal_has "^bench actuator eyes_yaw"
await "boards that are told of it alone" shows "button/Arm…"
click "button/Arm…"
await "the checklist" shows "check/Horn off"
click "button/Arm this one servo"
sleep 0.5
journal_has "^arm one" && fail "it was armed before the checklist was gone through"
for line in "Horn off" "Supply limited" "Fingers and skin clear"; do click "check/$line"; done
picture 08-commission-checklist
click "button/Arm this one servo"
await "that it holds" shows "bench/doing Holds"

# A label begins with what it sets and goes on with what it is now.
click_one() { local name; name=$(cut -f1 "$journal.places" | grep -m1 -- "^button/$1"); click "$name"; }
jog() { xdotool key "$1"; await "that it moves" shows "bench/doing Moves"; await "that it holds" shows "bench/doing Holds"; }
jog ctrl+comma  # to the edge of the first band, 5 degrees below the middle
picture 08-commission
click_one Minimum
await "the minimum" journal_has "^edit Set minimum of eyes_yaw"
jog ctrl+period
jog period
click_one Rest
await "the rest" journal_has "^edit Set rest of eyes_yaw"
jog ctrl+period
click_one Maximum
await "the maximum" journal_has "^edit Set maximum of eyes_yaw"
xdotool key t
await "the travel test" journal_has "^bench travel"
sleep 0.5
picture 08-commission-travel
await "its end" journal_has "^edit Commission eyes_yaw"
press_until "^stop" Escape
await "silence" bash -c "tac '$journal' | grep -m1 '^state' | grep -q 'link=ready '"
press_until "^saved" ctrl+s
press_until "^bench left" ctrl+shift+b
picture 08-commission-done
quit
holds small.rig.json 'next(a for a in it["actuators"] if a["name"] == "eyes_yaw")["commissioned"] is True'
holds small.rig.json '(lambda a: a["min_deg"] < a["rest_deg"] < a["max_deg"] and abs(a["max_deg"] - a["min_deg"] - 10) < 0.01)(next(a for a in it["actuators"] if a["name"] == "eyes_yaw"))'
echo "commission: all well"
