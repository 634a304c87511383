"""Phone error and call accuracy on voices and people kept out of training.

    python evaluate.py CHECKPOINT|ONNX_DIR --held DIR --human DIR [--write DIR] [--per-group 60]

`--held` holds shards made by `synth.py --held`, `--human` the folder of prepare_human.py. Every utterance is heard clean and
at 20, 10, 5 and 0 dB, dry and in an image-source room, in synthetic and real kitchen noise. Call accuracy: the best of the
evaluation grammar's sentences by CTC likelihood over a trie of phones; no dictionary is searched, no context helps, nothing is
rejected. `--write` also saves the sounds as WAV files with a list, so that another program can be measured on the same ones.
"""
import argparse
import glob
import json
import os
import re
import sys
import wave
import zlib

import numpy as np
import torch

import augment
import rooms
from evalgrammar import sentences
from export import features, load, stream
from model import STRIDE
from prepare_human import mu_decode
from texts import PHONES, Lexicon

RATE = 16000
LEVELS = [None, 20, 10, 5, 0]


class Trie:
    """All pronunciations of all sentences; CTC likelihood of every one in a single pass over the frames."""

    def __init__(self, texts, lex):
        self.phone, self.parent, self.end, child = [0], [0], [], {}
        for i, t in enumerate(texts):
            seqs = [[]]
            for w in t.split():
                seqs = [s + p for s in seqs for p in lex.words[w][:3]][:24]
            for s in seqs:
                n = 0
                for p in s:
                    if (n, p) not in child:
                        child[n, p] = len(self.phone)
                        self.phone.append(p)
                        self.parent.append(n)
                    n = child[n, p]
                self.end.append((n, i))
        self.phone, self.parent = np.array(self.phone), np.array(self.parent)
        self.node, self.which = np.array([e[0] for e in self.end]), np.array([e[1] for e in self.end])
        self.same = self.phone == self.phone[self.parent]

    def best(self, lp):
        """lp [T, C] log-probabilities -> (index of the best sentence, its log-likelihood)"""
        N = len(self.phone)
        pb, pl, scale = np.zeros(N), np.zeros(N), 0.0
        pb[0] = 1
        y = np.exp(lp.astype(np.float64))
        for t in range(len(y)):
            both = pb + pl
            up = np.where(self.same, pb[self.parent], both[self.parent])
            pl = (pl + up) * y[t][self.phone]
            pl[0] = 0
            pb = both * y[t, 0]
            m = max(pb.max(), pl.max())
            pb, pl, scale = pb / m, pl / m, scale + np.log(m)
        s = (pb + pl)[self.node]
        k = int(np.argmax(s))
        return int(self.which[k]), float(np.log(s[k] + 1e-300) + scale)


def greedy(lp):
    ids, out, prev = lp.argmax(1), [], 0
    for i in ids:
        if i != prev and i != 0:
            out.append(int(i))
        prev = i
    return out


def distance(a, b):
    d = list(range(len(b) + 1))
    for i, x in enumerate(a, 1):
        last, d[0] = d[0], i
        for j, y in enumerate(b, 1):
            last, d[j] = d[j], min(d[j] + 1, d[j - 1] + 1, last + (x != y))
    return d[-1]


def gather(held, human, per_group):
    """-> list of (pcm float, meta, group); groups are voices or kinds of people."""
    groups = {}
    for f in sorted(glob.glob(held + "/*.npz")) + [human + "/human-held.npz"]:
        z = np.load(f)
        a = 0
        pcm = z["pcm"]
        for e, m in zip(z["ends"], json.loads(bytes(z["meta"]).decode())):
            x = pcm[a:int(e)]
            a = int(e)
            x = mu_decode(x) if x.dtype == np.uint8 else x.astype(np.float32) / 32768
            groups.setdefault(m["engine"], []).append((x, m, m["engine"]))
    rng = np.random.default_rng(4)
    return [g[i] for k, g in sorted(groups.items()) for i in rng.permutation(len(g))[:per_group]]


def conditions(items, human):
    """Yield (item number, room?, level, samples) for every condition, the same ones each time."""
    torch.manual_seed(5)
    bank = augment.noise_bank(20, 20, "cpu", seed=999).numpy().astype(np.float32)
    z = np.load(f"{human}/noise.npz")
    starts = np.concatenate([[0], z["ends"][:-1]])
    real = [mu_decode(z["pcm"][a:b]) for a, b in zip(starts, z["ends"]) if b - a > 24000]
    image = rooms.bank(10, 77)
    for n, (x, m, g) in enumerate(items):
        rng = np.random.default_rng(zlib.crc32(m["text"].encode()) + n)
        for room in (False, True):
            x0 = np.concatenate([np.zeros(6400), x, np.zeros(9600)]).astype(np.float32)
            if room:
                h = image[rng.integers(len(image))]
                x0 = np.convolve(x0, h)[:len(x0)].astype(np.float32)
            x0 = x0 / np.abs(x0).max() * 0.3
            power = np.sqrt((x0 ** 2).sum() / len(x))
            if rng.random() < 0.5:
                c = bank[rng.integers(len(bank))]
            else:
                c = real[rng.integers(len(real))]
                c = np.tile(c, len(x0) // len(c) + 2)
            o = rng.integers(0, len(c) - len(x0))
            noise = c[o:o + len(x0)]
            noise = noise / (np.sqrt((noise ** 2).mean()) + 1e-9)
            for level in LEVELS:
                y = x0 + (noise * power * 10 ** (-level / 20) if level is not None else 0) + rng.normal(0, 1e-4, len(x0))
                y = y / max(1.0, np.abs(y).max() / 0.95)
                yield n, room, level, y.astype(np.float32)


def wilson(k, n):
    if n == 0:
        return 0, 0
    p, z = k / n, 1.96
    d = 1 + z * z / n
    c, w = p + z * z / (2 * n), z * np.sqrt(p * (1 - p) / n + z * z / (4 * n * n))
    return (c - w) / d, (c + w) / d


def confusable(a, b):
    """True when two texts differ by a teen against a ten only."""
    t = lambda s: re.sub(r"teen\b", "*", re.sub(r"ty\b", "*", s.replace("fif", "five").replace("thir", "three").replace("for", "four").replace("four", "four")))
    return a != b and t(a) == t(b)


def main():
    ap = argparse.ArgumentParser()
    ap.add_argument("model")
    ap.add_argument("--held", required=True)
    ap.add_argument("--human", required=True)
    ap.add_argument("--lexicon", required=True)
    ap.add_argument("--per-group", type=int, default=60)
    ap.add_argument("--write")
    ap.add_argument("--json")
    a = ap.parse_args()
    lex = Lexicon(a.lexicon)
    texts = [t for t in sentences() if all(w in lex for w in t.split())]
    items = gather(a.held, a.human, a.per_group)
    people = {"words", "read", "phrases", "names"}
    texts = list(dict.fromkeys(texts + [m["text"] for _, m, g in items if g == "words"]))
    trie = Trie(texts, lex)
    print(len(texts), "sentences", len(trie.phone), "nodes;", {g: sum(i[2] == g for i in items) for g in sorted({i[2] for i in items})}, flush=True)
    if os.path.isdir(a.model):
        about = json.load(open(f"{a.model}/en.json"))
        mean, std = torch.tensor(about["mean"]), torch.tensor(about["std"])
        hear = lambda f: stream(f"{a.model}/en.onnx", f[0].numpy(), about["caches"], about["chunk_frames"], about["lookahead_frames"])
    else:
        net, mean, std, _ = load(a.model)

        def hear(f):
            with torch.no_grad():
                lo, so = net(f)
            return lo.log_softmax(-1)[0].numpy(), so[0].numpy()
    if a.write:
        os.makedirs(a.write, exist_ok=True)
        listing = open(f"{a.write}/list.tsv", "w")
    tally, late, speech = {}, [], []
    for n, room, level, y in conditions(items, a.human):
        _, m, g = items[n]
        with torch.no_grad():
            f = features(torch.from_numpy(y), mean, std)
        lp, so = hear(f)
        hyp = greedy(lp)
        err = min(distance(p, hyp) / len(p) for p in m["phones"])
        key = (g, room, level)
        t = tally.setdefault(key, [0, 0, 0.0, 0, 0])
        t[2] += err
        t[3] += 1
        if g != "read":
            got = texts[trie.best(lp)[0]]
            t[0] += got == m["text"]
            t[1] += 1
            t[4] += confusable(got, m["text"])
        if level is None and not room:
            spoken = np.flatnonzero(lp.argmax(1) != 0)
            if len(spoken):
                end = (6400 + len(items[n][0]) - 1600) / 480
                late.append((spoken[-1] + 1 - end) * 30)
        on = so > 0
        ref = np.zeros(len(so), bool)
        ref[int(6400 / 480) + 3:int((6400 + len(items[n][0])) / 480) - 3] = True
        off = np.ones(len(so), bool)
        off[max(0, int(6400 / 480) - 3):int((6400 + len(items[n][0])) / 480) + 4] = False
        speech.append((level, on[ref].mean() if ref.any() else 1, on[off].mean()))
        if a.write:
            name = f"{n:04d}-{'room' if room else 'dry'}-{'clean' if level is None else level}.wav"
            with wave.open(f"{a.write}/{name}", "wb") as w:
                w.setnchannels(1), w.setsampwidth(2), w.setframerate(RATE)
                w.writeframes((y * 32767).astype("<i2").tobytes())
            listing.write(f"{name}\t{m['text']}\t{g}\t{m['voice']}\t{'human' if g in people else 'synthetic'}\t{'room' if room else 'dry'}\t{level}\n")
    name = lambda l: "clean" if l is None else f"{l} dB"
    print("\ncalls right, percent (95 percent interval); phone error; teen/ten taken for the other")
    for room in (False, True):
        print("in a room" if room else "dry")
        for g in sorted({k[0] for k in tally}) + ["human", "synthetic", "all"]:
            row = []
            for level in LEVELS:
                ks = [k for k in tally if k[1] == room and k[2] == level and (k[0] == g or g == "all" or (g == "human") == (k[0] in people) and g in ("human", "synthetic"))]
                v = np.sum([tally[k] for k in ks], 0)
                lo, hi = wilson(v[0], v[1])
                row.append((f"{100 * v[0] / v[1]:3.0f} ({100 * lo:.0f}-{100 * hi:.0f})" if v[1] else "  -     ") + f" {100 * v[2] / v[3]:4.1f}% {int(v[4])}")
            print(f"{g:10s}", " | ".join(row))
    print("last phone after the end of sound, ms: median %.0f p95 %.0f" % (np.median(late), np.quantile(late, .95)))
    for level in LEVELS:
        s = [x for x in speech if x[0] == level]
        print("speech head", name(level), "on in speech %.2f" % np.mean([x[1] for x in s]), "on outside %.3f" % np.mean([x[2] for x in s]))
    if a.json:
        json.dump([[*k, *map(float, v)] for k, v in tally.items()], open(a.json, "w"))


if __name__ == "__main__":
    main()
