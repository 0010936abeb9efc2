#!/bin/bash
# The first hour of shows/README.md, word for word: each step is held to the sentence that stands there, and none may be left out.
set -euo pipefail
. "$(dirname "$0")/../hands.sh" 1600x900 build/pictures "$@"

mapfile -t told < <(sed -n '/^## The first hour/,$p' "$root/shows/README.md" | sed -nE 's/^[0-9]+\. //p')
at=0
step() {
  [ "${told[$at]-}" = "$1" ] || fail "shows/README.md says in step $((at + 1)): ${told[$at]-nothing}; and here it is: $1"
  at=$((at + 1))
}
part() { sed -n '/^## The first hour/,$p' "$root/shows/README.md" | sed -n "$1"; }

step 'Make a folder, go there, and start Mien: `mkdir moth; cd moth; ../build/release/mien`, with the path that Mien has for you.'
mkdir moth; cd moth
start 1600 900
step 'The window says *No show is open*; click *New head*.'
click action/new_head
step 'Click into *Name of the head*, press Ctrl+A, and type `Moth`.'
click field/head_name; xdotool key ctrl+a; xdotool type --delay 20 Moth
step 'Click into the field after *outputs of each*, the amperes that the supply is rated for, press Ctrl+A, and type `10`.'
click field/supply; xdotool key ctrl+a; xdotool type --delay 20 10
step 'Click into the large field *Servos* and type the lines of the list below, with Enter after each.'
click field/table
part '/^```$/,/^```$/{/^```$/d;p}' | while IFS= read -r line; do xdotool type --delay 20 "$line"; xdotool key Return; done
step 'Read *What becomes of it*: nine servos, thirteen controls. Click *Make the head*.'
sleep 6  # until all of it is typed
picture 11-first-hour-head
click "button/Make the head"
await "the head" journal_has "^opened $work/moth/Moth.show.json"
[ -f Moth.rig.json ] || fail "there is no rig"

step 'Click the name of the group *brows*, so that its lanes fold away.'
click group/brows/name
await "that they are folded" hides lane/brow_frown
step 'For each row of the table below: click the lane'"'"'s name where it is another one than before, press K for a key at the playhead, click into *Time, s*, type the time, press Enter, click into *Value*, type the value, press Enter.'
mapfile -t rows < <(part '/^|/{s/[|]/ /g;p}' | sed 1,2d)
[ ${#rows[@]} -eq 16 ] || fail "the table has ${#rows[@]} rows"
before=''
for row in "${rows[@]}"; do
  read -r lane time value <<<"$row"
  if [ "$lane" != "$before" ]; then click "lane/$lane/name"; sleep 0.3; fi
  before=$lane
  press_until "^edit Set key" k
  edits=$(said "^edit")
  click field/time; xdotool type --delay 20 "$time"; xdotool key Return
  await "key $lane at $time" said_more "^edit" "$edits"
  edits=$(said "^edit")
  click field/value; xdotool type --delay 20 "$value"; xdotool key Return
  [ "$value" = 0 ] || await "value of $lane at $time" said_more "^edit" "$edits"
done
step 'In the menu *Compose*, click *Add idle life*: between your keys the head now blinks and glances by itself.'
click menu/Compose
click item/layer_idle
await "idle life" journal_has "^edit Add idle life"
step 'Press Home, then Space, and watch; Space again ends it.'
xdotool key Home; press_until "playing" space
sleep 2
picture 11-first-hour-scene
press_until "^pause" space
step 'The jaw is asked for more than it can do, and the button at the right says how many findings there are; press Shift+A for *Make all arrive*, and it says *No findings*.'
await "findings" bash -c "tac '$journal' | grep -m1 '^findings' | grep -q '[1-9]'"
press_until "^edit Make all arrive" shift+a
await "no findings" newest_is findings 0
step 'Press Ctrl+S.'
press_until "^saved" ctrl+s

step 'Click *Connect*, then *sim:*, boards that are simulated inside the program.'
click "button/Connect…"
click port/sim:
await "the link" journal_has "link=ready"
step 'Click *Arm*, read what the window asks, and click *Arm* again: the frame round the head says that it is live.'
click "button/Arm…"
click button/Arm
await "arming" journal_has "link=armed word=Live"
step 'Press Home, then Space: this is the performance.'
xdotool key Home; press_until "playing" space
sleep 5
picture 11-first-hour-performance
step 'When its ten seconds are over, press Esc, which is Stop in every part of the window.'
await "its end" bash -c "tac '$journal' | grep -m1 '^state' | grep -q paused"
press_until "^stop" Escape
await "silence" bash -c "tac '$journal' | grep -m1 '^state' | grep -q 'link=ready '"
step 'Press Ctrl+Q.'
quit
[ $at -eq ${#told[@]} ] || fail "shows/README.md has ${#told[@]} steps, and only $at were taken"

"$program" check Moth.show.json || fail "the scene has findings"
holds Moth.show.json 'len(keys("gaze_yaw")) == 4 and len(keys("jaw_open")) >= 4 and len(keys("smile_left")) == 4 and len(keys("smile_right")) == 4'
holds Moth.show.json 'float(keys("smile_right")[1][0]) == 7.3 and float(keys("smile_right")[1][1]) == 0.8 and it["length_s"] == "10" and "idle" in json.dumps(it["layers"])'
# The command that the README gives for a performance without a window.
"$program" play Moth.show.json --port sim: --mute >played.txt 2>&1 || { cat played.txt >&2; fail "mien play ended badly"; }
echo "first-hour: all well"
