#!/usr/bin/env bash
# run.sh [--full] [CTEST-OPTION...]: builds Mien, throws 20 s of bytes at each of its readers, and runs the tests; ends with ctest's summary.
# Installs what is missing. Seconds to build when nothing changed.
#   --full    60 s for each reader, the tests labelled "long" and the programs that measure, too: twice as long
# With options of ctest's, such as -R limiter, only those tests run.
set -euo pipefail
cd "$(dirname "$0")/.."
seconds=20 which=(-LE long)
[[ ${1-} == --full ]] && seconds=60 which=() && shift
bash third_party/install.sh test
mkdir -p build
bash tests/firmware/install.sh
cmake --preset release >build/configure.log || { cat build/configure.log; exit 2; }
cmake --build --preset release
((${#which[@]})) || cmake --build --preset release --target measures
code=0 fuzz_code=0
(($#)) || bash tests/fuzz.sh --seconds $seconds --seeds build/release/tests/fuzz/fuzz_seeds || fuzz_code=$?
# One more at a time than there are processors, as many wait most of their time.
ctest --preset release -j $(($(nproc) + 1)) "${which[@]}" "$@" || code=$?
if ((fuzz_code)); then  # said again, since what ctest printed since then hides it
  printf '\nThe tests above are not all: tests/fuzz.sh failed.\n'
  cat build/fuzz/found.txt
  code=$fuzz_code
fi
exit $code
