#!/usr/bin/env bash
# Installs what is missing on a Debian machine: `setup.sh cook` for cooking,
# `setup.sh test` for the tests as
# well, `setup.sh bench` for the ear's bench. Does nothing that is already done.
set -euo pipefail
cd "$(dirname "$0")/.."
want=${1:-cook}

say() { printf '== %s\n' "$*" >&2; }
have() { dpkg-query -W -f='${Status}' "$1" 2>/dev/null | grep -q 'ok installed'; }

# ---- Debian packages
cook="ca-certificates curl gcc libc6-dev pkg-config python3-pip unzip
  libasound2-dev libasound2-plugins libflite1"
tests="pulseaudio pulseaudio-utils flite espeak-ng sox flac pocketsphinx-testdata pocketsphinx-en-us
  libsphinxbase3 python3-numpy chromium libclang-dev libspeechd-dev speech-dispatcher speech-dispatcher-espeak-ng"
packages=$cook
[ "$want" = test ] && packages="$cook $tests"
[ "$want" = bench ] && packages="$cook $tests festival festvox-kdlpc16k pocketsphinx"
missing=
for p in $packages; do have "$p" || missing="$missing $p"; done
if [ -n "$missing" ]; then
  if ! command -v apt-get >/dev/null; then
    echo "This is no Debian machine. Install by hand what these packages hold:$missing" >&2
    exit 1
  fi
  sudo=
  [ "$(id -u)" = 0 ] || sudo=sudo
  say "installing:$missing"
  $sudo apt-get update -qq
  # shellcheck disable=SC2086
  $sudo env DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends $missing >/dev/null
fi

# ---- Rust
need=1.95
export PATH="$HOME/.cargo/bin:$PATH"
version=$(rustc --version 2>/dev/null | cut -d' ' -f2 || true)
if [ -z "$version" ] || [ "$(printf '%s\n%s\n' "$need" "$version" | sort -V | head -1)" != "$need" ]; then
  if ! command -v rustup >/dev/null; then
    say "installing Rust (rustup 1.28.2, checked by its SHA-256)"
    case "$(uname -m)" in
      x86_64) host=x86_64-unknown-linux-gnu sum=20a06e644b0d9bd2fbdbfd52d42540bdde820ea7df86e92e533c073da0cdd43c ;;
      aarch64) host=aarch64-unknown-linux-gnu sum=e3853c5a252fca15252d07cb23a1bdd9377a8c6f3efa01531109281ae47f841c ;;
      *) echo "No pinned Rust installer for $(uname -m): install Rust $need or newer yourself, then run this again." >&2; exit 1 ;;
    esac
    tmp=$(mktemp -d)
    trap 'rm -rf "$tmp"' EXIT
    curl -fsSL --retry 3 -o "$tmp/rustup-init" "https://static.rust-lang.org/rustup/archive/1.28.2/$host/rustup-init" || {
      echo "Could not download the Rust installer. Install Rust $need or newer (cargo on the PATH), then run this again." >&2; exit 1; }
    echo "$sum  $tmp/rustup-init" | sha256sum --check --quiet -
    chmod +x "$tmp/rustup-init"
    "$tmp/rustup-init" -y --quiet --profile minimal --component rustfmt,clippy --default-toolchain 1.95.0 --no-modify-path
  else
    rustup toolchain install 1.95.0 --profile minimal --component rustfmt,clippy
    rustup default 1.95.0
  fi
fi

# ---- Vosk: the library for those who have a model, and the one model that the tests can install
[ -x scripts/get-vosk.sh ] && scripts/get-vosk.sh
if [ "$want" = test ] && [ -x scripts/get-vosk-ko.sh ]; then scripts/get-vosk-ko.sh; fi
exit 0
