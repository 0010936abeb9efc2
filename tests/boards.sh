#!/usr/bin/env bash
# boards.sh [--json] [--seconds N]: performs the demo on three emulated boards in a chain, which run the firmware's own image, prints what was
# measured on their pins, and leaves a picture of it in build/pictures/boards.png. Builds and installs what is missing.
#   worst_pulse_error_us   a pulse against the setpoint of its latch time
#   latch_skew_us          most by which pulses of two boards that belong together started apart
#   latch_jitter_p99_us    starts of a board's pulses about their mean, while the host sends each frame up to 5 ms late
#   hop_us                 from the end of a packet at one board to its end at the next
set -euo pipefail
cd "$(dirname "$0")/.."
json="" seconds=10
while (($#)); do
  case $1 in
    --json) json=--json ;;
    --seconds) seconds=${2:?how many seconds of the show}; shift ;;
    *) sed -n 2,4p "$0"; exit 2 ;;
  esac
  shift
done
bash third_party/install.sh test
bash tests/firmware/install.sh
mkdir -p build/pictures
{ cmake --preset release && cmake --build --preset release --target mien mien_boards; } >build/boards.log 2>&1 || { tail -n 20 build/boards.log; exit 2; }
image=build/release/firmware/mien_board.elf
[[ -f $image ]] || { echo "No firmware was built; build/boards.log says why." >&2; exit 2; }
text=$(arm-none-eabi-size "$image" | awk 'NR == 2 {print $1}')
baked=$(build/release/mien bake shows/keeper.show.json --out build/pictures/keeper.bake --json |
  python3 -c 'import json, sys; print(round(json.load(sys.stdin)["baked_bytes_per_actuator_second"], 2))')
table=build/pictures/boards.csv setpoints=build/pictures/boards-setpoints.csv
build/release/tests/firmware/mien_boards shows/keeper.show.json --seconds "$seconds" --table "$table" --setpoints "$setpoints" --text "$text" --baked "$baked" $json
python3 tests/firmware/plot.py "$table" "$setpoints" build/pictures/boards.png
[[ -n $json ]] || echo "picture build/pictures/boards.png"
