#!/usr/bin/env bash
# journeys.sh [NAME...]: the ten commonest journeys through the real window, under a virtual screen: all, or those whose names have one of the words, such as
# take or 07. Each holds what it did against the files it saved, and leaves pictures in build/pictures/NN-NAME*.png. Installs what is missing, builds
# what it needs. Five minutes for all.
set -euo pipefail
cd "$(dirname "$0")/.."
[[ ${1-} == -* ]] && { sed -n 2,4p "$0"; exit 2; }
bash third_party/install.sh test
mkdir -p build/pictures
{ cmake --preset release && cmake --build --preset release --target mien mien_knobs; } >build/journeys.log 2>&1 || { tail -n 20 build/journeys.log; exit 2; }
failed=()
for script in tests/ui/journeys/*.sh; do
  name=$(basename "$script" .sh) wanted=$((!$#))
  for word; do [[ $name == *"$word"* ]] && wanted=1; done
  ((wanted)) || continue
  bash "$script" build/release/mien build/pictures || failed+=("$name")
done
((${#failed[@]} == 0)) || { echo "failed: ${failed[*]}"; exit 1; }
echo "All well; pictures are in build/pictures."
