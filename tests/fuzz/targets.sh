# Sourced: the fuzz targets, and how their seeds are laid into a corpus (lay_seeds TARGET FOLDER).
fuzz_targets=(case dialogue job knowledge lines pages reading series)
lay_seeds() {
  local seeds=tests/fuzz/seeds/$1
  case $1 in case) seeds=cases/demo ;; knowledge) seeds=knowledge ;; esac
  find "$seeds" -type f ! -name '*.cpp' ! -name '*.hpp' ! -name 'CMakeLists.txt' ! -path '*/schema/*' -size -200k \
    -exec sh -c 'for f; do cp "$f" "$0/$(echo "$f" | tr / _)"; done' "$2" {} +
}
