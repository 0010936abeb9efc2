# What drives the real window from a shell, under a virtual screen. To be sourced first of all by a script that is called as SCRIPT PROGRAM [FOLDER]:
#   . hands.sh WIDTHxHEIGHT USUAL-FOLDER "$@"
# It begins the script anew on such a screen, sets $program, $root and $pictures (the folder that pictures go to), and makes a folder $work for files
# and the journal.
program=$(realpath "$3")
pictures=${4:-$2}
root=$(realpath "$(dirname "${BASH_SOURCE[0]}")/../..")
mkdir -p "$pictures"
pictures=$(realpath "$pictures")
if [ -z "${HANDS_SCREEN:-}" ]; then
  export HANDS_SCREEN=$1
  exec xvfb-run -a -s "-screen 0 ${HANDS_SCREEN}x24 -nolisten tcp" bash "$0" "$program" "$pictures"
fi

work=$(mktemp -d)
journal=$work/journal
cd "$work"  # so that the path dialogs begin there
# What the person who runs this has chosen stays out of it, and what it chooses out of theirs.
export XDG_CONFIG_HOME=$work/config XDG_STATE_HOME=$work/state
export HOME=$work
unset GTK_THEME DBUS_SESSION_BUS_ADDRESS XDG_RUNTIME_DIR
# The display's driver was not built with the sanitizers: what it leaks is not ours, and how its threads order what they do can't be seen.
export ASAN_OPTIONS=${ASAN_OPTIONS:+$ASAN_OPTIONS:}detect_leaks=0 TSAN_OPTIONS=${TSAN_OPTIONS:+$TSAN_OPTIONS:}ignore_noninstrumented_modules=1
editor=
finish() { [ -z "$editor" ] || kill "$editor" 2>/dev/null || true; rm -rf "$work"; }
trap finish EXIT
fail() { echo "$(basename "$0"): $*" >&2; echo "--- journal" >&2; tail -30 "$journal" >&2 || true; import -window root "$pictures/99-failed.png" || true; exit 1; }

# Waits until a command succeeds; the limit is only there to end a broken run.
await() {
  local what=$1; shift
  for _ in $(seq 400); do if "$@"; then return; fi; sleep 0.05; done
  fail "waited in vain for $what"
}
journal_has() { grep -q -- "$1" "$journal" 2>/dev/null; }
# The newest line that begins with $1 is "$1 $2".
newest_is() { [ "$(tac "$journal" | grep -m1 -- "^$1 ")" = "$1 $2" ]; }
shows() { cut -f1 "$journal.places" 2>/dev/null | grep -qxF -- "$1"; }
hides() { ! shows "$1"; }
middle() { awk -F'\t' -v name="$1" '$1 == name { printf "%d %d", ($2 + $4) / 2, ($3 + $5) / 2 }' "$journal.places"; }
# Where it stays: what was typed or opened just before may still move it.
point() {
  await "$1 on screen" shows "$1"
  local at='' now; now=$(middle "$1")
  while [ "$now" != "$at" ]; do at=$now; sleep 0.2; now=$(middle "$1"); done
  xdotool mousemove $at
}
# How often the journal says so, and waiting for one more than that.
said() { grep -c -- "$1" "$journal" || true; }
said_more() { [ "$(said "$1")" -gt "$2" ]; }
# press KEYS... until the journal has one more line like $1
press_until() {
  local line=$1 before; shift
  before=$(said "$line")
  xdotool key "$@"
  await "$line" said_more "$line" "$before"
}
# Over what a field has.
fill_in() { click "field/$1"; sleep 0.2; xdotool key ctrl+a; xdotool type --delay 20 "$2"; xdotool key Return; sleep 0.2; }
# holds FILE EXPRESSION: of Python, true of what the file has, as `it`; keys("smile") are that channel's, as lists of words
holds() {
  python3 - "$1" "$2" <<'PYTHON' || fail "$1 does not hold: $2"
import json, sys
it = json.load(open(sys.argv[1]))
def keys(control, of=it):
    return [key.split() for c in of.get("channels", []) if c["control"] == control for key in c["keys"]]
def named(parts, name):
    return next((p for p in it.get(parts, []) if p["name"] == name), None)
sys.exit(0 if eval(sys.argv[2]) else 1)
PYTHON
}
click() { point "$1"; xdotool click 1; }
# open_layer NAME: its own keys in lanes and curve, with nothing beside them.
open_layer() {
  click "layer/$1/name"
  await "the layers" shows "row/layer/$1"
  click menu/Compose
  await "the menu" shows item/layer_keys
  sleep 0.3
  click item/layer_keys
  await "the layer's keys" journal_has "keys of $1"
  click tab/close
}
# begin_controller NAME, before the editor: a MIDI controller on a JACK server of its own. False, saying why, where there can be none.
begin_controller() {
  local knobs
  knobs=$(dirname "$program")/tests/editor/mien_knobs
  [ -x "$knobs" ] && command -v jackd >/dev/null || { echo "$(basename "$0"): no controller here, since jackd (apt-get install jackd1) or libjack-dev is missing"; return 1; }
  coproc KNOBS { exec "$knobs" "$1" 2>knobs.said; }
  read -r -t 60 _ JACK_DEFAULT_SERVER <&"${KNOBS[0]}" || fail "no controller: $(cat knobs.said)"
  export JACK_DEFAULT_SERVER JACK_NO_START_SERVER=1 JACK_NO_AUDIO_RESERVATION=1
}
await_controller() {
  local word
  read -r -t 60 word <&"${KNOBS[0]}" && [ "$word" = connected ] || fail "the editor doesn't hear the controller: $(cat knobs.said)"
}
# plays LINE...: what the controller does, in order: bytes in hexadecimal, or "wait SECONDS".
plays() { printf '%s\n' "$@" >&"${KNOBS[1]}"; }
# heard: how many quarter frames and full frames of time code the controller's tape machine has heard since it was plugged in.
heard() {
  local word
  plays heard
  read -r -t 20 word quarters fulls <&"${KNOBS[0]}" && [ "$word" = heard ] || fail "the tape machine says nothing: $(cat knobs.said)"
}
end_controller() {
  local pid=$KNOBS_PID in=${KNOBS[1]}
  exec {in}>&-
  wait "$pid" || fail "the controller ended badly: $(cat knobs.said)"
}
# drag NAME DX DY [PICTURE]
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

# start WIDTH HEIGHT SHOW...
start() {
  local width=$1 height=$2; shift 2
  : > "$journal"; rm -f "$journal.places"
  "$program" edit "$@" --mute --journal "$journal" --width "$width" --height "$height" &
  editor=$!
  await "the window" shows safety/state
  xdotool search --onlyvisible --pid "$editor" windowfocus >/dev/null 2>&1 || xdotool search --name Mien windowfocus
}
# By the key; the editor must end well.
quit() {
  xdotool key ctrl+q
  wait "$editor" || fail "the editor ended with exit code $?"
  editor=
}
