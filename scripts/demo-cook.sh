#!/usr/bin/env bash
# The demo cook: live where there is a microphone and a speaker; else the recorded
# session is the ear, the dialogue is printed and the replies go to a WAV file.
set -euo pipefail
cd "$(dirname "$0")/.."
hobcall=target/release/hobcall
plan=plans/pork-chops-two-brines.yaml
if "$hobcall" doctor --sound >/dev/null 2>&1; then
  echo "A microphone and a speaker: talk to it. Say \"what can I say\" for help, \"end the cook\" to end."
  exec "$hobcall" cook "$plan"
fi
mkdir -p out
rm -f out/demo.journal
cat <<'SAY'
No microphone or no speaker here (`target/release/hobcall doctor` says which). So a recorded session
is the ear: a cook calls, the recogniser hears, the tool answers. Left: minutes and seconds.

SAY
"$hobcall" cook "$plan" --ear audio-fixtures/session.flac --voice none \
  --replies out/replies.wav --journal out/demo.journal
echo
echo "The replies as sound: out/replies.wav. The cook's journal: out/demo.journal."
echo "To cook with the keyboard: $hobcall cook $plan --ear typed"
