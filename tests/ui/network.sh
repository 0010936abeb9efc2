#!/bin/bash
# Other machines in the real window, under a virtual screen: OSC is switched on in the dialog, plays and stops the show from another process, can't arm it; time code is followed.
#   bash tests/ui/network.sh PROGRAM [PICTURES-FOLDER]
set -euo pipefail
. "$(dirname "$0")/hands.sh" 1366x768 build/pictures "$@"

say() {  # ADDRESS, without arguments
  python3 - "$port" "$1" <<'PY'
import socket, sys
text = lambda s: s.encode() + b"\0" * (4 - len(s) % 4)
socket.socket(socket.AF_INET, socket.SOCK_DGRAM).sendto(text(sys.argv[2]) + text(","), ("127.0.0.1", int(sys.argv[1])))
PY
}

# The dialog keeps to the middle of the window and moves when a field comes or goes: what is in it stands still a moment after the field named is gone.
settled() { [ -z "${1:-}" ] || await "the end of $1" hides "$1"; sleep 0.8; }

cp "$root"/tests/samples/small.*.json "$work"
start 1366 768 "$work/small.show.json"
journal_has "opened" || fail "the show did not open"
xdotool key ctrl+alt+n
await "the dialog" shows "button/Use this"
click network/osc
click field/osc_port
xdotool key ctrl+a; xdotool type 0
click network/sacn
click "network/follow mtc"
await "what belongs to it" shows field/zero
picture 60-other-machines
click "network/follow none"
click network/sacn
settled field/universe
click "button/Use this"
await "OSC" journal_has "^network osc 127.0.0.1:"
find_port() { port=$(sed -n 's/^network osc 127\.0\.0\.1:\([0-9]*\).*/\1/p' "$journal" | tail -1); }
find_port
say /mien/play
await "the play that OSC asked for" journal_has "^OSC play"
await "playing" journal_has "playing"
say /mien/stop
await "the stop" journal_has "^OSC stop"
say /mien/arm
say /mien/cue/greet
await "the cue" journal_has "^OSC cue greet: the show has no such cue"
journal_has "OSC arm" && fail "OSC could ask to arm"
xdotool key ctrl+alt+n
click "network/follow mtc"
await "what belongs to it" shows field/zero
settled
click "button/Use this"
await "following" journal_has "follow mtc"
await "the transport's word" shows transport/follow
picture 61-follows-time-code
find_port
say /mien/play
await "that play is left out" journal_has "^OSC play: left out"
quit
echo "the window and other machines: well"
