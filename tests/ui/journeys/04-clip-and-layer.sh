#!/bin/bash
# Keys become a clip, the clip is placed twice on a layer and changed once for both; idle life lies under that, and becomes keys.
set -euo pipefail
. "$(dirname "$0")/../hands.sh" 1600x900 build/pictures "$@"

cp "$root"/tests/samples/small.*.json .
start 1600 900 small.show.json
await "the study" journal_has "^findings"
click key/mouth_open/1
xdotool keydown shift; click key/mouth_open/2; click key/mouth_open/3; xdotool keyup shift
press_until "^edit" c
await "the clip" shows row/clip/Clip
press_until "edit Place clip Clip" b
drag timeline/ruler 120 0
press_until "edit Place clip Clip" b
await "both of them" shows block/Layer/1
press_until "keys of Clip" e
await "the clip's key" shows key/mouth_open/1
drag key/mouth_open/1 0 -30
click key/mouth_open/1
fill_in value 0.95
picture 04-clip-and-layer-open
press_until "keys of the show" shift+e
xdotool key y
await "the layers" shows action/layer_idle
click action/layer_idle
await "idle life" shows "layer/Idle life"
picture 04-clip-and-layer
click "layer/Idle life/name"
sleep 0.3
press_until "^edit" alt+Down  # what lies under a layer that is baked becomes keys with it
before=$(said "^baked")
click menu/Compose
await "the menu" shows item/layer_bake
sleep 0.3
click item/layer_bake
await "the baked layer" said_more "^baked" "$before"
picture 04-clip-and-layer-baked
press_until "^saved" ctrl+s
quit
holds small.show.json 'named("clips", "Clip") and any(k[1] == "0.95" for k in keys("mouth_open", named("clips", "Clip")))'
holds small.show.json 'len(named("layers", "Layer")["placements"]) == 2'
holds small.show.json 'not named("layers", "Idle life") and len(keys("gaze_yaw")) > 3'
"$program" layer list small.show.json | grep -q Layer || fail "the command line doesn't list the layer"
echo "clip-and-layer: all well"
