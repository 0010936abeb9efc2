#!/usr/bin/env bash
# run.sh [--full] [CTEST-OPTION...]: builds Mien and runs every test, then the fuzzers for 20 s each (--full: 60 s); ends with their table.
# Installs what is missing. Seconds to build when nothing changed.
set -euo pipefail
cd "$(dirname "$0")/.."
seconds=20
[[ ${1-} == --full ]] && seconds=60 && shift
bash third_party/install.sh test
mkdir -p build
bash tests/firmware/install.sh
cmake --preset release >build/configure.log || { cat build/configure.log; exit 2; }
cmake --build --preset release
code=0
ctest --preset release -j "$(nproc)" "$@" || code=$?
# Options mean a part of the tests alone.
(($#)) || bash tests/fuzz.sh --seconds $seconds || code=$?
exit $code
