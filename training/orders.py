"""Sentences for recordings that have only an intent: the spoken orders of Picovoice/speech-to-intent-benchmark.

    python orders.py OUT.npz --mirror DIR --assets DIR --models ../models

Each of its 619 recordings comes with the words of its slots, not with the sentence. The sentences that the set's own
grammar allows for these slots are few, so the shipped network picks the likeliest (CTC); a recording whose best
sentence explains the sound badly, or hardly better than the second, is left out. Format of the output: prepare_human.py.
"""
import argparse
import itertools
import json
import re
import subprocess

import numpy as np
import onnxruntime as ort

from prepare_human import Mirror, mu_encode, share, trimmed
from texts import Lexicon

RATE = 16000
VERBS = ["brew", "can i get", "can i have", "i want", "get me", "give me", "i'd like", "make me", "may i have", ""]


class Network:
    """The streaming network of models/, fed a whole recording at a time."""

    def __init__(self, folder):
        self.card = json.load(open(f"{folder}/en.json"))
        self.net = ort.InferenceSession(f"{folder}/en.onnx", providers=["CPUExecutionProvider"])
        mel = lambda f: 2595 * np.log10(1 + f / 700)
        c = self.card
        m = np.linspace(mel(c["low_hz"]), mel(c["high_hz"]), c["bands"] + 2)
        e, f = 700 * (10 ** (m / 2595) - 1), np.arange(c["fft"] // 2 + 1) * RATE / c["fft"]
        self.bank = np.stack([np.clip(np.minimum((f - a) / (b - a), (d - f) / (d - b)), 0, None)
                              for a, b, d in zip(e, e[1:], e[2:])]).T
        self.mean, self.std = np.array(c["mean"], np.float32), np.array(c["std"], np.float32)

    def __call__(self, x):
        """Samples in [-1, 1] -> log-probabilities [frames of 30 ms, phones]."""
        c = self.card
        x = np.concatenate([np.zeros(3200), x, np.zeros(RATE // 2)])
        x = x - c["preemphasis"] * np.concatenate([[0], x[:-1]])
        n = (len(x) - c["window"]) // c["hop"] + 1
        at = np.arange(n)[:, None] * c["hop"] + np.arange(c["window"])
        w = 0.5 - 0.5 * np.cos(2 * np.pi * np.arange(c["window"]) / c["window"])
        p = np.abs(np.fft.rfft(x[at] * w, c["fft"])) ** 2
        f = ((np.log(p @ self.bank + c["log_floor"]) - self.mean) / self.std).astype(np.float32)
        k = c["chunk_frames"]
        f = np.pad(f, ((0, -len(f) % k), (0, 0)), mode="edge")
        state = {i.name: np.zeros(i.shape, np.float32) for i in self.net.get_inputs() if i.name != "feats"}
        names = [o.name for o in self.net.get_outputs()]
        out = []
        for i in range(0, len(f), k):
            r = dict(zip(names, self.net.run(None, {"feats": f[None, i:i + k], **state})))
            state = {n: r["out" + n[2:]] for n in state}
            out.append(r["logp"][0])
        return np.concatenate(out)[c["drop_outputs"]:]


def ctc(logp, targets):
    """Log probability of each phone sequence (Graves et al. 2006), all at once."""
    n, longest = len(targets), max(map(len, targets))
    s = np.zeros((n, 2 * longest + 1), int)
    ends = np.array([2 * len(t) for t in targets])
    for i, t in enumerate(targets):
        s[i, 1:2 * len(t):2] = t
    skip = np.zeros_like(s, bool)
    skip[:, 3::2] = s[:, 3::2] != s[:, 1:-2:2]
    a = np.full(s.shape, -np.inf)
    a[:, 0], a[:, 1] = logp[0, 0], logp[0][s[:, 1]]
    for row in logp[1:]:
        b = np.logaddexp(a, np.pad(a, ((0, 0), (1, 0)), constant_values=-np.inf)[:, :-1])
        c = np.where(skip, np.pad(a, ((0, 0), (2, 0)), constant_values=-np.inf)[:, :-2], -np.inf)
        a = np.logaddexp(b, c) + row[s]
    i = np.arange(n)
    return np.logaddexp(a[i, ends], a[i, ends - 1])


def sentences(slots):
    """Every sentence that the grammar of the set allows for these slots."""
    s = {k: re.sub(r"[^a-z' ]", "", v.lower()).split() for k, v in slots.items()}
    s = {k: " ".join(v) for k, v in s.items()}
    before = [s[k] for k in ("size", "roast", "numberOfShots") if k in s]
    after = [s[k] for k in ("milkAmount", "sugarAmount") if k in s]
    drink = s.get("coffeeDrink", "")
    for verb in VERBS:
        for order in itertools.permutations(before):
            for article in ("a", "an", ""):
                for tail in itertools.permutations(after):
                    text = [verb, article, *order, drink] + (["with", " and ".join(tail)] if tail else [])
                    yield " ".join(" ".join(text).split())


def main():
    ap = argparse.ArgumentParser()
    ap.add_argument("out")
    ap.add_argument("--mirror", required=True)
    ap.add_argument("--assets", required=True)
    ap.add_argument("--models", default="../models")
    ap.add_argument("--name", default="Picovoice/speech-to-intent-benchmark")
    a = ap.parse_args()
    lex, net, m = Lexicon(f"{a.assets}/cmudict-en-us.dict"), Network(a.models), Mirror(a.mirror, a.name)
    labels = json.loads(m.git("show", "HEAD:data/label/label.json"))
    pcm, ends, meta, unsure, bad = [], [], [], 0, 0
    for name, label in sorted(labels.items()):
        try:
            x = trimmed(m.sound("data/speech/clean/" + name))
        except subprocess.CalledProcessError:   # not in every copy of the repository
            bad += 1
            continue
        x = x / (np.abs(x).max() + 1e-6) * 0.6
        texts = [t for t in dict.fromkeys(sentences(label["slots"])) if lex.variants(t)]
        if not texts or len(x) > 15 * RATE:
            bad += 1
            continue
        phones = [lex.variants(t)[0] for t in texts]
        logp = net(x)
        fits = [i for i, p in enumerate(phones) if len(p) * 1.1 < len(logp)]
        if not fits:
            bad += 1
            continue
        score = ctc(logp, [phones[i] for i in fits])
        order = np.argsort(-score)
        best = fits[order[0]]
        lost = (logp.max(1).sum() - score[order[0]]) / len(phones[best])
        margin = score[order[0]] - score[order[1]] if len(order) > 1 else 99
        if lost > 2.0 or margin < 1.0:
            bad += lost > 2.0
            unsure += lost <= 2.0
            continue
        pcm.append(x)
        ends.append(len(x) + (ends[-1] if ends else 0))
        meta.append({"text": texts[best], "kind": "human", "engine": "orders", "voice": name[:8], "phones": lex.variants(texts[best])})
        if len(meta) % 100 == 1:
            print(texts[best], "lost %.2f margin %.1f" % (lost, margin), flush=True)
    np.savez(a.out, pcm=mu_encode(np.concatenate(pcm)), ends=np.array(ends), meta=np.frombuffer(json.dumps(meta).encode(), np.uint8))
    print(f"{len(meta)} orders, {ends[-1] / RATE / 60:.1f} minutes; {unsure} between two sentences, {bad} not explained")


if __name__ == "__main__":
    main()
