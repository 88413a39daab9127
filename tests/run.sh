#!/usr/bin/env bash
# On a fresh Debian 12 machine: installs what the tests need, builds without and with sanitizers, runs all tests, and
# lets each fuzz target run for a short while. The closing lines of ctest are the last of each part.
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")/.."
source cli/packages.sh
install_packages g++ cmake ninja-build libeigen3-dev libfmt-dev nlohmann-json3-dev libboost-dev libboost-program-options-dev libsqlitecpp-dev libutf8proc-dev pkg-config catch2 libdlib-dev libgsl-dev \
  python3 python3-jsonschema clang-14 libclang-rt-14-dev clang-format-14
# What the optimiser may change, and what takes long, is tested on the shipped build; all else under sanitizers.
echo "== release"
cmake --preset release -DWHEELTAPPER_TESTS_ONCE=ON >/dev/null
cmake --build --preset release
ctest --preset release
echo "== sanitize"
cmake --preset sanitize >/dev/null
cmake --build --preset sanitize
ctest --preset sanitize
echo "== format"
find engine cli knowledge tests -name '*.cpp' -o -name '*.hpp' | xargs clang-format-14 --dry-run -Werror
echo "== fuzz"
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
source tests/fuzz/targets.sh
fuzz() {
  mkdir -p "$work/$1"
  lay_seeds "$1" "$work/$1"
  ".build/sanitize/tests/fuzz/fuzz_$1" -max_total_time=3 -timeout=300 -rss_limit_mb=4096 -print_final_stats=0 -verbosity=0 \
    -artifact_prefix="$work/" "$work/$1"
  echo "fuzz_$1: nothing found"
}
export -f fuzz lay_seeds
export work
printf '%s\n' "${fuzz_targets[@]}" | xargs -P "$(nproc)" -I{} bash -euo pipefail -c 'fuzz {}'
