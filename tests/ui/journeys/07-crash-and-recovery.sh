#!/bin/bash
# kill -9 with unsaved edits: the next start offers them with what they are; within a clip that is open, too.
set -euo pipefail
. "$(dirname "$0")/../hands.sh" 1366x768 build/pictures "$@"

crash() {
  sleep 2
  kill -9 "$editor"
  wait "$editor" && fail "a killed editor ended well"
  editor=
}
cp "$root"/tests/samples/small.*.json .
start 1366 768 small.show.json
drag key/mouth_open/1 60 0
await "the first edit" journal_has "edit Move key"
drag key/mouth_open/2 40 0
await "the second edit" said_more "edit Move key" 1
crash
cmp -s "$root/tests/samples/small.show.json" small.show.json || fail "a crash changed the show's file"

start 1366 768
await "the offer" shows "button/Bring it back"
picture 07-crash-and-recovery
click "button/Bring it back"
await "the recovered show" journal_has "^recovered 2 edits"
press_until "^saved $work/small.show.json" ctrl+s
holds small.show.json 'float(keys("mouth_open")[1][0]) > 1.63 and float(keys("mouth_open")[2][0]) > 1.76'

# Once more, with the keys of a clip open.
press_until "edit" ctrl+a c
press_until "^saved" ctrl+s
press_until "keys of Clip" e
await "the clip's key" shows key/mouth_open/1
click key/mouth_open/1
fill_in value 0.33
await "the edit of the clip" journal_has "^edit Set value"
crash
start 1366 768
await "the offer" shows "button/Bring it back"
click "button/Bring it back"
await "the recovered clip" journal_has "^recovered 1 edits"
press_until "^saved $work/small.show.json" ctrl+s
quit
holds small.show.json 'any(k[1] == "0.33" for k in keys("mouth_open", named("clips", "Clip"))) and len(keys("blink")) == 6 and it["length_s"] == "4"'
[ -z "$(ls state/mien/recovery 2>/dev/null)" ] || fail "something was left to recover"
echo "crash-and-recovery: all well"
