#!/usr/bin/env bash
# install.sh build|test: installs the packages of packages.txt that are missing. "test" includes "build". Says nothing when all are there.
set -euo pipefail
want=${1:?which packages: build or test}
list=$(cd "$(dirname "$0")" && pwd)/packages.txt

needed=$(awk -F' *[|] *' -v want="$want" '!/^#/ && ($1 == "build" || $1 == want) {print $2}' "$list")
missing=()
for package in $needed; do
  [[ $(dpkg-query -W -f '${db:Status-Status}' "$package" 2>/dev/null) == installed ]] && continue
  command -v "$package" >/dev/null && continue  # there by another way, as npm is with many a nodejs
  missing+=("$package")
done
((${#missing[@]})) || exit 0

as_root=()
if ((EUID != 0)); then
  command -v sudo >/dev/null || { echo "These Debian packages are missing; install them as root, then run this again: ${missing[*]}" >&2; exit 2; }
  as_root=(sudo)
fi
echo "Installing ${#missing[@]} Debian packages: ${missing[*]}"
log=$(mktemp)
trap 'rm -f "$log"' EXIT
export DEBIAN_FRONTEND=noninteractive
if ! { "${as_root[@]}" apt-get update -q && "${as_root[@]}" apt-get install -y -q --no-install-recommends "${missing[@]}"; } >"$log" 2>&1; then
  tail -n 20 "$log" >&2
  echo "The packages could not be installed. Mien is built on Debian 12; check the network and the package sources, then run this again." >&2
  exit 2
fi
