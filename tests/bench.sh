#!/usr/bin/env bash
# bench.sh [--json]: what Mien costs on this machine, in about a minute; processor time unless a row says otherwise. Run it on a quiet machine,
# and twice: figures of one machine differ by a third from run to run. build/release/tests/bench/mien_bench has many more.
set -euo pipefail
cd "$(dirname "$0")/.."
json=0
case ${1-} in
  --json) json=1 ;;
  '') ;;
  *) sed -n 2,3p "$0"; exit 2 ;;
esac
bash third_party/install.sh test
mkdir -p build
{ cmake --preset release && cmake --build --preset release --target mien mien_bench; } >build/bench.log 2>&1 || { tail -n 20 build/bench.log; exit 2; }
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT

# Seconds of processor time that a command takes; nan, and why on standard error, where it fails.
spent_s() {
  local TIMEFORMAT='%U %S' code=0
  { time "$@" >/dev/null 2>"$work/said"; } 2>"$work/spent" || code=$?
  if ((code)); then cat "$work/said" >&2; echo nan; else awk '{print $1 + $2}' "$work/spent"; fi
}

filter='^(tick_64_channels_32_actuators|curve_|limiter_|project_32_actuators_12_rows/4|decode_ten_minutes/wav|peaks_of|load_a_mil|save_a_mil|MidiToTheWire/0)'
build/release/tests/bench/mien_bench --benchmark_filter="$filter" --benchmark_out="$work/bench.json" --benchmark_out_format=json >/dev/null 2>&1
render=$(spent_s build/release/mien render shows/keeper.show.json --for 3600 --out /dev/null)
align=$(spent_s build/release/mien align shows/keeper.ogg --text shows/keeper.txt --out "$work/line.TextGrid")

python3 - "$work/bench.json" "$render" "$align" "$json" <<'PYTHON'
import json, math, sys

runs = {run["name"].split("/iterations")[0].removesuffix("/real_time"): run for run in json.load(open(sys.argv[1]))["benchmarks"]}
seconds = {"ns": 1e-9, "us": 1e-6, "ms": 1e-3, "s": 1.0}


def cpu_s(name):
    return runs[name]["cpu_time"] * seconds[runs[name]["time_unit"]]


LINE_S = 13.8  # shows/keeper.ogg
tick = "tick_64_channels_32_actuators"
figures = [
    ("tick_us", cpu_s(tick) * 1e6, "a tick, 64 channels, 32 actuators"),
    ("tick_constrained_us", max(cpu_s(n) for n in runs if n.startswith(tick + "_12")) * 1e6, "the same with 12 constraints, the worst of three shows"),
    ("curve_ns", max(cpu_s("curve_every_easing"), cpu_s("curve_all_bezier")) / 64 * 1e9, "a channel of 1,000 keys, a tick"),
    ("limiter_ns", cpu_s("limiter_32_actuators") / 32 * 1e9, "an actuator, a tick"),
    ("projection_us", cpu_s("project_32_actuators_12_rows/4") * 1e6, "32 angles moved to the nearest allowed, 4 constraints binding"),
    ("render_hour_s", float(sys.argv[2]), "mien render, the demo for an hour"),
    ("load_1m_s", cpu_s("load_a_million_keys"), "a show of 1,000,000 keys read"),
    ("save_1m_s", cpu_s("save_a_million_keys"), "and written"),
    ("waveform_10min_s", cpu_s("decode_ten_minutes/wav") + cpu_s("peaks_of_ten_minutes"), "10 minutes of sound decoded, with its waveform"),
    ("midi_to_wire_p99_ms", runs["MidiToTheWire/0"]["midi_to_wire_p99_ms"], "wall clock: from a MIDI byte to the frame's last"),
    ("align_rtf", float(sys.argv[3]) / LINE_S, "mien align on the demo's line, of its length"),
]
figures = [f for f in figures if not math.isnan(f[1])]
if sys.argv[4] == "1":
    print(json.dumps({name: round(value, 4) for name, value, _ in figures}))
else:
    for name, value, what in figures:
        print(f"{name:20} {value:9.3f}  {what}")
PYTHON
