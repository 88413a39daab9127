#!/usr/bin/env bash
# On a fresh Debian 12 machine: installs what the program needs, builds it and diagnoses a demo case.
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")/.."
source cli/packages.sh
install_packages g++ cmake ninja-build libeigen3-dev libfmt-dev nlohmann-json3-dev libboost-dev libboost-program-options-dev libsqlitecpp-dev libutf8proc-dev pkg-config
cmake --preset program >/dev/null
cmake --build --preset program
.build/program/cli/wheeltapper diagnose cases/demo/dry-bearings.json
