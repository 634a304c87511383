#!/usr/bin/env bash
# live-session.sh HOBCALL PLAN SESSION TRUTH CALLS OUT: the first CALLS of a spoken session
# through a real sound server, each said when the tool has been quiet for a while, as a cook
# does. Run it inside ci-audio.sh.
#
# LOOPBACK=0 keeps the tool's own voice out of its microphone; else it comes back into it,
# as in a kitchen where the speaker stands beside the microphone, 8 dB down and 30 ms late.
# CUT_IN=N says every Nth call 1.2 seconds after the tool has begun to speak instead.
# PIECES=MS lets another program ask the microphone for pieces of MS milliseconds from
# "quiet" on.
# Leaves in OUT: cook.journal, dialogue.txt; speaker.raw and mic.raw (16 kHz mono i16,
# begun together); said (samples of mic.raw shortly after the end of each call, its words);
# usage (label, milliseconds of the machine, ticks of the program's CPU time, peak resident
# KiB).
set -euo pipefail
hobcall=$1 plan=$2 session=$3 truth=$4 calls=$5 out=$6
sox "$session" "$out/room.wav" trim 0 15
if [ "${LOOPBACK:-1}" = 1 ]; then
  pactl load-module module-loopback source=spk.monitor sink=mic latency_msec=30 >/dev/null
  for _ in $(seq 40); do
    echo=$(pactl list short sink-inputs | awk '{print $1; exit}')
    [ -n "$echo" ] && break
    sleep 0.05
  done
  pactl set-sink-input-volume "$echo" -8dB
fi
record() { parec -d "$1.monitor" --raw --latency-msec=20 --rate=16000 --channels=1 --format=s16le >"$2"; }
record spk "$out/speaker.raw" &
speaker=$!
record mic "$out/mic.raw" &
mic=$!
# In large pieces: in small ones the server wakes the program hundreds of times a second.
(while :; do paplay --latency-msec=200 -d mic "$out/room.wav"; done) &
room=$!
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
# Whether the tool was silent for the last $1 tenths of a second.
silent() {
  tail -c $(($1 * 3200)) "$out/speaker.raw" | od -An -v -td2 |
    awk '{for (i = 1; i <= NF; i++) if ($i > 300 || $i < -300) n++} END {exit n > 20}'
}
# A step with its caution takes twenty seconds to say: a cook hears it out.
wait_silent() { for _ in $(seq 900); do silent "$1" && return; sleep 0.05; done; }
wait_voice() { for _ in $(seq 100); do silent 2 || return 0; sleep 0.05; done; }
wait_voice
usage begun
n=0
while IFS=$'\t' read -r from to _ words; do
  n=$((n + 1))
  [ "$n" -le "$calls" ] || break
  sox "$session" "$out/call.wav" trim "$(awk "BEGIN{print $from-0.25}")" "=$(awk "BEGIN{print $to+0.3}")"
  if [ "${CUT_IN:-0}" -gt 0 ] && [ $((n % CUT_IN)) = 0 ] && ! silent 2; then
    sleep 0.8
  else
    wait_silent 8
  fi
  paplay --latency-msec=20 -d mic "$out/call.wav"
  echo "$(($(stat -c %s "$out/mic.raw") / 2)) $words" >>"$out/said"
  wait_voice
done < <(grep -v '^#' "$truth")
wait_silent 10
usage heard
# The recorder asks the microphone for small pieces; most kitchens have nobody who does.
kill -TERM "$mic"
if [ -n "${PIECES:-}" ]; then
  parec -d mic.monitor --raw --latency-msec="$PIECES" --rate=16000 --channels=1 --format=s16le >/dev/null &
  mic=$!
fi
sleep 8
usage quiet
sleep "${QUIET:-0}"
usage end
# SIGTERM is how a system ends a program: the cook stays unfinished and is gone on with later.
kill -TERM "$cook"
wait "$cook"
sleep 0.3
kill -TERM "$speaker" "$room" 2>/dev/null
[ -z "${PIECES:-}" ] || kill -TERM "$mic"
wait "$speaker" "$mic" "$room" 2>/dev/null || true
