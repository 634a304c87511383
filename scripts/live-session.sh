#!/usr/bin/env bash
# live-session.sh HOBCALL PLAN SESSION SECONDS OUT: the first SECONDS of a spoken session
# through a real sound server. Run it inside ci-audio.sh.
#
# With LOOPBACK=1 the tool's own voice comes back into its microphone, as in a kitchen
# where the speaker stands beside the microphone.
# Leaves in OUT: cook.journal, dialogue.txt; speaker.raw and mic.raw (16 kHz mono i16,
# begun together); usage (label, milliseconds of the machine, ticks of the program's
# CPU time, peak resident KiB).
set -euo pipefail
hobcall=$1 plan=$2 session=$3 seconds=$4 out=$5
sox "$session" "$out/session.wav" trim 0 "$seconds"
if [ "${LOOPBACK:-0}" = 1 ]; then
  pactl load-module module-loopback source=spk.monitor sink=mic latency_msec=30 >/dev/null
fi
record() { parec -d "$1.monitor" --raw --latency-msec=20 --rate=16000 --channels=1 --format=s16le >"$2"; }
record spk "$out/speaker.raw" &
speaker=$!
record mic "$out/mic.raw" &
mic=$!
sleep 0.5
"$hobcall" cook "$plan" --ear mic --voice speaker --journal "$out/cook.journal" >"$out/dialogue.txt" 2>"$out/errors.txt" &
cook=$!
usage() {
  local stat
  stat=$(sed 's/.*) //' "/proc/$cook/stat")
  # shellcheck disable=SC2086
  set -- "$1" $stat
  echo "$1 $(date +%s%3N) $((${13} + ${14})) $(awk '/VmHWM/{print $2}' "/proc/$cook/status")" >>"$out/usage"
}
for _ in $(seq 200); do
  grep -q ' hob ' "$out/dialogue.txt" && break
  kill -0 "$cook"
  sleep 0.05
done
usage begun
paplay --latency-msec=20 -d mic "$out/session.wav"
usage heard
sleep 8
usage quiet
sleep "${QUIET:-0}"
usage end
# SIGTERM is how a system ends a program: the cook stays unfinished and is gone on with later.
kill -TERM "$cook"
wait "$cook"
sleep 0.3
kill -TERM "$speaker" "$mic"
wait "$speaker" "$mic" 2>/dev/null || true
