#!/bin/bash
# A show that asks for too much: found while it opens, mended one at a time and all at once, and back by one undo.
set -euo pipefail
. "$(dirname "$0")/../hands.sh" 1366x768 build/pictures "$@"

cp "$root"/shows/keeper.rig.json "$root"/shows/keeper.ogg "$root"/shows/hurried.show.json .
"$program" check hurried.show.json >before.txt && fail "the show has no findings to mend"
start 1366 768 hurried.show.json
await "the findings" journal_has "^findings [1-9]"
count=$(grep -m1 "^findings" "$journal" | cut -d' ' -f2)
click button/findings
await "their list" shows row/0
xdotool key n
await "the first finding" journal_has "^seek"
picture 06-findings-and-cure
click "row/0/arrive"
await "one mended finding" journal_has "^edit Make it arrive"
xdotool key ctrl+z
await "undo of the one" newest_is findings "$count"
click "button/Make all arrive"
await "the mended show" journal_has "^edit Make all arrive"
await "a clean study" newest_is findings 0
picture 06-findings-and-cure-arrived
xdotool key ctrl+z
await "undo of it all" newest_is findings "$count"
[ "$(said "^undo")" -eq 2 ] || fail "making all arrive took more than one undo"
xdotool key ctrl+shift+z
await "redo of it all" newest_is findings 0
press_until "^saved" ctrl+s
quit
"$program" check hurried.show.json || fail "the saved show has findings still"
echo "findings-and-cure: all well"
