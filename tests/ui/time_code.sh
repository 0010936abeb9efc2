#!/bin/bash
# Time code to another machine from the real window, under a virtual screen, through a JACK server without sound: off until it is ticked, stops and goes on with the transport, says when
# the machine is gone and takes it up again. Skipped, saying why, where there is no jackd.
#   bash tests/ui/time_code.sh PROGRAM [PICTURES-FOLDER]
set -euo pipefail
. "$(dirname "$0")/hands.sh" 1366x768 build/pictures "$@"

begin_controller "Slide Eight" || exit 77
cp "$root"/tests/samples/small.*.json "$work"
start 1366 768 "$work/small.show.json"
await_controller
more_than() { heard; [ "$quarters" -gt "$1" ] && [ "$fulls" -ge "${2:-1}" ]; }

xdotool key space
sleep 1
heard
[ "$quarters" = 0 ] && [ "$fulls" = 0 ] || fail "time code goes out that nobody switched on"
xdotool key Home
xdotool key ctrl+alt+n
await "the dialog" shows "button/Use this"
click network/send
await "the choice of outputs" shows network/output
sleep 0.8  # the dialog keeps to the middle of the window and moves when fields come
click network/output
await "the tape machine among them" shows "network/output Tape Machine:in"
click "network/output Tape Machine:in"
sleep 0.5
picture 62-sends-time-code
click "button/Use this"
await "that it is said" journal_has "^time code goes to Tape Machine"
await "the transport's word" shows transport/follow
await "where the show stands" more_than -1
xdotool key space
await "quarter frames" more_than 40
xdotool key space
await "the pause" journal_has "^pause"
sleep 0.3
heard; before=$quarters
sleep 0.7
heard; [ "$quarters" = "$before" ] || fail "a show that stands sends quarter frames"
plays unplug
await "that it is gone" journal_has "^Tape Machine:in is gone"
picture 63-code-out-gone
plays plug
await "that it is back" sh -c "[ \$(grep -c '^time code goes to Tape Machine' '$journal') -ge 2 ]"
await "where the show stands" more_than -1
xdotool key space
await "quarter frames again" more_than 40
xdotool key ctrl+alt+n
await "the dialog" shows network/send
sleep 0.8
click network/send
sleep 0.8
click "button/Use this"
await "the end of it" hides transport/follow
sleep 0.3
heard; before=$quarters
sleep 0.5
heard; [ "$quarters" = "$before" ] || fail "time code goes on that was switched off"
quit
end_controller
echo "time code from the window: well; pictures in $pictures"
