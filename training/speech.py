"""All training speech in one buffer on the device, drawn by weight in batches of like length, and the phones that go with it."""
import glob
import json
import os
import zlib

import numpy as np
import torch

from prepare_human import mu_decode

RATE = 16000
EDGES = [1.3, 2.2, 3.4, 5.0, 7.2]                # seconds; buckets of utterances of like length. Longer ones serve by their spans
# How often an utterance is drawn, by where it came from; those of people first. "spans" are cut from their sentences.
PEOPLE = {"words": 8.0, "phrases": 1.0, "names": 1.5, "read": 6.0, "orders": 6.0, "common": 4.0, "ocean": 2.5, "children": 1.0,
          "found": 4.0, "spans": 0.8}
WEIGHT = PEOPLE | {"kokoro": 1.5, "flite": 1.0, "espeak": 0.8, "festival": 1.0, "pico": 1.2, "rhvoice": 1.2}
MADE = set(WEIGHT) - set(PEOPLE)
VARIANTS = 3                                     # pronunciations kept of an utterance


def samples(pcm):
    """16-bit samples of what a file holds: 16-bit already, or 8-bit mu-law."""
    return pcm if pcm.dtype == np.int16 else (mu_decode(pcm) * 32767).astype(np.int16)


class Speech:
    def __init__(self, dev, hours, share=(0, 1)):
        """share: (k, n) takes only each n-th shard of `scan`, the k-th of them: n processes hold all together."""
        self.dev, self.share = dev, share
        self.flat = torch.zeros(int(hours * 3600 * RATE), dtype=torch.int16, device=dev)
        self.used, self.seen, self.counts, self.parts = 0, set(), {}, []
        self.phones, self.phones_used = np.zeros(0, np.int16), 0
        self.pending = []

    def add(self, pcm, ends, meta, spans=()):
        room = len(self.flat) - self.used
        if len(pcm) > room:
            return
        self.flat[self.used:self.used + len(pcm)] = torch.from_numpy(pcm).to(self.dev)
        start, length, weight, made, at, size, a = [], [], [], [], [], [], 0

        def keep(a, n, engine, phones):
            if not phones or n / RATE >= EDGES[-1] or len(phones[0]) * 480 * 1.15 >= n + 6400:
                return
            start.append(self.used + a)
            length.append(n)
            weight.append(WEIGHT.get(engine, WEIGHT["found"]))
            made.append(engine in MADE)
            self.counts[engine] = self.counts.get(engine, 0) + 1
            where = []
            for p in phones[:VARIANTS]:
                where.append((self.phones_used, len(p)))
                self.pending.append(np.array(p, np.int16))
                self.phones_used += len(p)
            where += [where[-1]] * (VARIANTS - len(where))
            at.append([w[0] for w in where])
            size.append([w[1] for w in where])

        for e, m in zip(ends, meta):
            keep(a, int(e) - a, m["engine"], m["phones"])
            a = int(e)
        for a, b, ids in spans:
            keep(a, b - a, "spans", [ids])
        if start:
            self.parts.append([np.array(start), np.array(length), np.array(weight), np.array(made), np.array(at), np.array(size)])
        self.used += len(pcm)

    def load(self, file):
        z = np.load(file)
        beside = file[:-4] + ".spans.npz"
        cut = z if "spans" in z.files else np.load(beside) if os.path.exists(beside) else None
        spans = () if cut is None else json.loads(bytes(cut["spans"]).decode())
        self.add(samples(z["pcm"]), z["ends"], json.loads(bytes(z["meta"]).decode()), spans)

    def scan(self, dirs, limit=10 ** 9):
        """Takes what is new: of people (`h-…`) all, of synthesisers this process's share."""
        k, n = self.share
        mine = lambda f: f.split("/")[-1].startswith("h-") or zlib.crc32(f.split("/")[-1].encode()) % n == k
        new = sorted(f for d in dirs for f in glob.glob(d + "/*.npz") if f not in self.seen and mine(f))[:limit]
        for f in new:
            self.load(f)
            self.seen.add(f)
        if new:
            self.index()
        return len(new)

    def human(self, folder):
        """Every file of recordings there but those kept out of training."""
        for f in sorted(glob.glob(f"{folder}/*.npz")):
            if not f.endswith(("held.npz", "noise.npz", "babble.npz", "tmp.npz", "spans.npz")):
                self.load(f)
        if self.parts:
            self.index()

    def index(self):
        cols = [np.concatenate(c) for c in zip(*self.parts)]
        self.parts = [cols]
        self.start, self.length, w, self.made, self.at, self.size = cols
        if self.pending:
            self.phones = np.concatenate([self.phones, *self.pending])
            self.pending = []
        b = np.digitize(self.length / RATE, EDGES)
        self.buckets = []
        for k in range(len(EDGES)):
            i = np.flatnonzero(b == k)
            if len(i):
                self.buckets.append((EDGES[k], i, np.cumsum(w[i])))
        # Shorter buckets hold more utterances a batch; draw buckets by the sound they hold, tempered.
        m = np.array([c[-1] * e for e, _, c in self.buckets]) ** 0.8
        self.bucket_p = m / m.sum()

    def draw(self, rng, seconds):
        """-> (bucket seconds, utterance indices)"""
        e, i, c = self.buckets[rng.choice(len(self.buckets), p=self.bucket_p)]
        k = max(8, int(seconds / (e + 1.3)))
        return e, i[np.searchsorted(c, rng.random(k) * c[-1])]

    def gather(self, idx, longest, rng, late=False):
        """Place utterances in silence at random speed -> clean [B, N], samples of speech [B] and before it [B]. All sizes are known without asking the device.
        late: every one ends where the sound does, as what is heard again at once does."""
        B, dev = len(idx), self.dev
        u = lambda lo, hi: rng.uniform(lo, hi, B).astype(np.float32)
        start, n, made = self.start[idx], self.length[idx], self.made[idx]
        r = np.where(made, u(0.94, 1.07), u(0.87, 1.16)).astype(np.float32)
        lead = (np.where(rng.random(B) < 0.10, u(-0.02, 0.03), u(0.05, 0.75)) * RATE).astype(np.float32)
        tail = rng.uniform(0.35, 0.6)
        N = min(int((longest * 1.1 + 0.75 + tail) * RATE), int((n / r).max() + lead.max() + tail * RATE))
        if late:
            lead = (N - n / r - u(0.03, 0.3) * RATE).astype(np.float32)
        N = (N // 480 + 1) * 480
        start, n, r, lead = (torch.from_numpy(v).to(dev, non_blocking=True) for v in (start, n, r, lead))
        p = (torch.arange(N, device=dev)[None] - lead[:, None]) * r[:, None]
        i = p.floor().long()
        f = (p - i).float()
        i0 = start[:, None] + i.clamp(0, 10 ** 9).minimum(n[:, None] - 1)
        at = lambda d: self.flat[torch.minimum(torch.maximum(i0 + d, start[:, None]), start[:, None] + n[:, None] - 1)].float()
        a, b, c, d = at(-1), at(0), at(1), at(2)
        y = b + 0.5 * f * (c - a + f * (2 * a - 5 * b + 4 * c - d + f * (3 * (b - c) + d - a)))
        y = torch.where((i >= 0) & (i < n[:, None] - 1), y / 32768, torch.zeros_like(y))
        return y, n / r, lead

    def targets(self, idx, rng):
        """First pronunciation of each, and another (or the first again): two padded id tensors on the device, lengths on the CPU."""
        out = []
        for k in range(2):
            v = np.zeros(len(idx), int) if k == 0 else rng.integers(1, VARIANTS, len(idx))
            at, n = self.at[idx, v], self.size[idx, v]
            j = np.arange(n.max())[None]
            t = np.where(j < n[:, None], self.phones[np.minimum(at[:, None] + j, len(self.phones) - 1)], 0).astype(np.int64)
            out.append((torch.from_numpy(t).to(self.dev, non_blocking=True), torch.from_numpy(n.astype(np.int64))))
        return out
