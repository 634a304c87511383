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
import multiprocessing
import os
import wave
import zlib
from concurrent.futures import ProcessPoolExecutor

import numba
import numpy as np
import torch
from scipy.signal import fftconvolve

import augment
import rooms
from evalgrammar import sentences
from export import features, load, stream
from prepare_human import mu_decode
from texts import Lexicon

RATE = 16000
LEVELS = [None, 20, 10, 5, 0]
PEOPLE = {"words", "read", "phrases", "names"}


@numba.njit(cache=True)
def trie_scores(y, phone, parent, first, count, kids, floor):
    """CTC forward over a trie, keeping only nodes within `floor` of the best in each frame. y: probabilities [T, C]."""
    N = len(phone)
    pb, pl = np.zeros(N), np.zeros(N)
    nb, nl = np.zeros(N), np.zeros(N)
    mark = np.zeros(N, np.int32)
    live = np.empty(N, np.int32)
    nlive = 1
    live[0] = 0
    pb[0] = 1.0
    scale = 0.0
    cand = np.empty(N, np.int32)
    for t in range(len(y)):
        nc = 0
        for j in range(nlive):
            n = live[j]
            if mark[n] != t + 1:
                mark[n] = t + 1
                cand[nc] = n
                nc += 1
            for k in range(first[n], first[n] + count[n]):
                c = kids[k]
                if mark[c] != t + 1:
                    mark[c] = t + 1
                    cand[nc] = c
                    nc += 1
        m = 0.0
        for j in range(nc):
            n = cand[j]
            p = parent[n]
            if n == 0:
                nb[n] = (pb[0] + pl[0]) * y[t, 0]
                nl[n] = 0.0
            else:
                up = pb[p] if phone[n] == phone[p] else pb[p] + pl[p]
                nb[n] = (pb[n] + pl[n]) * y[t, 0]
                nl[n] = (pl[n] + up) * y[t, phone[n]]
            m = max(m, max(nb[n], nl[n]))
        for j in range(nlive):
            pb[live[j]] = 0.0
            pl[live[j]] = 0.0
        nlive = 0
        for j in range(nc):
            n = cand[j]
            if nb[n] + nl[n] > m * floor:
                pb[n], pl[n] = nb[n] / m, nl[n] / m
                live[nlive] = n
                nlive += 1
        scale += np.log(m)
    return pb + pl, scale


class Trie:
    """All pronunciations of all sentences; CTC likelihood of every one in a single pass over the frames."""

    def __init__(self, texts, lex):
        phone, parent, end, child = [0], [0], [], {}
        for i, t in enumerate(texts):
            seqs = [[]]
            for w in t.split():
                seqs = [s + p for s in seqs for p in lex.words[w][:3]][:24]
            for s in seqs:
                n = 0
                for p in s:
                    if (n, p) not in child:
                        child[n, p] = len(phone)
                        phone.append(p)
                        parent.append(n)
                    n = child[n, p]
                end.append((n, i))
        self.phone, self.parent = np.array(phone, np.int32), np.array(parent, np.int32)
        self.node, self.which = np.array([e[0] for e in end]), np.array([e[1] for e in end])
        order = np.argsort(self.parent[1:], kind="stable") + 1
        self.kids = order.astype(np.int32)
        self.count = np.bincount(self.parent[1:], minlength=len(phone)).astype(np.int32)
        self.first = (np.cumsum(self.count) - self.count).astype(np.int32)

    def best(self, lp):
        """lp [T, C] log-probabilities -> (index of the best sentence, its log-likelihood)"""
        p, scale = trie_scores(np.exp(lp.astype(np.float64)), self.phone, self.parent, self.first, self.count, self.kids, 1e-14)
        s = p[self.node]
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


def conditions(items, human, part=0, parts=1):
    """Yield (item number, room?, level, samples) for every condition, the same ones each time; of the items, one part."""
    torch.manual_seed(5)
    bank = augment.noise_bank(20, 20, "cpu", seed=999).numpy().astype(np.float32)
    z = np.load(f"{human}/noise.npz")
    starts = np.concatenate([[0], z["ends"][:-1]])
    real = [mu_decode(z["pcm"][a:b]) for a, b in zip(starts, z["ends"]) if b - a > 24000]
    image = rooms.bank(10, 77)
    for n, (x, m, g) in enumerate(items):
        if n % parts != part:
            continue
        rng = np.random.default_rng(zlib.crc32(m["text"].encode()) + n)
        for room in (False, True):
            x0 = np.concatenate([np.zeros(6400), x, np.zeros(9600)]).astype(np.float32)
            if room:
                h = image[rng.integers(len(image))]
                x0 = fftconvolve(x0, h)[:len(x0)].astype(np.float32)
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
    t = lambda s: " ".join(w[:3] + "*" if w.endswith(("teen", "ty")) and w != "empty" else w for w in s.split())
    return a != b and t(a) == t(b)


def measure(a, part):
    """Hear one part of the set. -> rows (group, room, level, right, phone error, teen/ten taken, voice, text, heard), delays, speech head"""
    torch.set_num_threads(1)
    lex = Lexicon(a.lexicon)
    items = gather(a.held, a.human, a.per_group)
    texts = [t for t in sentences() if all(w in lex for w in t.split())]
    texts = list(dict.fromkeys(texts + [m["text"] for _, m, g in items if g == "words"]))
    trie = Trie(texts, lex)
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
    rows, late, speech, written = [], [], [], []
    for n, room, level, y in conditions(items, a.human, part, a.jobs):
        x, m, g = items[n]
        with torch.no_grad():
            f = features(torch.from_numpy(y), mean, std)
        lp, so = hear(f)
        hyp = greedy(lp)
        err = min(distance(p, hyp) / len(p) for p in m["phones"])
        got = texts[trie.best(lp)[0]] if g != "read" else ""
        rows.append((g, room, level, got == m["text"], err, confusable(got, m["text"]), m["voice"], m["text"], got))
        first, last = 6400 / 480, (6400 + len(x)) / 480
        if level is None and not room:
            spoken = np.flatnonzero(lp.argmax(1) != 0)
            if len(spoken):   # the sounds end with 100 ms of their own silence
                late.append((spoken[-1] + 1 - (last - 1600 / 480)) * 30)
        on = so > 0
        inside = on[int(first) + 4:int(last) - 5]
        outside = np.concatenate([on[:int(first) - 3], on[int(last) + 4:]])
        speech.append((level, float(inside.mean()) if len(inside) else 1.0, float(outside.mean())))
        if a.write:
            name = f"{n:04d}-{'room' if room else 'dry'}-{'clean' if level is None else level}.wav"
            with wave.open(f"{a.write}/{name}", "wb") as w:
                w.setnchannels(1), w.setsampwidth(2), w.setframerate(RATE)
                w.writeframes((y * 32767).astype("<i2").tobytes())
            written.append(f"{name}\t{m['text']}\t{g}\t{m['voice']}\t{'human' if g in PEOPLE else 'synthetic'}\t{'room' if room else 'dry'}\t{level}\n")
    return rows, late, speech, written


def table(rows):
    print("calls right, percent (95 percent interval); phone error; n; a teen and a ten taken for each other")
    for room in (False, True):
        print("in a room" if room else "dry")
        for g in sorted({r[0] for r in rows}) + ["human", "synthetic", "all"]:
            line = []
            for level in LEVELS:
                v = [r for r in rows if r[1] == room and r[2] == level and (g in (r[0], "all") or g == ("human" if r[0] in PEOPLE else "synthetic"))]
                if not v:
                    continue
                c = [r[3] for r in v if r[0] != "read"]
                lo, hi = wilson(sum(c), len(c))
                calls = f"{100 * sum(c) / len(c):3.0f} ({100 * lo:.0f}-{100 * hi:.0f})" if c else "   -      "
                line.append(f"{calls} {100 * np.mean([r[4] for r in v]):4.1f}% {len(v)} {sum(r[5] for r in v)}")
            print(f"{g:10s}", " | ".join(line))


def main():
    ap = argparse.ArgumentParser()
    ap.add_argument("model")
    ap.add_argument("--held", required=True)
    ap.add_argument("--human", required=True)
    ap.add_argument("--lexicon", required=True)
    ap.add_argument("--per-group", type=int, default=60)
    ap.add_argument("--jobs", type=int, default=1)
    ap.add_argument("--write", help="folder for the sounds and list.tsv")
    ap.add_argument("--rows", help="file for every answer")
    a = ap.parse_args()
    if a.write:
        os.makedirs(a.write, exist_ok=True)
    if a.jobs == 1:
        parts = [measure(a, 0)]
    else:
        with ProcessPoolExecutor(a.jobs, mp_context=multiprocessing.get_context("spawn")) as ex:
            parts = list(ex.map(measure, [a] * a.jobs, range(a.jobs)))
    rows, late, speech, written = [sum((p[i] for p in parts), []) for i in range(4)]
    if a.write:
        open(f"{a.write}/list.tsv", "w").writelines(sorted(written))
    print(a.model)
    table(rows)
    print("last phone after the end of sound (look-ahead not counted), ms: median %.0f, p95 %.0f" % (np.median(late), np.quantile(late, .95)))
    for level in LEVELS:
        s = [x for x in speech if x[0] == level]
        print("speech head", "clean" if level is None else f"{level} dB", "on in speech %.2f," % np.mean([x[1] for x in s]), "on outside %.3f" % np.mean([x[2] for x in s]))
    if a.rows:
        json.dump(rows, open(a.rows, "w"))


if __name__ == "__main__":
    main()
