#!/usr/bin/env bash
# Installs the emulator that the firmware's tests run on into build/node, when it is not there yet in the version of the lock file.
set -euo pipefail
here=$(cd "$(dirname "$0")" && pwd)
to=$here/../../build/node
cmp -s "$here/package-lock.json" "$to/package-lock.json" && [[ -d $to/node_modules/rp2040js ]] && exit 0
mkdir -p "$to"
cp "$here/package.json" "$here/package-lock.json" "$to/"
if ! (cd "$to" && npm ci --no-audit --no-fund >npm.log 2>&1); then
  rm -f "$to/package-lock.json"
  echo "The emulator for the firmware's tests could not be installed ($to/npm.log says why); those tests will be skipped." >&2
fi
