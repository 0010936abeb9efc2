#!/bin/bash
# The first evening: a window with no show, the demo opened by its folder, heard and looked about in, a key and a size of letters of one's own; the second
# evening finds them again.
set -euo pipefail
. "$(dirname "$0")/../hands.sh" 1366x768 build/pictures "$@"

mkdir shows; cp "$root"/shows/keeper.* shows
start 1366 768
picture 01-first-start
click action/open
await "the folder" shows path/shows/
click path/shows/
await "the demo" shows path/keeper.show.json
sleep 0.3
click path/keeper.show.json
picture 01-first-start-open
click button/Open
await "the demo, open" journal_has "^opened $work/shows/keeper.show.json"
await "its sound" journal_has "^sounds 1"
press_until "playing" space
sleep 1
picture 01-first-start-playing
press_until "^pause" space

# Actions by name, and a key of one's own.
xdotool key F2
await "the palette" shows field/palette
picture 01-first-start-actions-by-name
xdotool type "loop on"
await "the loop" hides palette/save
click palette/loop/key
sleep 0.3
xdotool key ctrl+s
picture 01-first-start-a-key-that-is-taken
xdotool key shift+j
await "the new key" journal_has "^key loop Shift+J"
grep -qx "loop = Shift+J" config/mien/keys || fail "the file of keys doesn't have it"
xdotool key Escape
await "the palette's end" hides field/palette
press_until "^edit .*[Ll]oop" shift+j
xdotool key ctrl+z
await "its undo" journal_has "^undo"
xdotool key F1
await "the list of keys" shows button/Close
picture 01-first-start-keys
xdotool key Escape
await "the list's end" hides button/Close

# Larger letters, and light.
press_until "^text large" ctrl+equal
press_until "^light" ctrl+shift+d
picture 01-first-start-large-and-light
grep -qx "text = large" config/mien/settings || fail "the settings don't have the text's size"
grep -qx "theme = light" config/mien/settings || fail "the settings don't have the theme"
quit
cmp -s "$root/shows/keeper.show.json" shows/keeper.show.json || fail "looking about changed the demo"

start 1366 768
await "the recent show" shows recent/keeper.show.json
picture 01-first-start-again
journal_has "^light" || fail "the theme was forgotten"
click recent/keeper.show.json
await "the recent show" journal_has "^opened $work/shows/keeper.show.json"
press_until "^edit .*[Ll]oop" shift+j
kill -TERM "$editor"
wait "$editor" || fail "SIGTERM ended the editor with exit code $?"
editor=
echo "first-start: all well"
