#!/bin/bash
# Looks from a library, keyed by weight at the playhead; one captured; the history, a step back in it.
set -euo pipefail
. "$(dirname "$0")/../hands.sh" 1600x900 build/pictures "$@"

cp "$root"/shows/*.json "$root"/shows/keeper.ogg .
start 1600 900 keeper.show.json
await "the study" journal_has "^findings"
xdotool key p
await "the poses" shows action/library_import
picture 05-pose-empty
click action/library_import
await "the library" shows path/keeper.clips.json
sleep 0.7
click path/keeper.clips.json
sleep 0.5
click button/Take
await "the library's poses" shows pose/joy
sleep 2  # until every face is drawn
click pose/joy
fill_in pose_weight 50
picture 05-pose
press_until "edit Key pose joy" Return
xdotool key h
await "the history" shows step/1
picture 05-pose-history
press_until "edit Capture pose" shift+p
press_until "^saved" ctrl+s
quit
holds keeper.show.json 'named("poses", "joy") and named("poses", "Pose") and len(named("poses", "Pose")["values"]) > 0'
# Half of what joy has, at the start, where the playhead stood.
holds keeper.show.json 'abs(float(keys("smile_left")[0][1]) * 2 - next(float(v.split()[0]) for v in named("poses", "joy")["values"] if v.endswith(" smile_left"))) < 0.011'
echo "pose: all well"
