#!/usr/bin/env bash
# one_by_one.sh: how each file is compiled by itself. A build that compiles files in batches (MIEN_BATCHES) knows only the batches; this prints the folder of a compile_commands.json without.
set -euo pipefail
cd "$(dirname "$0")/../.."
tree=build/release
if ! grep -qs '^MIEN_BATCHES:BOOL=OFF' $tree/CMakeCache.txt; then
  tree=build/one_by_one
  mkdir -p $tree
  cmake --preset release -B $tree -DMIEN_BATCHES=OFF >$tree/configure.log 2>&1 || { cat $tree/configure.log >&2; exit 2; }
fi
echo $tree
