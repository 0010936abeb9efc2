#!/usr/bin/env bash
# fuzz.sh [--seconds N] [--jobs N] [--seeds PROGRAM] [TARGET...]: builds the fuzzers of tests/fuzz under the address and undefined-behaviour sanitizers and runs
# each for N seconds (20), so many at a time (as there are processors). Prints a table and exits with 1 where anything was found; what
# made it fail is kept in build/fuzz/findings/TARGET. --seeds: fuzz_seeds as another build has it, which saves building most of Mien anew. Each run goes on from the inputs that earlier ones gathered in build/fuzz/corpus/TARGET.
set -euo pipefail
cd "$(dirname "$0")/.."
seconds=20 jobs=$(nproc) seeds='' targets=()
while (($#)); do
  case $1 in
    --seconds) seconds=${2:?--seconds takes a number}; shift 2 ;;
    --jobs) jobs=${2:?--jobs takes a number}; shift 2 ;;
    --seeds) seeds=${2:?--seeds takes a program}; shift 2 ;;
    -*) echo "usage: fuzz.sh [--seconds N] [--jobs N] [--seeds PROGRAM] [TARGET...]" >&2; exit 2 ;;
    *) targets+=("$1"); shift ;;
  esac
done
all=(wire_board wire_host repeater baked rig show version0 keys head_table home sound describe midi map library take osc sacn)
((${#targets[@]})) || targets=("${all[@]}")
for target in "${targets[@]}"; do
  [[ " ${all[*]} " == *" $target "* ]] || { echo "There is no fuzzer '$target'. There are: ${all[*]}" >&2; exit 2; }
done

bash third_party/install.sh test
mkdir -p build/fuzz
cmake --preset fuzz >build/fuzz/configure.log 2>&1 || { tee build/fuzz/found.txt <build/fuzz/configure.log; exit 2; }
built=("${targets[@]/#/fuzz_}")
[[ -n $seeds ]] || built+=(fuzz_seeds)
cmake --build build/fuzz --target "${built[@]}" >build/fuzz/build.log 2>&1 || { tail -n 40 build/fuzz/build.log | tee build/fuzz/found.txt; exit 2; }
out=build/fuzz
rm -rf $out/seeds
"${seeds:-$out/tests/fuzz/fuzz_seeds}" $out/seeds >$out/seeds.log 2>&1 || { tee $out/found.txt <$out/seeds.log; exit 2; }
# The sanitizer looks for leaks by tracing its own process, which some containers forbid: every program would fail then, whatever it read.
leaks=1
if ! "$out/tests/fuzz/fuzz_${targets[0]}" -runs=0 >$out/leaks.log 2>&1; then
  grep -q "LeakSanitizer has encountered a fatal error" $out/leaks.log || { tee $out/found.txt <$out/leaks.log; exit 2; }
  leaks=0
  echo "This machine lets no process trace itself, so leaks are not looked for here; everything else is."
fi
# The names of fields and the words that files may hold: tokens that mutations put together.
grep -ohE '"[A-Za-z_ -]+"' tests/samples/*.json shows/*.json | sort -u | head -n 400 |
  sed -E 's/^"(.*)"$/"\\"\1\\""/' >$out/words.dict
printf '"true"\n"false"\n"1e300"\n"-1"\n"<script"\n"\\\\u0000"\n"bezier("\n' >>$out/words.dict

run() {
  local target=$1 most=4096 words=()
  case $target in
    rig | describe) most=32768 words=(-dict=$out/words.dict) ;;
    show | version0 | keys | map | library | take) most=8192 words=(-dict=$out/words.dict) ;;
  esac
  mkdir -p "$out/corpus/$target" "$out/findings/$target"
  local begin=("$out/corpus/$target" "$out/seeds/$target")
  [[ ! -d tests/fuzz/regressions/$target ]] || begin+=("tests/fuzz/regressions/$target")
  # Found by its place, as only another package puts it on the path; without it the next line's name matches nothing.
  export ASAN_SYMBOLIZER_PATH=/usr/lib/llvm-14/bin/llvm-symbolizer
  # libsndfile 1.2.0 does not free its decoder where the head of a Vorbis file is damaged: known, and not ours to mend.
  echo "leak:vorbis_info_init" >"$out/leaks.txt"
  local code=0
  ASAN_OPTIONS=detect_leaks=$leaks LSAN_OPTIONS=suppressions="$out/leaks.txt:print_suppressions=0" UBSAN_OPTIONS=print_stacktrace=1 nice "$out/tests/fuzz/fuzz_$target" "${begin[@]}" \
    -max_total_time="$seconds" -max_len=$most -timeout=20 -rss_limit_mb=2048 -print_final_stats=1 -close_fd_mask=1 "${words[@]}" \
    -artifact_prefix="$out/findings/$target/" >"$out/$target.log" 2>&1 || code=$?
  echo $code >"$out/$target.code"
}
for target in "${targets[@]}"; do
  while (($(jobs -rp | wc -l) >= jobs)); do wait -n; done
  run "$target" &
done
wait

found=0
printf '%-12s %12s %10s %8s %9s\n' target runs runs/s corpus findings
for target in "${targets[@]}"; do
  log=$out/$target.log
  stat() { sed -n "s/^stat::$1: *//p" "$log"; }
  code=$(<"$out/$target.code")
  printf '%-12s %12s %10s %8s %9s\n' "$target" "$(stat number_of_executed_units)" "$(stat average_exec_per_sec)" \
    "$(find "$out/corpus/$target" -type f | wc -l)" "$((code != 0))"
  ((code == 0)) || found=1
done
for target in "${targets[@]}"; do
  [[ $(<"$out/$target.code") == 0 ]] && continue
  echo
  echo "fuzz_$target failed with $(<"$out/$target.code") (all of it in $out/$target.log):"
  grep -E "broken promise|ERROR: |runtime error:|Test unit written|SUMMARY|what\(\)|^ +#[0-9]+ " "$out/$target.log" | head -n 14
  # The input itself, where it is small enough to be carried from another machine by hand.
  find "$out/findings/$target" -type f -newer "$out/seeds" -size -3k -exec sh -c 'echo "$1, in base64:"; base64 -w 160 "$1"' sh {} \;
  echo "Again with: $out/tests/fuzz/fuzz_$target <the file above>"
done | tee $out/found.txt
exit $found
