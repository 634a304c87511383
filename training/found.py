"""Recordings with their sentences -> the format of prepare_human.py.

    python found.py OUT.npz --list FILE.tsv [FILE.tsv ...] --name ENGINE --assets DIR [--held HELD.npz] [--minutes 15]

Each list has lines `path<TAB>words<TAB>speaker`, paths relative to the list. Words are lower case, numbers written out. An
utterance with a word outside the dictionary is left out. `--held` takes four percent of the speakers, by hash, out of training.
`--minutes` at most of one speaker.
"""
import argparse
import json
import os

import numpy as np
import soundfile as sf

from prepare_human import mu_encode, share, trimmed
from synth import RATE, resampled
from texts import Lexicon


def main():
    ap = argparse.ArgumentParser()
    ap.add_argument("out")
    ap.add_argument("--list", nargs="+", required=True)
    ap.add_argument("--name", required=True)
    ap.add_argument("--assets", required=True)
    ap.add_argument("--held")
    ap.add_argument("--minutes", type=float, default=15)
    a = ap.parse_args()
    lex = Lexicon(f"{a.assets}/cmudict-en-us.dict")
    parts = {False: ([], [], []), True: ([], [], [])}
    heard, unknown = {}, 0
    for path in a.list:
        for line in open(path, encoding="utf-8"):
            name, text, speaker = line.rstrip("\n").split("\t")
            text = " ".join(text.lower().split())
            phones = lex.variants(text)
            if not phones:
                unknown += 1
                continue
            if heard.get(speaker, 0) > a.minutes * 60:
                continue
            x, rate = sf.read(os.path.join(os.path.dirname(path), name), dtype="float32", always_2d=True)
            x = trimmed(resampled(x.mean(1), rate))
            if not 0.15 * RATE < len(x) < 15.4 * RATE:
                continue
            heard[speaker] = heard.get(speaker, 0) + len(x) / RATE
            pcm, ends, meta = parts[bool(a.held) and share(speaker) < 0.04]
            pcm.append(mu_encode(x / (np.abs(x).max() + 1e-6) * 0.6))
            ends.append(len(x) + (ends[-1] if ends else 0))
            meta.append({"text": text, "kind": "human", "engine": a.name, "voice": speaker, "phones": phones})
    for held, (pcm, ends, meta) in parts.items():
        if pcm:
            np.savez(a.held if held else a.out, pcm=np.concatenate(pcm), ends=np.array(ends), meta=np.frombuffer(json.dumps(meta).encode(), np.uint8))
            print(a.name, "held" if held else "train", len(meta), "utterances", f"{ends[-1] / RATE / 3600:.2f} h", len({m["voice"] for m in meta}), "speakers")
    print("left out for unknown words:", unknown)


if __name__ == "__main__":
    main()
