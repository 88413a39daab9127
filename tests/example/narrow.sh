#!/usr/bin/env bash
# Builds the rooms up to `app` with the example program for a machine whose size_t has 32 bits, as a page in a browser has,
# and holds what it says over the demo cases against the other faces. Not a part of tests/run.sh: it needs packages for
# another architecture, and QEMU where the kernel runs no 32-bit programs.
#
#   bash tests/example/narrow.sh PROGRAM [--few]
set -euo pipefail
program=$(realpath "$1")
shift
cd "$(dirname "${BASH_SOURCE[0]}")/../.."
source cli/packages.sh
if [ "$(id -u)" -eq 0 ]; then dpkg --add-architecture i386; else sudo dpkg --add-architecture i386; fi
install_packages g++-multilib libutf8proc2:i386 qemu-user libeigen3-dev libfmt-dev nlohmann-json3-dev libboost-dev libutf8proc-dev python3 python3-jsonschema
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
packed=$(find "$(dirname "$program")/.." -name shipped_bytes.cpp | head -1)
for room in input measure bench catalogue belief plan cases job guide statistics app; do
  find "$PWD/engine/$room" -name '*.cpp' | sort | sed 's/.*/#include "&"/' > "$work/$room.cpp"
done
printf '#include "%s"\n' "$PWD/knowledge/shipped.cpp" "$packed" > "$work/knowledge.cpp"
cp tests/example/whole_job.cpp "$work/"
find "$work" -name '*.cpp' -print0 | xargs -0 -P "$(nproc)" -I{} \
  g++ -m32 -msse2 -mfpmath=sse -std=c++20 -O1 -DFMT_HEADER_ONLY -Wall -Wextra -Wconversion -Werror -I"$PWD" -I/usr/include/x86_64-linux-gnu \
    -isystem /usr/include/eigen3 -c {} -o {}.o
g++ -m32 "$work"/*.o /usr/lib/i386-linux-gnu/libutf8proc.so.2 -o "$work/narrow"
printf '#!/bin/sh\nexec qemu-i386 %s "$@"\n' "$work/narrow" > "$work/whole_job"
chmod +x "$work/whole_job"
python3 tests/program/faces.py "$program" "$PWD" "$work/whole_job" "$@"
