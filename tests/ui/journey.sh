#!/bin/bash
# One journey through the real window, under a virtual screen: open, drag a key, undo, scrub, play, arm, stop, save as, reopen.
# Asserts on what the program wrote (its journal, the saved file), and leaves pictures for people to look at.
#   bash tests/ui/journey.sh PROGRAM [PICTURES-FOLDER]
set -euo pipefail
program=$(realpath "$1")
pictures=${2:-build/pictures}
root=$(realpath "$(dirname "$0")/../..")
mkdir -p "$pictures"
pictures=$(realpath "$pictures")

if [ -z "${JOURNEY_SCREEN:-}" ]; then
  export JOURNEY_SCREEN=1366x768
  exec xvfb-run -a -s "-screen 0 ${JOURNEY_SCREEN}x24 -nolisten tcp" bash "$0" "$program" "$pictures"
fi

work=$(mktemp -d)
journal=$work/journal
editor=
finish() { [ -z "$editor" ] || kill "$editor" 2>/dev/null || true; rm -rf "$work"; }
trap finish EXIT
fail() { echo "journey: $*" >&2; echo "--- journal" >&2; tail -30 "$journal" >&2 || true; import -window root "$pictures/99-failed.png" || true; exit 1; }

# Waits until a command succeeds; the limit is only there to end a broken run.
await() {
  local what=$1; shift
  for _ in $(seq 400); do if "$@"; then return; fi; sleep 0.05; done
  fail "waited in vain for $what"
}
journal_has() { grep -q -- "$1" "$journal" 2>/dev/null; }
shows() { cut -f1 "$journal.places" 2>/dev/null | grep -qxF -- "$1"; }
hides() { ! shows "$1"; }
middle() { awk -F'\t' -v name="$1" '$1 == name { printf "%d %d", ($2 + $4) / 2, ($3 + $5) / 2 }' "$journal.places"; }
click() { await "$1 on screen" shows "$1"; xdotool mousemove $(middle "$1"); xdotool click 1; }
# drag NAME DX DY
drag() {
  await "$1 on screen" shows "$1"
  local at; at=$(middle "$1")
  xdotool mousemove $at mousedown 1
  sleep 0.1
  xdotool mousemove_relative -- $(($2 / 2)) $(($3 / 2)); sleep 0.1
  xdotool mousemove_relative -- $(($2 - $2 / 2)) $(($3 - $3 / 2)); sleep 0.1
  [ -z "${4:-}" ] || picture "$4"
  xdotool mouseup 1
}
# The shape of an idle window, once the pointer's work is on screen.
picture() { sleep 0.4; import -window root "$pictures/$1.png"; }

start() {
  : > "$journal"; rm -f "$journal.places"
  "$program" edit "$@" --mute --journal "$journal" --width 1366 --height 768 &
  editor=$!
  await "the window" shows safety/state
  xdotool search --onlyvisible --pid "$editor" windowfocus >/dev/null 2>&1 || xdotool search --name Mien windowfocus
}

cp "$root"/tests/samples/small.*.json "$work"
start "$work/small.show.json"
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

xdotool key ctrl+q
wait "$editor" || fail "the editor ended with exit code $?"
editor=
start "$work/again.show.json" --theme light
journal_has "opened $work/again.show.json" || fail "the saved show did not open"
picture 11-light
kill -TERM "$editor"
wait "$editor" || fail "SIGTERM ended the editor with exit code $?"
editor=

# The demo itself: its rig of three boards, its voice's waveform, a key of a busy lane.
cp "$root"/shows/keeper.* "$work"
start "$work/keeper.show.json" --port sim:
await "the link to three boards" journal_has "link=ready"
drag key/brow_frown/1 40 0 12-demo-dragging-a-key
await "the demo key's move" journal_has "edit Move key"
xdotool key ctrl+z
await "the demo's undo" journal_has "undo Move key"
drag timeline/ruler 120 0
picture 13-demo
xdotool key ctrl+q
wait "$editor" || fail "the editor ended with exit code $?"
editor=
cmp -s "$root/shows/keeper.show.json" "$work/keeper.show.json" || fail "a move that was undone changed the demo's file"
echo "journey: all well; pictures in $pictures"
