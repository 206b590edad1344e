#!/usr/bin/env bash
# System programs that some tests compare with. Installed when missing, where the system and the user's rights allow;
# elsewhere those tests are skipped and say so. In continuous integration (CI=true) a missing one is an error.
set -u
missing=()
for program in ngspice chromium; do command -v "$program" >/dev/null || missing+=("$program"); done
[ ${#missing[@]} = 0 ] && exit 0
if [ "$(id -u)" = 0 ] && command -v apt-get >/dev/null; then
  echo "installing ${missing[*]}" >&2
  export DEBIAN_FRONTEND=noninteractive
  { apt-get update -qq && apt-get install -y -qq --no-install-recommends "${missing[@]}"; } </dev/null >/dev/null ||
    echo "could not install ${missing[*]}" >&2
fi
left=()
for program in "${missing[@]}"; do command -v "$program" >/dev/null || left+=("$program"); done
[ ${#left[@]} = 0 ] && exit 0
echo "not installed: ${left[*]}; the tests that compare with it are skipped" >&2
[ "${CI:-}" != true ]
