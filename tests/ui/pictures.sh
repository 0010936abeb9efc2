#!/bin/bash
# Makes the README's pictures of the window from the shows in shows/, under a virtual screen.
#   bash tests/ui/pictures.sh PROGRAM [FOLDER]
set -euo pipefail
. "$(dirname "$0")/hands.sh" 1600x900 assets "$@"

cp "$root"/shows/*.json "$root"/shows/keeper.ogg "$root"/shows/keeper.TextGrid .
start 1600 900 "$work/keeper.show.json" --port sim:
await "the link to three boards" journal_has "link=ready"
await "the sound" journal_has "^sounds 1"
await "the study" journal_has "^findings"
drag timeline/ruler -324 0  # between two blinks
xdotool mousemove 620 260
picture editor
quit

# A few words of its line: the sound by frequency, words, phones, and the keys of the layer that speaks it.
start 1600 900 "$work/keeper.show.json" --theme "${THEME:-dark}"
await "the sound" journal_has "^sounds 1"
await "the study" journal_has "^findings"
open_layer speech
xdotool key ctrl+alt+f
for group in Layers brows lids eyes; do click "group/$group/name"; done
sleep 0.5
xdotool mousemove $(awk -F'\t' '$1 == "timeline/words" { printf "%d %d", $2 + ($4 - $2) * 0.27, ($3 + $5) / 2 }' "$journal.places")
for _ in 1 2 3 4 5 6 7; do xdotool click 4; sleep 0.15; done
xdotool mousemove $(awk -F'\t' '$1 == "timeline/ruler" { printf "%d %d", $2 + ($4 - $2) * 0.385, ($3 + $5) / 2 }' "$journal.places") click 1
point group/mouth/name
for _ in 1 2 3 4; do xdotool click 5; sleep 0.1; done
sleep 1
xdotool mousemove 620 160
picture speech
quit

# The same show with the library of looks, a placed clip and idle life; the list of poses beside the lanes.
"$program" clip import "$work/keeper.show.json" "$work/keeper.clips.json" --out "$work/looks.show.json"
"$program" clip place "$work/looks.show.json" wink --layer winks --at 6 --fade-in 0.1 --out "$work/looks.show.json"
"$program" layer idle "$work/looks.show.json" life --seed 7 --manner listening --out "$work/looks.show.json"
start 1600 900 "$work/looks.show.json" --theme "${THEME:-dark}"
await "the study" journal_has "^findings"
xdotool key p
await "the poses" shows pose/joy
xdotool mousemove 620 260
sleep 2  # until every face is drawn
picture poses
quit

# Its first seconds, where a gaze jumps, at the finding that asks for more than the travel.
start 1600 900 "$work/hurried.show.json" --theme "${THEME:-dark}"
await "the study" journal_has "^findings [1-9]"
click button/findings
await "the list" shows row/0
xdotool mousemove $(awk -F'\t' '$1 == "curve/plot" { printf "%d %d", $2 + ($4 - $2) * 0.24, ($3 + $5) / 2 }' "$journal.places")
for _ in 1 2 3 4; do xdotool click 4; sleep 0.1; done
for _ in $(seq "${STEPS:-1}"); do xdotool key n; sleep 0.2; done
await "a finding's channel" journal_has "^seek"
xdotool key g
if [ -n "${HOVER:-}" ]; then point "$HOVER"; else xdotool mousemove 620 260; fi
picture findings
quit

# One servo at the workbench, armed by itself, 4 degrees from where it began.
start 1600 900 "$work/keeper.show.json" --theme "${THEME:-dark}" --port sim:
await "the link to three boards" journal_has "link=ready"
press_until "^bench actuator" ctrl+b
click "button/Arm…"
for line in "Horn off" "Supply limited" "Fingers and skin clear"; do click "check/$line"; done
click "button/Arm this one servo"
await "that it holds" shows "bench/doing Holds"
for _ in 1 2 3 4; do xdotool key period; await "that it moves" shows "bench/doing Moves"; await "that it holds" shows "bench/doing Holds"; done
picture workbench
press_until "^stop" Escape
press_until "^bench left" ctrl+shift+b
quit
