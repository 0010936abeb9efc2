#!/usr/bin/env bash
# bench.sh [--json|--readme] [--long]: what Mien costs on this machine, in a minute; processor time unless a row says otherwise. Run it on a quiet machine, and twice:
# figures of one machine differ by a third from run to run. build/release/tests/bench/mien_bench has many more.
#   --json    one object, a number for each figure     --readme  writes the table into README.md
#   --long    the same figures, measured thoroughly, in some six minutes: every action three times, each time in a window of its own; the million keys' picture, frames and
#             memory in a program each, on a show not yet edited or studied before as well as after; 600 MIDI messages instead of 100; ticks' lateness three times (the
#             middle one counts); every small number measured for half a second instead of a twentieth; five starts instead of three
set -euo pipefail
cd "$(dirname "$0")/.."
how='' long=''
for word; do
  case $word in
    --json|--readme) how=$word ;;
    --long) long=1 ;;
    *) sed -n 2,7p "$0"; exit 2 ;;
  esac
done
bash third_party/install.sh test
mkdir -p build
{ cmake --preset release && cmake --build --preset release --target mien mien_bench mien_window_bench; } >build/bench.log 2>&1 || { tail -n 20 build/bench.log; exit 2; }
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT

# Seconds of processor time that a command takes; nan, and why on standard error, where it fails.
spent_s() {
  local TIMEFORMAT='%U %S' code=0
  { time "$@" >/dev/null 2>"$work/said"; } 2>"$work/spent" || code=$?
  if ((code)); then cat "$work/said" >&2; echo nan; else awk '{print $1 + $2}' "$work/spent"; fi
}

pick() { if [[ $long ]]; then echo "$1"; else echo "$2"; fi; }  # of the long form, of the short one
# numbers NAME FILTER SECONDS [REPETITIONS]: into $work/NAME.json, by Google Benchmark.
numbers() {
  build/release/tests/bench/mien_bench --benchmark_filter="$2" --benchmark_min_time="$3" --benchmark_repetitions="${4-1}" --benchmark_out="$work/$1.json" --benchmark_out_format=json >/dev/null 2>&1
}
# The window, under a virtual screen where there is no display to be trusted: what its renderer draws with is said beside the figures.
window=build/release/tests/bench/mien_window_bench
export XDG_CONFIG_HOME=$work/config XDG_STATE_HOME=$work/state
in_window() {
  xvfb-run -a -s '-screen 0 1600x900x24 -nolisten tcp -noreset' "$window" "$@" >"$work/window.$1" 2>"$work/window.said.$1" || { tail -n 3 "$work/window.said.$1" >&2; return 0; }
}

# While a million keys are opened, edited and studied, which nobody times, the short form measures what has no need of a quiet machine: lateness, which is of a busy one
# (and at the same time as its peer's), what Mien does by the second, and the way from MIDI to the wire, most of which is the wait for a tick.

million=''
[[ $long ]] || { in_window million "$work/go" & million=$!; }
numbers lateness '^lateness' 1 "$(pick 3 1)"
render=$(spent_s build/release/mien render shows/keeper.show.json --for 3600 --out /dev/null)
align=$(spent_s build/release/mien align shows/keeper.ogg --text shows/keeper.txt --out "$work/line.TextGrid")
cp shows/keeper.rig.json shows/keeper.visemes.txt shows/keeper.show.json "$work"
speak=$(spent_s build/release/mien speak "$work/keeper.show.json" --audio shows/keeper.ogg --text shows/keeper.txt --out "$work/spoken.show.json")
numbers midi "^MidiToTheWire/0/iterations:$(pick 600 100)/" 1
if [[ $long ]]; then
  "$window" picture >"$work/window.picture" 2>"$work/window.said.picture"
  in_window frames
  in_window memory
else
  while kill -0 "$million" 2>/dev/null && ! grep -q memory_1m_mb "$work/window.million" 2>/dev/null; do sleep 0.1; done
  touch "$work/go"
  wait "$million"
fi
small='^(tick_64_channels_32_actuators|curve_|limiter_|project_32_actuators_12_rows/4|peer_)'
numbers small "$small" "$(pick 0.5 0.05)"
numbers large '^(decode_ten_minutes/wav|peaks_of|load_a_mil|save_a_mil)' "$(pick 1 0.2)"
in_window start build/release/mien shows/keeper.show.json "$(pick 5 3)"
in_window actions ${long:+thorough}
[[ -n $how ]] || cat "$work"/window.said.*

python3 - "$work" "$render" "$align" "$speak" "$how" "$long" <<'PYTHON'
import glob, json, math, os, statistics, sys

work, render, align, speak, how, long = sys.argv[1:]
runs = {}  # by name, the repetitions of each
for part in ("lateness", "small", "large", "midi"):
    for run in json.load(open(f"{work}/{part}.json"))["benchmarks"]:
        if run.get("run_type", "iteration") == "iteration":
            runs.setdefault(run["name"].split("/iterations")[0].removesuffix("/real_time"), []).append(run)
            if run.get("error_occurred"):
                print(f"{run['name']}: {run['error_message']}", file=sys.stderr)
nan = math.nan
seconds = {"ns": 1e-9, "us": 1e-6, "ms": 1e-3, "s": 1.0}


def cpu_s(name):
    return of(name, "cpu_time") * seconds[runs[name][0]["time_unit"]] if name in runs else nan


def of(name, what):  # the middle of the repetitions; nan where it was not measured
    values = [run[what] for run in runs.get(name, []) if not run.get("error_occurred") and what in run]
    return statistics.median(values) if values else nan


LINE_S = 13.8  # shows/keeper.ogg
tick = "tick_64_channels_32_actuators"
window = {name: float(value) for part in glob.glob(f"{work}/window.*") if ".said." not in part for name, value in (line.split() for line in open(part))}
scheduling = runs["lateness_under_load"][0].get("label", "")
# name, value, goal (nan: none is set), of what
figures = [
    ("tick_us", cpu_s(tick) * 1e6, nan, "a tick, 64 channels, 32 actuators"),
    ("tick_constrained_us", max(cpu_s(n) for n in runs if n.startswith(tick + "_12")) * 1e6, nan, "the same with 12 constraints, the worst of three shows"),
    ("curve_ns", max(cpu_s("curve_every_easing"), cpu_s("curve_all_bezier")) / 64 * 1e9, nan, "a channel of 1,000 keys, a tick"),
    ("limiter_ns", cpu_s("limiter_32_actuators") / 32 * 1e9, nan, "an actuator, a tick"),
    ("projection_us", cpu_s("project_32_actuators_12_rows/4") * 1e6, nan, "32 angles moved to the nearest allowed, 4 constraints binding"),
    ("curve_over_pchip", cpu_s("peer_curve_mien") / cpu_s("peer_curve_pchip"), nan, "of what Boost.Math's pchip takes, 64 smooth channels"),
    ("limiter_over_kdl", cpu_s("peer_limiter_mien") / cpu_s("peer_limiter_kdl/1"), nan, "of what KDL's trapezoid takes, from rest to rest, laid out every 20 ticks and read on each"),
    ("limiter_over_kdl_moving", cpu_s("peer_limiter_mien") / cpu_s("peer_limiter_kdl/2"), nan, "of it laid out on each tick, for targets that move"),
    ("projection_over_cgal", cpu_s("project_32_actuators_12_rows/4") / cpu_s("peer_projection_cgal"), nan, "of what CGAL's general solver of quadratic programs takes, in doubles"),
    ("tick_lateness_p99_us", of("lateness_under_load", "tick_lateness_p99_us"), nan, f"how late ticks begin while every core is busy, by the clock; {scheduling}"),
    ("bare_lateness_p99_us", of("lateness_under_load", "bare_lateness_p99_us"), nan, "of a bare loop on clock_nanosleep, at the same time and in the same class"),
    ("render_hour_s", float(render), nan, "`mien render`, the demo for an hour"),
    ("load_1m_s", cpu_s("load_a_million_keys"), nan, "a show of 1,000,000 keys read"),
    ("save_1m_s", cpu_s("save_a_million_keys"), nan, "and written"),
    ("waveform_10min_s", cpu_s("decode_ten_minutes/wav") + cpu_s("peaks_of_ten_minutes"), nan, "10 minutes of sound decoded, with its waveform"),
    ("midi_to_wire_p99_ms", of("MidiToTheWire/0", "midi_to_wire_p99_ms"), nan, "from a MIDI byte to the frame's last, by the clock; a tick is 10"),
    ("align_rtf", float(align) / LINE_S, nan, "`mien align` on the demo's line, of its length"),
    ("speak_rtf", float(speak) / LINE_S, 0.1, "`mien speak` on it, all of it: reading, aligning, mouth, saving, check of the closures"),
    ("window_1m_cpu_ms", window.get("window_1m_cpu_ms", nan), 1.5, "the picture of a window's frame with 1,000,000 keys, zoomed anywhere, chosen or folded: the worst"),
    ("window_1m_vertices", window.get("window_1m_vertices", nan), 30000, "vertices of it"),
    ("window_1m_frame_ms", window.get("window_1m_frame_ms", nan), 16.7, "that frame whole, 1600x900, drawn by the processor, by the clock: the median"),
    ("window_1m_over_empty", window.get("window_1m_over_empty", nan), 2, "of that of the same window with no keys"),
    ("ui_action_max_ms", window.get("ui_action_max_ms", nan), 16, "the dearest action on the demo with the frame that shows it, at the window's thread"),
    ("ui_frame_ms", window.get("ui_frame_ms", nan), nan, "a frame of the demo without one, likewise: the median"),
    ("start_cpu_ms", window.get("start_cpu_ms", nan), 300, "`mien edit` on the demo, to the first frame on screen, all threads"),
    ("memory_1m_mb", window.get("memory_1m_mb", nan), 600, f"the most memory with 1,000,000 keys and 1,000 edits of them to undo{', studied before and after' if long else ', studied after them only'}"),
]
figures = [f for f in figures if not math.isnan(f[1])]


def number(value):
    return f"{value:.0f}" if value >= 100 else f"{value:.1f}" if value >= 10 else f"{value:.2f}" if value >= 0.1 else f"{value:.2g}"


def readme():
    cpu = next((line.split(":")[1].strip() for line in open("/proc/cpuinfo") if line.startswith("model name")), "a processor unknown")
    table = [f"`bash tests/bench.sh{' --long' if long else ''}` (`--json` for programs; `--readme` wrote this table), on {os.cpu_count()} cores of {cpu}, processor time but where the row says otherwise:", "",
             "| figure | value | goal | of |", "|---|---|---|---|"]
    table += [f"| `{name}` | {number(value)} | {'' if math.isnan(goal) else f'{goal:,g}'} | {what} |" for name, value, goal, what in figures]
    text = open("README.md").read()
    head = "## What it costs\n\n"
    begin = text.index(head) + len(head)
    end = text.index("\n\n## ", begin)
    open("README.md", "w").write(text[:begin] + "\n".join(table) + text[end:])


if how == "--json":
    print(json.dumps({name: round(value, 4) for name, value, _, _ in figures}))
else:
    for name, value, goal, what in figures:
        verdict = "" if math.isnan(goal) else f"; goal {goal:,g}: {'met' if value <= goal else 'MISSED'}"
        print(f"{name:23} {value:9.3f}  {what}{verdict}")
if how == "--readme":
    readme()
PYTHON
