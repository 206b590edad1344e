#!/usr/bin/env bash
# Pins what pyproject.toml asks for, and all that comes with it. Usage: lock.sh PYTHON FILE.
set -eu
python=$1 lock=$2
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
"$python" -m venv "$work/venv"
pip="$work/venv/bin/python -m pip --disable-pip-version-check --quiet"
$pip install hatchling editables
$pip install --no-build-isolation --editable '.[dev]'
{
  echo "# Exact versions of everything slipwise installs; made by 'make lock', used as constraints by the Makefile."
  $pip freeze --exclude-editable
} > "$work/lock"
mv "$work/lock" "$lock"
