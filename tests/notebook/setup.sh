#!/usr/bin/env bash
# A Python with what the tests of tables need, in a folder of its own.
#
#   tests/notebook/setup.sh FOLDER        makes FOLDER/bin/python, with pinned packages; does nothing if they are there
#
# Needs python3 with its venv module (Debian: python3-venv) and a package index. Nothing outside FOLDER is changed.
set -euo pipefail

readonly PACKAGES=(frictionless==5.21.0 pandas==3.1.1 openpyxl==3.1.5 pyarrow==22.0.0)

if [ $# -ne 1 ]; then
    echo "usage: setup.sh FOLDER" >&2
    exit 2
fi
readonly folder=$1 stamp=$1/packages.txt

if [ -x "$folder/bin/python" ] && [ "$(cat "$stamp" 2>/dev/null)" = "${PACKAGES[*]}" ]; then
    exit 0
fi
if ! python3 -c 'import sys, ensurepip; sys.exit(sys.version_info < (3, 11))' 2>/dev/null; then
    echo "setup.sh: python3 (3.11 or later) with its venv module is missing; in Debian: apt-get install python3-venv" >&2
    exit 1
fi
python3 -m venv --clear "$folder"
"$folder/bin/python" -m pip install --quiet --disable-pip-version-check "${PACKAGES[@]}"
# Last, so that what was interrupted is made again.
printf '%s' "${PACKAGES[*]}" >"$stamp"
