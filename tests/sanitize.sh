#!/usr/bin/env bash
# sanitize.sh [asan|tsan] [CTEST-OPTION...]: builds the program and its tests under the address and undefined-behaviour sanitizers, or under the thread sanitizer, or one after the other, and runs
# the tests; ends with ctest's summary and exits with 1 where one failed or a sanitizer spoke. With options of ctest's, such as -R live, only those tests run.
# The first build takes a quarter of an hour on two cores.
#
# These don't run there, by their nature:
#   firmware.*                       what is tested is the board's image, which no sanitizer of the host's sees, on emulated chips that are ten times slower than they may be; its source is
#                                    tested as src/board and src/wire on the host, and lockstep.cpp can't be preloaded under a sanitizer
#   house.*                          run no program of ours
#   app.clock                        its clock is jumped by a library that is preloaded, which a sanitizer must be, too
#   editor.journey.09-live-take      not under the thread sanitizer: the JACK server there ends under the window, and libjack then cancels a thread of each client wherever it is. The sanitizer
#                                    looks away inside libraries there (tests/ui/hands.sh), and ends a program whose thread ends meanwhile; the same holds for editor.live and .time_code, which are long
#   labelled "long"                  hours instead of minutes; each has a short form that runs
#   RealtimeGuard.*, Performance.*   skip themselves: the guard takes the place of the same calls as a sanitizer
set -euo pipefail
cd "$(dirname "$0")/.."
presets=(asan tsan)
[[ ${1-} == asan || ${1-} == tsan ]] && presets=("$1") && shift
bash third_party/install.sh test
declare -A not=([asan]='^firmware\.|^app\.clock$|^test_firmware_NOT_BUILT|^house\.')
not[tsan]="${not[asan]}|^editor\.journey\.09"
support=$PWD/tests/support
code=0
for preset in "${presets[@]}"; do
  mkdir -p build/"$preset"
  cmake --preset "$preset" >build/"$preset"/configure.log || { cat build/"$preset"/configure.log; exit 2; }
  mapfile -t targets < <(ninja -C build/"$preset" -t targets all | sed -nE 's/^(test_[a-z]+|mien|mien_espeak|mien_desktop|mien_knobs): .*/\1/p' | grep -v test_firmware | sort -u)
  cmake --build --preset "$preset" --target "${targets[@]}"
  # Some containers let no process trace itself, which is how leaks are looked for; then they are not.
  leaks=1
  [[ $preset != asan ]] || build/asan/tests/test_wire --gtest_filter=None >build/asan/leaks.log 2>&1 || { leaks=0; echo "This machine lets no process trace itself, so leaks are not looked for here; everything else is."; }
  ASAN_OPTIONS=detect_leaks=$leaks LSAN_OPTIONS=suppressions=$support/lsan.txt:print_suppressions=0 UBSAN_OPTIONS=print_stacktrace=1 \
    TSAN_OPTIONS=suppressions=$support/tsan.txt:second_deadlock_stack=1 \
    ctest --preset "$preset" -j "$(nproc)" -LE long -E "${not[$preset]}" "$@" || code=1
done
exit $code
