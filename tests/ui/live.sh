#!/bin/bash
# Hands in the real window, under a virtual screen: a scripted controller plays through a JACK server without sound, a knob is learned, a take is recorded over the demo's
# sound, kept as keys, saved; then 'mien render' and 'mien play' perform the same motion. Skipped, saying why, where there is no jackd.
#   bash tests/ui/live.sh PROGRAM [PICTURES-FOLDER]
set -euo pipefail
. "$(dirname "$0")/hands.sh" 1366x768 build/pictures "$@"

begin_controller "Bench Slider" || exit 77
cp "$root"/shows/keeper.{rig.json,show.json,ogg,TextGrid,visemes.txt} "$work"  # without its map: the knob is to be learned
start 1366 768 "$work/keeper.show.json"
journal_has "opened" || fail "the show did not open"
xdotool key ctrl+h
await "the hands' panel" shows given/mouth

await_controller

xdotool key shift+l  # for brow_raise_left, the first of the channels
sleep 0.3
plays "B0 07 01" "wait 0.1" "B0 07 00"
await "the knob" journal_has "^map 1 knobs"
grep -q '"controller 7"' "$work/keeper.map.json" || fail "the learned knob is not in the map's file"
click knob/0/more
click field/knob_smooth
xdotool key ctrl+a; xdotool type 40; xdotool key Return
await "its smoothing" grep -q '"smoothing_ms": 40.0' "$work/keeper.map.json"
picture 40-a-learned-knob

# From the show's beginning: count-in, then the slider up and down, and held half way.
xdotool key Home
xdotool key shift+r
await "recording" journal_has "^record"
plays "wait 0.5" "$(for v in $(seq 0 127) $(seq 126 -1 64); do printf 'B0 07 %02X\nwait 0.01\n' "$v"; done)" "wait 1"
sleep 4.5
picture 41-recording
xdotool key shift+r
await "the take" journal_has "^recorded 1 takes"
[ -s "$work/keeper.take.json" ] || fail "the raw take is not kept"
xdotool key space  # the show goes on after a punch out
click take/0/keep
await "the take as keys" journal_has "^edit Keep take 1"
picture 42-kept
xdotool key ctrl+s
await "the save" journal_has "^saved $work/keeper.show.json"
quit
end_controller

# What was kept is what the hand did, and what boards get.
python3 "$root/tests/ui/live_judge.py" "$program" "$root" "$work" || fail "the kept take is not the motion that was played"

# The keeper on duty: cues by pad and key, on the board and in the list.
cp "$root"/shows/duty.show.json "$work"
start 1366 768 "$work/duty.show.json"
xdotool key F7
await "the cue board" shows cue/Joy
click cue/Joy
await "joy" journal_has "^cue Joy: playing"
xdotool key w
await "the welcome" journal_has "^cue Welcome: playing"
sleep 1
picture 43-cue-board
click cue/Joy
await "joy's end" journal_has "^cue Joy: ready"
xdotool key shift+F7
await "the welcome's end" journal_has "^cue Welcome: pausing"
click "action/cue_board"
xdotool key ctrl+shift+u
await "the list of cues" shows "row/cue/A moth"
click "row/cue/A moth"
sleep 0.3
picture 44-cue-list
quit
cmp -s "$root/shows/duty.show.json" "$work/duty.show.json" || fail "asking for cues changed the show"
echo "live: all well; pictures in $pictures"
