#!/bin/bash
# The display is killed (kill -9 of the X server) under a window: a head that performs goes on, no frame is missing; at the show's end it rests and the program ends well; a
# signal stops it; with nothing armed the program ends at once. Unsaved work is there at the next start each time.
#   bash tests/ui/display_gone.sh PROGRAM [PICTURES-FOLDER] [TIMES]
# Appends its row to $MIEN_FAULTS, where that is set (tests/faults.sh).
set -euo pipefail
times=${3:-1}
export HANDS_SCREEN=1366x768  # the displays are made, and killed, here
. "$(dirname "$0")/hands.sh" 1366x768 build/pictures "$1" "${2:-build/pictures}"
screen= boards=
finish() { for one in $editor $boards $screen; do kill "$one" 2>/dev/null || true; done; rm -rf "$work"; }
made=0 lost=0
loses() { lost=$((lost + 1)); echo "display_gone.sh: lost: $*" >&2; tail -5 "$journal" >&2; }

begin_screen() {
  rm -f "$work/number"
  Xvfb -displayfd 3 -screen 0 1366x768x24 -nolisten tcp 3>"$work/number" >/dev/null 2>&1 &
  screen=$!
  await "the display" test -s "$work/number"
  export DISPLAY=:$(cat "$work/number")
}
begin_boards() {
  rm -f bytes
  "$program" board --listen 127.0.0.1:0 --state --capture bytes >boards.said &
  boards=$!
  await "the boards" grep -q "^listening" boards.said
}
end_boards() { kill "$boards"; wait "$boards" || true; boards=; }
# How many of the newest lines the boards have latched.
latched() { grep -c "board 0 frame seq" boards.said || true; }
# An edit on the show, with boards; then the head armed, and the show playing.
edited() {
  start 1366 768 small.show.json "$@"
  drag key/mouth_open/1 60 0
  await "the edit" journal_has "edit Move key"
}
armed_and_playing() {
  click "button/Arm…"
  click button/Arm
  await "the first pose" journal_has "^state link=armed word=Live paused"
  if [ "$1" = once ]; then xdotool key l; await "no loop" journal_has "^edit.*[Ll]oop"; fi
  xdotool key space
  await "the show" journal_has "word=Live playing"
  sleep 0.$((RANDOM % 9))
}
kill_screen() {
  before=$(latched)
  kill -9 "$screen"; wait "$screen" 2>/dev/null || true; screen=
  made=$((made + 1))
}
# ends CODE: within 20 s, with this exit code.
ends() {
  local code=0
  for _ in $(seq 400); do kill -0 "$editor" 2>/dev/null || break; sleep 0.05; done
  kill -0 "$editor" 2>/dev/null && fail "it goes on for ever"
  wait "$editor" || code=$?
  editor=
  [ "$code" = "$1" ] || loses "exit code $code, not $1"
}
# From the boards' side: frames one after the other, and no stretch of a tenth of a second without one; on a busy machine the link lets single ones give way to newer ones. The
# decoder knows PROTOCOL.md alone.
whole() {
  python3 "$root/tests/reference/decode.py" bytes | python3 -c '
import json, sys
frames = [p["sequence"] for p in map(json.loads, sys.stdin) if p.get("type") == "frame"]
gaps = [(b - a) % 65536 - 1 for a, b in zip(frames, frames[1:])]
print(f"{len(frames)} frames, {sum(gaps)} missing, {max(gaps)} of them in a row")
sys.exit(max(gaps) > 10 or len(frames) < 200)' || loses "frames"
  [ "$(grep "board 0 state" boards.said | tail -1 | awk '{print $NF}')" != running ] || loses "the head is left running"
}
work_is_kept() { ls state/mien/recovery/*.recovery >/dev/null 2>&1 || loses "the unsaved edit"; rm -rf state/mien/recovery; }

for _ in $(seq "$times"); do
  cp "$root"/tests/samples/small.*.json .
  # To the end of the show, and then to rest.
  begin_screen; begin_boards; edited --port "tcp:$(sed -n 's/^listening on //p' boards.said)"
  await "boards" journal_has "^state link=ready"
  armed_and_playing once
  kill_screen
  kill -HUP "$editor"  # as the terminal that goes down with the display does
  await "that it is noticed" journal_has "^display gone"
  ends 0
  [ "$(latched)" -gt $((before + 100)) ] || loses "the performance"
  journal_has "^at rest" || loses "the way to rest"
  whole; end_boards; work_is_kept

  # On and on, until a signal.
  begin_screen; begin_boards; edited --port "tcp:$(sed -n 's/^listening on //p' boards.said)"
  await "boards" journal_has "^state link=ready"
  armed_and_playing looping
  kill_screen
  sleep 3
  [ "$(latched)" -gt $((before + 220)) ] || loses "the performance"
  kill -TERM "$editor"
  ends 0
  whole; end_boards; work_is_kept

  # Nothing armed: nothing to go on with.
  begin_screen
  edited
  kill_screen
  ends 1
  work_is_kept
done
[ -z "${MIEN_FAULTS:-}" ] || printf '%s\t%s\t%s\t%s\t\n' "display gone: \`kill -9\` of the X server under a window" "$made" "$lost" "the performance, with no stretch of 0.1 s without a frame; unsaved changes" >>"$MIEN_FAULTS"
((lost == 0)) || exit 1
echo "display-gone: $made times, all well"
