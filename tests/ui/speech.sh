#!/bin/bash
# From a recording and a text to a talking head in the real window: three clicks. Leaves pictures to look at.
#   bash tests/ui/speech.sh PROGRAM [FOLDER]
set -euo pipefail
. "$(dirname "$0")/hands.sh" 1600x900 build/pictures "$@"

cp "$root"/shows/keeper.{show.json,rig.json,visemes.txt,ogg,txt} "$work"
"$program" layer remove "$work/keeper.show.json" speech --out "$work/line.show.json"
start 1600 900 "$work/line.show.json" --theme "${THEME:-dark}"
await "the sound" journal_has "^sounds 1"
await "the study" journal_has "^findings"
hides timeline/words || fail "words before anything was said"
xdotool key ctrl+alt+s
await "the dialog" shows "button/Make it speak"
sleep 0.5
picture 30-speak-dialog
click "button/Make it speak"
await "the words" journal_has "^spoke: "
if journal_has "^spoke: .*nstall"; then echo "skipped: $(grep '^spoke' "$journal")"; exit 0; fi
journal_has "^spoke: 30 words" || fail "not the line's 30 words"
await "the step" journal_has "edit Speak keeper.ogg"
await "the lane" shows timeline/words
xdotool key ctrl+s
await "the save" journal_has "^saved"
[ -s "$work/keeper.TextGrid" ] || fail "no TextGrid beside the show"
picture 31-spoken
# The layer's own keys, by frequency, a few words wide.
open_layer speech
xdotool key ctrl+alt+f
point timeline/words
for _ in 1 2 3 4 5 6; do xdotool click 4; sleep 0.1; done
sleep 1.5
xdotool mousemove 620 260
picture 32-layer
xdotool key ctrl+alt+w
await "the sounds" shows field/sound_gain_0
picture 33-sounds
# Undo takes the keys and the words back; a show without them is saved again.
xdotool key ctrl+z
await "the undo" journal_has "^undo Speak keeper.ogg"
await "no words" hides timeline/words
xdotool key ctrl+s
sleep 0.5
quit
"$program" layer list "$work/line.show.json" | grep -q '^speech ' && fail "the undone layer was saved"
exit 0
