#!/bin/bash
# A head that is armed and played by hand: Stop in every state; a knob learned, a take recorded and kept as keys.
set -euo pipefail
. "$(dirname "$0")/../hands.sh" 1600x900 build/pictures "$@"

knobs=$(dirname "$program")/tests/editor/mien_knobs
cp "$root"/tests/samples/small.*.json .
if [ -x "$knobs" ] && command -v jackd >/dev/null; then
  coproc KNOBS { exec "$knobs" "Slide Eight" 2>knobs.said; }
  read -r -t 60 _ JACK_DEFAULT_SERVER <&"${KNOBS[0]}" || fail "no controller: $(cat knobs.said)"
  export JACK_DEFAULT_SERVER JACK_NO_START_SERVER=1 JACK_NO_AUDIO_RESERVATION=1
else
  knobs=
fi
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
if [ -z "$knobs" ]; then
  quit
  echo "live-take: without jackd and its client nothing is played; the rest is well"
  exit 0
fi

# 1,000 ms up and down again on controller 7.
sweep() { for v in $(seq 0 10 120) $(seq 120 -10 0); do printf 'B0 07 %02X\n' "$v" >&"${KNOBS[1]}"; sleep 0.04; done; }
click "button/Arm…"
click button/Arm
await "armed once more" link_is armed
read -r -t 60 connected <&"${KNOBS[0]}" && [ "$connected" = connected ] || fail "the editor doesn't hear the controller: $(cat knobs.said)"
click lane/smile/name
xdotool key shift+l
await "the hands' panel" shows action/hands_record
sleep 0.5
printf 'B0 07 02\n' >&"${KNOBS[1]}"; sleep 0.1; printf 'B0 07 04\n' >&"${KNOBS[1]}"
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
