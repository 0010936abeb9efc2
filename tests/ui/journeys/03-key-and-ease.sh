#!/bin/bash
# One journey through the real window, under a virtual screen: open, drag a key, undo, scrub, play, arm, stop, save as, reopen;
# then a show that asks for too much, made to arrive.
# Asserts on what the program wrote (its journal, the saved file), and leaves pictures for people to look at.
#   bash tests/ui/journey.sh PROGRAM [PICTURES-FOLDER]
set -euo pipefail
. "$(dirname "$0")/hands.sh" 1366x768 build/pictures "$@"

cp "$root"/tests/samples/small.*.json "$work"
start 1366 768 "$work/small.show.json"
journal_has "opened" || fail "the show did not open"
picture 01-open

drag key/mouth_open/1 60 0 02-dragging-a-key
await "the key's move" journal_has "edit Move key"
xdotool key ctrl+z
await "undo" journal_has "undo Move key"
click key/mouth_open/2
picture 03-chosen-key
drag timeline/ruler -200 0
xdotool key space
await "playing" journal_has "playing"
picture 04-playing
xdotool key space
await "pause" journal_has "^pause"

click "button/Connect…"
await "the port dialog" shows "port/sim:"
picture 05-connect
click port/sim:
await "the link" journal_has "link=ready"
click "button/Arm…"
await "the question" shows button/Arm
picture 06-arm
click button/Arm
await "arming" journal_has "link=armed"
picture 07-live
xdotool key Escape
await "stop" journal_has "^stop"
await "the link's obedience" bash -c "tail -n +1 '$journal' | tac | grep -m1 '^state' | grep -q link=ready"
picture 08-stopped
click "button/Arm…"
click button/Arm
await "armed again" bash -c "tac '$journal' | grep -m1 '^state' | grep -q link=armed"
xdotool key F1
await "the list of keys" shows button/Close
picture 09-keys-and-hands
click button/Stop
await "Stop with a dialog open" bash -c "tac '$journal' | grep -m1 '^state' | grep -q link=ready"
xdotool key Escape
await "the dialog's end" hides button/Close

drag key/mouth_open/1 90 0
await "the second move" bash -c "[ \$(grep -c 'edit Move key' '$journal') -eq 2 ]"
xdotool key ctrl+shift+s
await "the path dialog" shows field/path
picture 10-save-as
xdotool key ctrl+a; xdotool type "$work/again.show.json"; xdotool key Return
await "the save" journal_has "saved $work/again.show.json"
cmp -s "$work/small.show.json" "$work/again.show.json" && fail "the saved show is the old one"
changed=$(diff "$work/small.show.json" "$work/again.show.json" | grep -c '^>' || true)
[ "$changed" -le 2 ] || fail "moving one key changed $changed lines of the file"

quit
start 1366 768 "$work/again.show.json" --theme light
journal_has "opened $work/again.show.json" || fail "the saved show did not open"
picture 11-light
kill -TERM "$editor"
wait "$editor" || fail "SIGTERM ended the editor with exit code $?"
editor=

# The demo itself: its rig of three boards, its voice's waveform, a key of a busy lane.
cp "$root"/shows/keeper.* "$work"
start 1366 768 "$work/keeper.show.json" --port sim:
await "the link to three boards" journal_has "link=ready"
drag key/brow_frown/1 40 0 12-demo-dragging-a-key
await "the demo key's move" journal_has "edit Move key"
xdotool key ctrl+z
await "the demo's undo" journal_has "undo Move key"
drag timeline/ruler 120 0
picture 13-demo
quit
cmp -s "$root/shows/keeper.show.json" "$work/keeper.show.json" || fail "a move that was undone changed the demo's file"

# The show that asks for too much: found while it opens, mended by one command, and back by one undo.
cp "$root"/shows/hurried.show.json "$work"
start 1366 768 "$work/hurried.show.json"
await "the findings" journal_has "^findings [1-9]"
count=$(grep -m1 "^findings" "$journal" | cut -d' ' -f2)
click button/findings
await "their list" shows row/0
picture 14-findings
xdotool key n
await "the first finding" journal_has "^seek"
click "button/Make all arrive"
await "the mended show" journal_has "^edit Make all arrive"
await "a clean study" newest_is findings 0
picture 15-arrived
xdotool key ctrl+z
await "undo of it all" newest_is findings "$count"
[ "$(grep -c "^undo" "$journal")" -eq 1 ] || fail "making all arrive took more than one undo"
click row/0/arrive
await "one mended finding" journal_has "^edit Make it arrive"
xdotool key ctrl+z
await "undo of the one" newest_is findings "$count"
picture 16-undone
quit
echo "journey: all well; pictures in $pictures"
