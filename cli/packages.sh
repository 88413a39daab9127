# Sourced by the two scripts: installs the Debian packages named that are missing.
install_packages() {
  local missing=() as_root=()
  for package in "$@"; do dpkg -s "$package" >/dev/null 2>&1 || missing+=("$package"); done
  ((${#missing[@]})) || return 0
  [ "$(id -u)" -eq 0 ] || as_root=(sudo)
  "${as_root[@]}" apt-get update -qq
  "${as_root[@]}" apt-get install -y --no-install-recommends "${missing[@]}"
}
