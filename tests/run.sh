#!/usr/bin/env bash
# Builds Mien and runs every test; ends with the summary of ctest. Installs what is missing. Seconds to build when nothing changed.
set -euo pipefail
cd "$(dirname "$0")/.."
bash third_party/install.sh test
mkdir -p build
bash tests/firmware/install.sh
cmake --preset release >build/configure.log || { cat build/configure.log; exit 2; }
cmake --build --preset release
ctest --preset release -j "$(nproc)" "$@"
