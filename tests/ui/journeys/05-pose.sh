#!/bin/bash
# Pictures of what composes a show: layers, a clip, poses, the history, timecode; of the demo, in the real window.
#   bash tests/ui/compose.sh PROGRAM [FOLDER]
set -euo pipefail
. "$(dirname "$0")/hands.sh" 1600x900 build/pictures "$@"

cp "$root"/shows/*.json "$root"/shows/keeper.ogg "$work"
start 1600 900 "$work/keeper.show.json" --theme "${THEME:-dark}"
await "the study" journal_has "^findings"
xdotool key p
await "the poses" shows action/library_import
click action/library_import
await "the library" shows path/keeper.clips.json
sleep 0.7
click path/keeper.clips.json
sleep 0.5
click button/Take
await "the library's poses" shows pose/joy
sleep 2
click pose/joy
picture 20-poses
click action/pose_key
await "the pose's keys" journal_has "edit Key pose joy"
xdotool key y
await "the layers" shows action/layer_add
click action/layer_idle
await "idle life" shows "layer/Idle life"
picture 21-idle-life
click action/layer_add
xdotool key shift+c
await "the clips" shows row/clip/wink
sleep 0.3
click row/clip/wink
xdotool key b
await "the placement" journal_has "edit Place clip wink"
picture 22-layers
xdotool key e
await "the clip's keys" journal_has "keys of wink"
picture 23-clip
xdotool key shift+e
await "the show's keys" journal_has "keys of the show"
xdotool key ctrl+t
xdotool key h
picture 24-history
xdotool key F1
picture 25-keys
xdotool key Escape
click "layer/Idle life/name"
sleep 0.3
click menu/Compose
await "the menu" shows item/layer_bake
sleep 0.3
click item/layer_bake
await "the baked layer" journal_has "^baked"
picture 26-baked
kill -TERM "$editor"
wait "$editor" || fail "SIGTERM ended the editor with exit code $?"
editor=
