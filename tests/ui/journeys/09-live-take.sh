#!/bin/bash
# A head that is armed and played by hand: Stop in every state; a knob learned, a take recorded and kept as keys.
set -euo pipefail
. "$(dirname "$0")/../hands.sh" 1600x900 build/pictures "$@"

cp "$root"/tests/samples/small.*.json .
plays_here=
if begin_controller "Slide Eight"; then plays_here=1; fi
link_is() { tac "$journal" | grep -m1 '^state' | grep -q "link=$1 "; }

start 1600 900 small.show.json
click "button/Connect…"
await "the port dialog" shows "port/sim:"
picture 09-live-take-connect
click port/sim:
await "the link" link_is ready
click "button/Arm…"
await "the question" shows button/Arm
picture 09-live-take-arm
click button/Arm
await "arming" link_is armed
press_until "^stop" Escape
await "the link's obedience" link_is ready
click "button/Arm…"
click button/Arm
await "armed again" link_is armed
xdotool key F1
await "the list of keys" shows button/Close
picture 09-live-take-stop-is-in-reach
click button/Stop
await "Stop with a dialog open" link_is ready
xdotool key Escape
await "the dialog's end" hides button/Close
if [ -z "$plays_here" ]; then
  quit
  echo "live-take: nothing is played; the rest is well"
  exit 0
fi

# Up on controller 7, half a second at the top, so that a JACK server that stumbles on a busy machine does not hide it, and down again: the show is 4 s long.
sweep() { for v in $(seq 0 20 120) 127{,,,}{,,,} $(seq 120 -20 0); do plays "$(printf 'B0 07 %02X' "$v")"; sleep 0.04; done; }
click "button/Arm…"
click button/Arm
await "armed once more" link_is armed
await_controller
click lane/smile/name
xdotool key shift+l
await "the hands' panel" shows action/hands_record
sleep 0.5
plays "B0 07 02" "wait 0.1" "B0 07 04"
await "the learned knob" journal_has "^map 1 knobs"
xdotool key Home
xdotool key shift+r
sleep 1
picture 09-live-take-count-in
await "recording" journal_has "^record$"
sweep
picture 09-live-take
press_until "^recorded 1 takes" shift+r
press_until "^pause" space
click take/0/keep
await "the take's keys" journal_has "^edit Keep take 1"
picture 09-live-take-kept
press_until "^stop" Escape
await "the link's obedience" link_is ready
press_until "^saved" ctrl+s
quit
holds small.show.json 'len(keys("smile")) >= 3 and max(float(k[1]) for k in keys("smile")) > 0.8'
holds small.take.json 'True'
[ -f small.map.json ] || fail "the map is not kept beside the rig"
echo "live-take: all well"
