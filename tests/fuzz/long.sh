#!/usr/bin/env bash
# Hours of fuzzing: every target in turn for MINUTES each, ROUNDS times, from the seeds and from a corpus that grows in
# FOLDER from one call to the next and is made small again after each round. A find is left in FOLDER/finds.
#   bash tests/fuzz/long.sh [MINUTES [ROUNDS [FOLDER]]]      (10 minutes each, 6 rounds, .build/corpus)
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")/../.."
minutes=${1:-10} rounds=${2:-6} folder=${3:-.build/corpus}
source tests/fuzz/targets.sh
cmake --preset sanitize >/dev/null
cmake --build --preset sanitize
mkdir -p "$folder/finds"
for ((round = 1; round <= rounds; ++round)); do
  for target in "${fuzz_targets[@]}"; do
    mkdir -p "$folder/$target"
    lay_seeds "$target" "$folder/$target"
    echo "== round $round: $target"
    ".build/sanitize/tests/fuzz/fuzz_$target" -max_total_time=$((60 * minutes)) -timeout=20 -rss_limit_mb=4096 -verbosity=0 \
      -print_final_stats=1 -artifact_prefix="$folder/finds/" "$folder/$target"
    small=$(mktemp -d "$folder/small.XXXXXX")
    ".build/sanitize/tests/fuzz/fuzz_$target" -merge=1 -rss_limit_mb=4096 -verbosity=0 "$small" "$folder/$target"
    rm -rf "${folder:?}/$target"
    mv "$small" "$folder/$target"
  done
done
