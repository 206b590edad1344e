#!/usr/bin/env bash
# Makes a virtual environment. Usage: venv.sh PYTHON FOLDER. Some systems keep the venv module in a package of its own.
set -eu
python=$1 folder=$2
echo "making a virtual environment in $folder with $("$python" --version)" >&2
if "$python" -m venv "$folder" >/dev/null 2>&1; then exit 0; fi
rm -rf "$folder"
if [ "$(id -u)" = 0 ] && command -v apt-get >/dev/null; then
  version=$("$python" -c 'import sys; print("%d.%d" % sys.version_info[:2])')
  apt-get update -qq </dev/null >&2
  apt-get install -y -qq --no-install-recommends "python$version-venv" </dev/null >&2 ||
    apt-get install -y -qq --no-install-recommends python3-venv </dev/null >&2
  exec "$python" -m venv "$folder"
fi
if "$python" -m virtualenv --version >/dev/null 2>&1; then exec "$python" -m virtualenv --quiet "$folder"; fi
echo "slipwise: $python has neither the venv nor the virtualenv module; install it (on Debian: python3-venv) and run make again" >&2
exit 2
