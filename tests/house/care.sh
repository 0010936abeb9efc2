#!/usr/bin/env bash
# care.sh [--fast | --wide] [--tests] [--jobs N] [FILE...]: clang-tidy by .clang-tidy and cppcheck by tests/house/cppcheck.txt, over all of src/ or over these files. Prints FILE:LINE for each finding and exits with 1 where there is one, with 77
# where a tool is missing. A file that was clean is looked at again only when it, a header of the project that it includes, or the checks have changed; what is known of that lies in build/care.
#   --fast    only the bytes (src/wire)
#   --wide    clang-tidy for the bytes and the boards (src/wire, src/board), where a mistake moves servos, and cppcheck for all
#   --tests   the tests, too
set -euo pipefail
cd "$(dirname "$0")/../.."
fast=0 wide=0 tests=0 jobs=$(nproc) files=()
while (($#)); do
  case $1 in
    --fast) fast=1 ;;
    --wide) wide=1 ;;
    --tests) tests=1 ;;
    --jobs) jobs=${2:?--jobs takes a number}; shift ;;
    -*) echo "usage: care.sh [--fast | --wide] [--tests] [--jobs N] [FILE...]" >&2; exit 2 ;;
    *) [[ -f $1 ]] || { echo "There is no file '$1'." >&2; exit 2; }; files+=("$1") ;;
  esac
  shift
done
for tool in clang-tidy-14 cppcheck; do
  command -v $tool >/dev/null || { echo "$tool is not installed: bash third_party/install.sh test"; exit 77; }
done
tree=$(bash tests/house/one_by_one.sh)
out=build/care
mkdir -p $out/clean $out/cppcheck
said=$(mktemp -d $out/said.XXXXXX)
trap 'rm -rf "$said" "$said".*' EXIT

# A check that finds nothing wrong in what is wrong fails, too.
echo 'int wrong(int n) { int two[2] = {n, n}; return n == n ? two[2] : two[0]; }' >$said.wrong.cpp
{ clang-tidy-14 -quiet $said.wrong.cpp -- 2>&1 || true; } | grep -q misc-redundant-expression || { echo "clang-tidy overlooks a comparison of a value with itself: is .clang-tidy read?"; exit 1; }
{ cppcheck --quiet $said.wrong.cpp 2>&1 || true; } | grep -q 'out of bounds' || { echo "cppcheck overlooks an index beyond the end."; exit 1; }

# Which files: those that are compiled here. The firmware's own and the fuzzers are compiled by others, for others.
mapfile -t compiled < <(sed -n 's/^ *"file": "\(.*\)",\{0,1\}$/\1/p' $tree/compile_commands.json | sed "s#^$PWD/##" | sort -u)
if ((!${#files[@]})); then
  where='^src/'
  ((wide)) && where='^src/(wire|board)/'
  ((fast)) && where='^src/wire/'
  ((tests)) && where='^(src|tests)/'
  mapfile -t files < <(printf '%s\n' "${compiled[@]}" | grep -E "$where")
  checked=(src)
  ((fast)) && checked=(src/wire)
  ((tests)) && checked+=(tests)
else
  checked=("${files[@]}")
fi

# Headers that each file includes, as the build noted them; where nothing was built, any header that changes makes all files new.
ninja -C $tree -t deps 2>/dev/null | awk -v root="$PWD/" '
  /^[^ ]/ { first = 1; next }
  NF { path = $1; sub("^\\.\\./\\.\\./", "", path); sub("^" root, "", path)
       if (first) { file = path; first = 0 } else if (path ~ /^(src|tests)\//) print file "\t" path }' >$said.includes || true
every_header=$(find src tests -name '*.hpp' -print0 | sort -z | xargs -0 cat | sha256sum)
key_of() {
  local headers
  headers=$(awk -F'\t' -v file="$1" '$1 == file { print $2 }' $said.includes)
  { cat .clang-tidy "$1"; if [[ -n $headers ]]; then echo "$headers" | xargs cat 2>/dev/null; else echo "$every_header"; fi; } | sha256sum | cut -d' ' -f1
}
tidy() {
  local key
  key=$(key_of "$1")
  [[ -e $out/clean/$key ]] && return
  if clang-tidy-14 -quiet -p $tree "$1" >"$said/${1//\//_}" 2>"$said/${1//\//_}.err"; then
    rm "$said/${1//\//_}"
    : >"$out/clean/$key"
  elif ! grep -qE '^[^ ]+:[0-9]+:[0-9]+: (error|warning)' "$said/${1//\//_}"; then
    echo "$1:1:1: error: clang-tidy itself failed: $(tail -n 1 "$said/${1//\//_}.err")" >"$said/${1//\//_}"
  fi
  rm -f "$said/${1//\//_}.err"
}
for file in "${files[@]}"; do
  [[ $file == *.cpp ]] || continue
  while (($(jobs -rp | wc -l) >= jobs)); do wait -n; done
  tidy "$file" &
done
wait
grep -v '^#' tests/house/cppcheck.txt | grep . >$said.cppcheck
cppcheck --quiet --enable=warning,performance,portability --std=c++20 --language=c++ -j "$jobs" --cppcheck-build-dir=$out/cppcheck -I src -I tests \
  --suppressions-list=$said.cppcheck --template='{file}:{line}:{column}: {severity}: {message} [cppcheck-{id}]' "${checked[@]}" >$said/cppcheck 2>&1 || echo "cppcheck:1:1: error: it failed itself" >>$said/cppcheck
findings=$(find $said -type f -exec cat {} + | sed "s#$PWD/##g" | grep -E '^[^ ]+:[0-9]+:[0-9]+: (error|warning|performance|portability)' | sed 's/,-warnings-as-errors//' | sort -u || true)
if [[ -n $findings ]]; then
  printf '%s\n' "$findings"
  echo "$(wc -l <<<"$findings") findings. Each is to be mended; where the tool is wrong, say why: NOLINT with a reason, or in .clang-tidy or tests/house/cppcheck.txt."
  exit 1
fi
echo "clang-tidy is content with ${#files[@]} files, cppcheck with ${checked[*]}."
