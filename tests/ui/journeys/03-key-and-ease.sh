#!/bin/bash
# The commonest thing of all: keys dragged, typed, eased by a key and by a handle; undone; saved, and nothing else changed.
set -euo pipefail
. "$(dirname "$0")/../hands.sh" 1366x768 build/pictures "$@"

cp "$root"/tests/samples/small.*.json .
start 1366 768 small.show.json
journal_has "opened" || fail "the show did not open"
drag key/mouth_open/1 60 0 03-key-and-ease-drag
await "the key's move" journal_has "edit Move key"
press_until "undo Move key" ctrl+z
click key/mouth_open/2
fill_in value 0.5
await "the value" journal_has "^edit"
press_until "^edit" 4
await "the handle" shows curve/handle_out/2
drag curve/handle_out/2 10 -14
picture 03-key-and-ease
press_until "^saved" ctrl+s
quit
holds small.show.json 'keys("mouth_open")[2][:2] == ["1.75", "0.5"] and keys("mouth_open")[2][2].startswith("bezier(")'
holds small.show.json 'keys("mouth_open")[1] == ["1.62", "0.8", "smooth"]'
changed=$(diff "$root/tests/samples/small.show.json" small.show.json | grep -c '^>' || true)
[ "$changed" -eq 1 ] || fail "changing one key changed $changed lines of the file"

# The demo: its rig of three boards, its voice's waveform, a key of a busy lane.
cp "$root"/shows/keeper.* .
start 1366 768 keeper.show.json
await "its sound" journal_has "^sounds 1"
drag key/brow_frown/1 40 0 03-key-and-ease-demo
await "the demo key's move" journal_has "edit Move key"
press_until "undo Move key" ctrl+z
quit
cmp -s "$root/shows/keeper.show.json" keeper.show.json || fail "a move that was undone changed the demo's file"
echo "key-and-ease: all well"
