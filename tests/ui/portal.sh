#!/bin/bash
# The desktop's dialog for files in the real window, under a virtual screen; the desktop is a program of the tests' own, on a session bus of its own.
#   bash tests/ui/portal.sh PROGRAM [PICTURES-FOLDER]
set -euo pipefail
. "$(dirname "$0")/hands.sh" 1366x768 build/pictures "$@"

desktop=$(dirname "$program")/tests/editor/mien_desktop
[ -x "$desktop" ] && command -v dbus-daemon >/dev/null || { echo "portal.sh: no desktop here, since dbus-daemon or libdbus-1-dev is missing"; exit 77; }
coproc DESK { exec "$desktop" 2>desktop.said; }
read -r -t 60 _ DBUS_SESSION_BUS_ADDRESS <&"${DESK[0]}" || fail "no desktop: $(cat desktop.said)"
export DBUS_SESSION_BUS_ADDRESS
does() { printf '%s\n' "$*" >&"${DESK[1]}"; }
# hears LINE: what the desktop says next
hears() { local line; read -r -t 60 line <&"${DESK[0]}" && [ "$line" = "$1" ] || fail "the desktop heard '${line:-}', not '$1'"; }

cp "$root"/shows/keeper.* .
mkdir "Bühne 2"
start 1366 768 --theme dark
window=$(printf 'x11:%x' "$(xdotool search --onlyvisible --pid "$editor" | head -1)")
xdotool key ctrl+o
hears "asked OpenFile $window Open a show"
await "the word where the dialog is" shows "button/Mien’s own dialog"
hides field/path || fail "Mien's own dialog is open, too"
picture 60-portal
does choose "$work/keeper.show.json"
await "the show" journal_has "^opened $work/keeper.show.json"
await "the sound" journal_has "^sounds 1"

xdotool key ctrl+shift+s
hears "asked SaveFile $window Save the show as"
does choose "$work/Bühne 2/spät, 100%.show.json"
await "the save" journal_has "^saved $work/Bühne 2/spät, 100%.show.json"
holds "Bühne 2/spät, 100%.show.json" 'it["rig"] == "../keeper.rig.json"'

# Esc stops the head, and closes the desktop's dialog with what asks.
xdotool key ctrl+o
hears "asked OpenFile $window Open a show"
press_until "^stop" Escape
hears closed

xdotool key ctrl+o
hears "asked OpenFile $window Open a show"
does cancel
await "the person's word" journal_has "^desktop cancelled"
hides field/path || fail "cancelled, and Mien's own dialog opened"

# A head that is driven keeps the keyboard.
xdotool key ctrl+p
await "the ports" shows "port/sim:"
click "port/sim:"
await "the boards" journal_has "^state link=ready"
xdotool key ctrl+r
await "the cautions" shows button/Arm
click button/Arm
await "the armed head" journal_has "^state link=armed"
xdotool key ctrl+o
sleep 0.5
hides field/path || fail "another show was to be opened under an armed head"
xdotool key ctrl+shift+s
await "Mien's own dialog" shows field/path
picture 61-portal-armed
press_until "^stop" Escape
xdotool key Escape
await "its end" hides field/path
silent() { tac "$journal" | grep -m1 "^state" | grep -q "link=ready"; }
await "the silent head" silent

# A desktop that ends: Mien's own, and a word why.
before=$(said "^desktop asked")
xdotool key ctrl+o
await "the question" said_more "^desktop asked" "$before"
hears "asked OpenFile $window Open a show"
does die
await "Mien's own dialog" shows field/path
journal_has "^problem .*file dialogs" || fail "it was not said why"
picture 62-portal-ended
xdotool key Escape
xdotool key Escape
await "its end" hides field/path
quit
echo "portal: all well"
