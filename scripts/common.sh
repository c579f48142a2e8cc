# Shared by scripts/demo and scripts/test; source it from the top of the tree.

preset=release
build=build/$preset

say() { printf '\n== %s\n' "$*"; }

fail() {
  printf '\nstonecall: %s\n' "$*" >&2
  exit 1
}

# Installs the Debian packages that are not there yet. Asks the package lists only when something is missing.
install_packages() {
  local wanted missing=()
  wanted=$(sed -e 's/#.*//' -e '/^[[:space:]]*$/d' scripts/packages.txt)
  command -v dpkg-query >/dev/null || fail "this is not a Debian system; install what scripts/packages.txt lists by hand, then run this again with STONECALL_NO_INSTALL=1"
  [ -n "${STONECALL_NO_INSTALL:-}" ] && return 0
  for package in $wanted; do
    [ "$(dpkg-query -W -f '${db:Status-Status}' "$package" 2>/dev/null)" = installed ] || missing+=("$package")
  done
  [ ${#missing[@]} -eq 0 ] && return 0
  say "Installing ${#missing[@]} Debian packages: ${missing[*]}"
  local root=()
  if [ "$(id -u)" -ne 0 ]; then
    command -v sudo >/dev/null || fail "run this once as root (or with sudo installed): packages are missing: ${missing[*]}"
    root=(sudo)
  fi
  "${root[@]}" apt-get update -q || fail "the package lists could not be fetched; is the network up?"
  "${root[@]}" env DEBIAN_FRONTEND=noninteractive apt-get install -y -q --no-install-recommends "${missing[@]}" ||
    fail "some packages could not be installed; the lines above say which"
}

# build_targets TARGET…: configures when needed and builds, with ninja's own progress.
build_targets() {
  if [ ! -f "$build/build.ninja" ]; then
    say "Configuring ($preset)"
    cmake --preset "$preset" >"/tmp/stonecall-configure.$$" 2>&1 || { cat "/tmp/stonecall-configure.$$"; rm -f "/tmp/stonecall-configure.$$"; fail "configuring failed; the lines above say why"; }
    rm -f "/tmp/stonecall-configure.$$"
  fi
  say "Building: $*"
  cmake --build "$build" --target "$@" || fail "the build failed; the first error above is the one to look at"
}
