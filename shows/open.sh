#!/usr/bin/env bash
# Opens the demo show in the editor, with the boards simulated. Installs what is missing, builds, starts; seconds when nothing changed.
# Without a display it performs the show in the terminal instead. Other arguments go to the program.
set -euo pipefail
cd "$(dirname "$0")/.."
bash third_party/install.sh build
mkdir -p build
cmake --preset release >build/configure.log || { cat build/configure.log; exit 2; }
cmake --build --preset release --target mien
demo=shows/keeper.show.json
if [[ -n ${DISPLAY:-}${WAYLAND_DISPLAY:-} ]]; then
  exec build/release/mien edit "$demo" --port sim: "$@"
fi
echo "There is no display here, so the show is performed without its window, on simulated boards."
exec build/release/mien play "$demo" --port sim: "$@"
