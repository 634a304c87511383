"""Write the sentences of people who were kept out of training as a set for `bench_ear run … --human DIR`.

    python sentences.py --human DIR --out DIR [--talk]

Takes short sentences (two to eight words, up to 4.5 s) out of common-held.npz and ocean-held.npz, without the quiet around
them. What is said is what the list says, so that the grammar of the measurement is the list itself: a cook with an accent
and a microphone of any kind, saying one of some seventy sentences. With --talk all of them up to 9.5 s, as talk that nobody
is to take for a call of another grammar.
"""
import argparse
import json
import os
import re

import numpy as np
from scipy.io import wavfile

from prepare_human import mu_decode
from speech import RATE


def main():
    ap = argparse.ArgumentParser()
    ap.add_argument("--human", required=True)
    ap.add_argument("--out", required=True)
    ap.add_argument("--talk", action="store_true")
    a = ap.parse_args()
    os.makedirs(a.out, exist_ok=True)
    lines = []
    for file in ("common-held", "ocean-held"):
        z = np.load(f"{a.human}/{file}.npz")
        sound, start = mu_decode(z["pcm"]), 0
        for end, about in zip(z["ends"].astype(int), json.loads(bytes(z["meta"]).decode())):
            x, start, text = sound[start:end], end, about["text"].strip()
            if len(x) > (9.5 if a.talk else 4.5) * RATE:
                continue
            if not a.talk and not (re.fullmatch(r"[a-z' ]+", text) and 2 <= len(text.split()) <= 8):
                continue
            loud = np.flatnonzero(np.abs(x) > 0.02 * np.abs(x).max())
            x = x[max(0, loud[0] - 800):loud[-1] + 800]
            name = f"{about['engine']}-{len(lines):03d}.wav"
            x = np.concatenate([np.zeros(1600), 0.6 * x / np.abs(x).max()])
            wavfile.write(f"{a.out}/{name}", RATE, (x * 32767).astype(np.int16))
            lines.append(f"{'talk' if a.talk else 'calls'}\t{name}\t{text}\t{about['voice']}\n")
    with open(f"{a.out}/list.tsv", "w") as f:
        f.writelines(lines)
    print(len(lines), "sentences")


if __name__ == "__main__":
    main()
