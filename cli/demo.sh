#!/usr/bin/env bash
# On a fresh Debian 12 machine: installs what the program needs, builds it and diagnoses a demo case.
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")/.."
packages=(g++ cmake ninja-build libfmt-dev nlohmann-json3-dev libboost-dev libboost-program-options-dev)
missing=()
for package in "${packages[@]}"; do dpkg -s "$package" >/dev/null 2>&1 || missing+=("$package"); done
if ((${#missing[@]})); then
  as_root=(); [ "$(id -u)" -eq 0 ] || as_root=(sudo)
  "${as_root[@]}" apt-get update -qq
  "${as_root[@]}" apt-get install -y --no-install-recommends "${missing[@]}"
fi
cmake --preset program >/dev/null
cmake --build --preset program
.build/program/cli/wheeltapper diagnose cases/demo/dry-bearings.json
