#!/usr/bin/env bash
# ci-audio.sh COMMAND…: runs COMMAND beside a private, silent, real-time paced sound
# server, so that the microphone and the speaker can be tested on a machine without
# a sound card.
#
# Inside it the default ALSA devices are:
#   capture   the monitor of the null sink "mic": feed it with
#             paplay --latency-msec=20 -d mic FILE.wav
#   playback  the null sink "spk": record it with
#             parec -d spk.monitor --raw --latency-msec=20 --rate=16000 --channels=1 \
#                   --format=s16le >OUT.raw          (end it with TERM)
# Variables COMMAND sees: PULSE_SERVER, ALSA_CONFIG_PATH, HOME (its own, empty),
# HOBCALL_CI_PULSE_PID (to stop or kill the server and see what happens).
# Needs: pulseaudio, pulseaudio-utils, libasound2-plugins.
set -euo pipefail
[ $# -gt 0 ] || { sed -n '2,/^set/p' "$0" | sed '$d;s/^# \{0,1\}//'; exit 2; }
for tool in pulseaudio pactl; do
  command -v "$tool" >/dev/null || { echo "ci-audio: $tool is missing; install pulseaudio and pulseaudio-utils" >&2; exit 77; }
done

dir=$(mktemp -d)
mkdir "$dir/home"
# norewinds: without it the monitor gives its first block only after about a second
# and the head of the sound is lost.
cat >"$dir/ci.pa" <<EOF
load-module module-native-protocol-unix socket=$dir/native auth-anonymous=1
load-module module-null-sink sink_name=spk rate=16000 channels=1 norewinds=1
load-module module-null-sink sink_name=mic rate=16000 channels=1 norewinds=1
set-default-sink spk
set-default-source mic.monitor
EOF
cat >"$dir/asound.conf" <<EOF
</usr/share/alsa/alsa.conf>
pcm.!default { type pulse server "unix:$dir/native" }
ctl.!default { type pulse server "unix:$dir/native" }
EOF
HOME=$dir/home XDG_RUNTIME_DIR=$dir pulseaudio -n -F "$dir/ci.pa" --daemonize=no --exit-idle-time=-1 \
  --use-pid-file=no --disable-shm=yes --log-target=stderr 2>"$dir/pa.log" &
pa=$!
finish() {
  status=$?
  kill -CONT "$pa" 2>/dev/null || true
  kill "$pa" 2>/dev/null || true
  wait "$pa" 2>/dev/null || true
  rm -rf "$dir"
  exit "$status"
}
trap finish EXIT
for _ in $(seq 100); do
  [ -S "$dir/native" ] && break
  kill -0 "$pa" 2>/dev/null || { cat "$dir/pa.log" >&2; exit 1; }
  sleep 0.05
done
[ -S "$dir/native" ] || { echo "ci-audio: the sound server did not start" >&2; cat "$dir/pa.log" >&2; exit 1; }
# The socket is there before the sinks are.
for _ in $(seq 100); do
  sinks=$(PULSE_SERVER=unix:$dir/native pactl list short sinks 2>/dev/null || true)
  [[ $sinks == *mic* && $sinks == *spk* ]] && break
  sleep 0.05
done
sleep 0.5

# The toolchain lives under the real HOME.
export RUSTUP_HOME=${RUSTUP_HOME:-$HOME/.rustup} CARGO_HOME=${CARGO_HOME:-$HOME/.cargo}
HOME=$dir/home PULSE_SERVER=unix:$dir/native ALSA_CONFIG_PATH=$dir/asound.conf \
  HOBCALL_CI_PULSE_PID=$pa "$@"
