#!/usr/bin/env bash
# get-vosk.sh: puts the Vosk speech library (Apache-2.0) into vendor/vosk/, from its
# Python package, checked against the hash below. Does nothing if it is there.
set -euo pipefail
cd "$(dirname "$0")/.."
version=0.3.45
hash=25e025093c4399d7278f543568ed8cc5460ac3a4bf48c23673ace1e25d26619f
to=vendor/vosk
[ -f "$to/libvosk.so" ] && exit 0
if [ "$(uname -sm)" != "Linux x86_64" ]; then
  echo "get-vosk: only the build for Linux on x86_64 is fetched; put libvosk.so into $to yourself" >&2
  exit 1
fi
dir=$(mktemp -d)
trap 'rm -rf "$dir"' EXIT
echo "vosk==$version --hash=sha256:$hash" >"$dir/requirements.txt"
python3 -m pip download --quiet --disable-pip-version-check --no-deps --only-binary :all: \
  --python-version 3.9 --platform manylinux2010_x86_64 \
  --require-hashes --requirement "$dir/requirements.txt" --dest "$dir"
python3 - "$dir"/vosk-*.whl "$dir" <<'PY'
import sys, zipfile
zipfile.ZipFile(sys.argv[1]).extract("vosk/libvosk.so", sys.argv[2])
PY
mkdir -p "$to"
# Moved last, so that a half-written library is never found.
mv "$dir/vosk/libvosk.so" "$to/libvosk.so"
echo "get-vosk: $to/libvosk.so"
