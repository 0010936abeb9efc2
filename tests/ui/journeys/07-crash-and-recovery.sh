#!/bin/bash
# What stands around the timeline, in the real window under a virtual screen: a crash and its recovery, actions by name, a changed key, larger
# text, recent shows, and a head from nothing. Asserts on journal and files, and leaves pictures.
#   bash tests/ui/around.sh PROGRAM [PICTURES-FOLDER]
set -euo pipefail
. "$(dirname "$0")/hands.sh" 1366x768 build/pictures "$@"

# A crash: two edits, then kill -9 two seconds after the last.
cp "$root"/tests/samples/small.*.json "$work"
start 1366 768 "$work/small.show.json"
drag key/mouth_open/1 60 0
await "the first edit" journal_has "edit Move key"
drag key/mouth_open/2 40 0
await "the second edit" bash -c "[ \$(grep -c 'edit Move key' '$journal') -eq 2 ]"
sleep 2
kill -9 "$editor"
wait "$editor" && fail "a killed editor ended well"
editor=
cmp -s "$root/tests/samples/small.show.json" "$work/small.show.json" || fail "a crash changed the show's file"

start 1366 768
await "the offer" shows "button/Bring it back"
picture 20-crash-and-recovery
click "button/Bring it back"
await "the recovered show" journal_has "^recovered 2 edits"
xdotool key ctrl+s
await "its save" journal_has "^saved $work/small.show.json"
cmp -s "$root/tests/samples/small.show.json" "$work/small.show.json" && fail "the recovered edits are not in the file"

# Actions by name, and a key of one's own.
xdotool key F2
await "the palette" shows field/palette
picture 21-actions-by-name
xdotool type "key"
await "what has the word" hides palette/save
picture 22-actions-found
xdotool key ctrl+a; xdotool type "loop on"
await "the loop" shows palette/loop/key
click palette/loop/key
sleep 0.3
xdotool key ctrl+s
picture 23-a-key-that-is-taken
xdotool key shift+j
await "the new key" journal_has "^key loop Shift+J"
grep -qx "loop = Shift+J" "$work/config/mien/keys" || fail "the file of keys doesn't have it"
xdotool key Escape
await "the palette's end" hides field/palette
xdotool key shift+j
await "a loop by the new key" journal_has "^edit .*[Ll]oop"
xdotool key F1
await "the list of keys" shows button/Close
picture 24-keys-changed
xdotool key Escape
await "the list's end" hides button/Close

# Larger text, and light.
xdotool key ctrl+equal
await "larger text" journal_has "^text large"
xdotool key ctrl+shift+d
await "light" journal_has "^light"
picture 25-large-and-light
grep -qx "text = large" "$work/config/mien/settings" || fail "the settings don't have the text's size"
grep -qx "theme = light" "$work/config/mien/settings" || fail "the settings don't have the theme"
xdotool key ctrl+minus
await "usual text" journal_has "^text usual"
xdotool key ctrl+shift+d
await "dark" journal_has "^dark"
xdotool key ctrl+s
await "the save" bash -c "[ \$(grep -c '^saved' '$journal') -eq 2 ]"

# A head from nothing.
xdotool key ctrl+shift+n
await "the new head" shows field/table
picture 26-new-head
click "button/Begin with an example"
await "that it can be made" hides "button/Begin with an example"
picture 27-new-head-judged
click "button/Make the head"
await "the head" journal_has "^opened $work/My head.show.json"
picture 28-new-head-made
# 1: a warning, that nobody has told what the supply is rated for.
"$program" check "$work/My head.show.json" || [ $? -eq 1 ] || fail "the new head is not valid"
drag timeline/ruler 100 0
xdotool key k
await "a first key" bash -c "tac '$journal' | grep -m1 -E '^(edit|opened)' | grep -q '^edit'"
xdotool key ctrl+s
await "its save" journal_has "^saved $work/My head.show.json"
quit
start 1366 768
await "the recent shows" shows "recent/My head.show.json"
picture 29-first-start-with-recent-shows
click "recent/small.show.json"
await "the recent show" journal_has "^opened $work/small.show.json"
quit
[ -z "$(ls "$work/state/mien/recovery" 2>/dev/null)" ] || fail "something was left to recover"
echo "around: all well; pictures in $pictures"
