#!/bin/bash
# Several curves with their speeds, lanes in another order, two shows in tabs and the dialog for files, in the real window under a virtual screen.
#   bash tests/ui/curves.sh PROGRAM [PICTURES-FOLDER]
set -euo pipefail
. "$(dirname "$0")/hands.sh" 1600x900 build/pictures "$@"

cp "$root"/shows/*.json "$root"/shows/keeper.ogg "$work"
start 1600 900 "$work/keeper.show.json" --theme "${THEME:-dark}"
await "the sound" journal_has "^sounds 1"
await "the study" journal_has "^findings"
click lane/blink_left/name
xdotool keydown shift; click lane/brow_raise_left/name; xdotool keyup shift
await "the kept channel" shows curve/behind/brow_raise_left
click curve/speeds
await "the strips" shows curve/acceleration
click curve/key/1
xdotool key 4
await "a Bezier" journal_has "edit Set easing"
click curve/handles
await "the numbers of handles" shows field/out_value
picture 40-curves
xdotool mousemove $(middle curve/velocity)
picture 41-speeds

xdotool key alt+shift+Down
await "the lane's move" journal_has "edit Move lane"
xdotool key ctrl+shift+s
await "the path dialog" shows field/path
xdotool key ctrl+a; xdotool type "$work/moved.show.json"; xdotool key Return
await "the save" journal_has "saved $work/moved.show.json"
# The order is in the file, and the program without its window reads it there.
moved=$("$program" lane list "$work/moved.show.json" --json)
[[ "$moved" == *"\"place\": 2, \"control\": \"blink_left\""* ]] || fail "blink_left is not the second lane of its group: $moved"

xdotool key ctrl+o
await "the path dialog" shows path/hurried.show.json
click path/hurried.show.json
sleep 1
picture 42-files
xdotool key Return
await "the other show" journal_has "opened $work/hurried.show.json"
await "two tabs" shows show/1
picture 43-tabs
xdotool key alt+o
await "the first show again" journal_has "^tab "
xdotool key alt+w
await "its end" journal_has "^closed "
await "one show" hides show/1
quit
