"""Where sentences of people can be cut into words and short phrases: many more speakers for what a cook says in a breath.

    python spans.py FILE.npz [FILE.npz ...] --checkpoint en.pt --assets DIR

Aligns the words of every utterance with an earlier network (CTC, Viterbi) and writes FILE.spans.npz beside each file, with
`spans`: a JSON list of [first sample, one past the last, [phone ids, ...]] in the sound of that file, of one to four words. Cut
is only where the sound falls 14 dB or more below the utterance's loud parts, so that no phone is halved.
"""
import argparse
import json
import random

import numpy as np
import torch

from export import features, load
from prepare_human import mu_decode
from texts import Lexicon

RATE, FRAME = 16000, 480
MOST_WORDS, EACH = 4, 8


def aligned(lp, phones):
    """Viterbi over CTC: -> (frame of each phone's peak, score a phone)"""
    s = np.zeros(2 * len(phones) + 1, int)
    s[1::2] = phones
    skip = np.zeros(len(s), bool)
    skip[3::2] = s[3::2] != s[1:-2:2]
    a = np.full(len(s), -np.inf)
    a[0], a[1] = lp[0, 0], lp[0, s[1]]
    back = np.zeros((len(lp), len(s)), np.int8)
    for t in range(1, len(lp)):
        b = np.concatenate([[-np.inf], a[:-1]])
        c = np.where(skip, np.concatenate([[-np.inf, -np.inf], a[:-2]]), -np.inf)
        m = np.stack([a, b, c])
        back[t] = m.argmax(0)
        a = m.max(0) + lp[t, s]
    k = len(s) - 1 if a[-1] > a[-2] else len(s) - 2
    score, path = a[k], []
    for t in range(len(lp) - 1, -1, -1):
        path.append(k)
        k -= int(back[t, k])
    path = np.array(path[::-1])
    at = []
    for i in range(len(phones)):
        f = np.flatnonzero(path == 2 * i + 1)
        if not len(f):
            return None, -np.inf
        at.append((f[0], f[-1]))
    return at, score / len(phones)


def cuts(x, at, words):
    """Samples where the sound may be cut: before each word and after the last; None where it may not."""
    n = len(x) // 160
    e = 10 * np.log10((x[:n * 160].reshape(n, 160) ** 2).mean(1) + 1e-8)
    e = np.convolve(e, np.ones(3) / 3, "same")
    loud = np.quantile(e, 0.9)
    out, k = [0], 0
    for w in words[:-1]:
        k += len(w)
        a, b = at[k - 1][1] * 3 + 2, at[k][0] * 3 + 1      # feature frames of 10 ms
        cut = None
        if b - a >= 6 and b < n:
            i = a + int(e[a:b].argmin())
            if e[i] < loud - 14:
                cut = i * 160 + 80
        out.append(cut)
    return out + [len(x)]


def main():
    ap = argparse.ArgumentParser()
    ap.add_argument("files", nargs="+")
    ap.add_argument("--checkpoint", required=True)
    ap.add_argument("--assets", required=True)
    a = ap.parse_args()
    torch.set_grad_enabled(False)
    net, mean, std, _ = load(a.checkpoint)
    lex = Lexicon(f"{a.assets}/cmudict-en-us.dict")
    rng = random.Random(1)
    for path in a.files:
        z = np.load(path)
        pcm, ends, meta = z["pcm"], z["ends"], json.loads(bytes(z["meta"]).decode())
        starts = np.concatenate([[0], ends[:-1]])
        order = np.argsort(ends - starts)
        spans, used = [], 0
        for i in range(0, len(order), 24):
            few = order[i:i + 24]
            xs = [(mu_decode(p) if p.dtype == np.uint8 else p.astype(np.float32) / 32768) for p in (pcm[starts[k]:ends[k]] for k in few)]
            whole = np.zeros((len(few), max(map(len, xs)) + 4800), np.float32)
            for row, x in zip(whole, xs):
                row[2400:2400 + len(x)] = x / (np.abs(x).max() + 1e-6) * 0.5
            f = features_of(whole, mean, std)
            lp = net(f)[0].log_softmax(-1).numpy()
            for k, x, rows in zip(few, xs, lp):
                text = meta[k]["text"].split()
                if len(text) < 3 or any(w not in lex for w in text):
                    continue
                rows = rows[5:5 + len(x) // FRAME + 4]       # the 2,400 samples before it are five frames
                best = (None, -np.inf, None)
                for n in range(3):
                    words = [lex.words[w][0] if n == 0 else rng.choice(lex.words[w]) for w in text]
                    flat = [p for w in words for p in w]
                    if 2 * len(flat) > 2 * len(rows):
                        continue
                    at, score = aligned(rows, flat)
                    if score > best[1]:
                        best = (at, score, words)
                    if all(len(lex.words[w]) == 1 for w in text):
                        break
                at, score, words = best
                if at is None or score < -2.2:
                    continue
                used += 1
                c = cuts(x, at, words)
                pairs = [(p, q) for p in range(len(words)) for q in range(p + 1, min(len(words), p + MOST_WORDS) + 1)
                         if q - p < len(words) and c[p] is not None and c[q] is not None]
                rng.shuffle(pairs)
                for p, q in pairs[:EACH]:
                    ids = [v for w in words[p:q] for v in w]
                    if len(ids) >= 2 and 0.2 * RATE < c[q] - c[p] < 3.2 * RATE:
                        spans.append([int(starts[k] + c[p]), int(starts[k] + c[q]), ids])
        out = path[:-4] + ".spans.npz"
        np.savez_compressed(out, spans=np.frombuffer(json.dumps(spans).encode(), np.uint8))
        print(path, len(meta), "utterances", used, "aligned", len(spans), "spans", f"{sum(s[1] - s[0] for s in spans) / RATE / 3600:.2f} h", flush=True)


def features_of(whole, mean, std):
    """Sounds [n, samples] -> features [n, frames, bands]."""
    return torch.cat([features(torch.from_numpy(row), mean, std) for row in whole])


if __name__ == "__main__":
    main()
