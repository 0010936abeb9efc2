#!/bin/bash
# Into another folder under another name: the rig and the sound are still found from there; quitting with unsaved work asks.
set -euo pipefail
. "$(dirname "$0")/../hands.sh" 1366x768 build/pictures "$@"

mkdir night; cp "$root"/shows/keeper.* .
start 1366 768 keeper.show.json
await "the sound" journal_has "^sounds 1"
drag key/brow_frown/1 40 0
await "the move" journal_has "edit Move key"
xdotool key ctrl+q
await "the question" shows "button/Cancel"
picture 10-save-as-unsaved
click button/Cancel
await "its end" hides "button/Cancel"
xdotool key ctrl+shift+s
await "the path dialog" shows field/path
picture 10-save-as
xdotool key ctrl+a; xdotool type "$work/night/late.show.json"; xdotool key Return
await "the save" journal_has "^saved $work/night/late.show.json"
quit
cmp -s "$root/shows/keeper.show.json" keeper.show.json || fail "the old file was changed"
holds night/late.show.json 'it["rig"] == "../keeper.rig.json" and it["sounds"][0]["file"] == "../keeper.ogg"'
start 1366 768 night/late.show.json --theme light
await "the sound, from there" journal_has "^sounds 1"
picture 10-save-as-reopened
quit
"$program" check night/late.show.json || fail "the saved show is not fine"
echo "save-as: all well"
