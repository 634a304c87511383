#!/usr/bin/env python3
"""Fits the weights of src/ear/hob/evidence.rs on evidence written by `bench_ear run --part fit --evidence FILE`.

usage: fit-confidence.py FILE...

A logistic regression of "the nearest call was what was said" on the figures of the evidence (with the share of the
best among its alternatives taken out: an utterance counts as in the grammar when it was a call and the right one is
among the alternatives or nearest). Calls, talk (noise with it) and near misses (what the grammar has only with a word
more, less or exchanged) weigh alike, however many there are of each; talk twice, because a false call costs more than
one to be repeated. Then the same of what a third opinion adds, on those on which it was asked. Prints the constants and
how they do. Needs numpy.
"""
import json, sys
import numpy as np

rows = [json.loads(l) for path in sys.argv[1:] for l in open(path)]


def kinds(rows):
    """Right calls, wrong ones, talk, near misses: which rows are of each."""
    kind = np.array([r["about"]["kind"] for r in rows])
    right = (kind == "call") & np.array([r["right"] for r in rows])
    return right, (kind == "call") & ~right, np.isin(kind, ["talk", "noise"]), kind == "near"


def weighed(rows):
    """Which calls are right, and what each row weighs."""
    right, wrong, talk, near = kinds(rows)
    weight = np.zeros(len(rows))
    for which, share in ((right, 1), (wrong, 0.7), (talk, 2), (near, 1)):
        weight[which] = share / max(which.sum(), 1)
    print(f"{len(rows)} utterances, {right.sum()} right calls, {talk.sum()} of talk, {near.sum()} near misses")
    return right.astype(float), weight * len(rows) / weight.sum()


def fit(rows, used):
    """Prints the weights of the figures that are `used` (0 or 1 each), the others zero; returns them, the bias first."""
    x = np.array([r["figures"] for r in rows], float)
    y, weight = weighed(rows)
    a = np.hstack([np.ones((len(x), 1)), x * used])
    w = np.zeros(a.shape[1])
    # More of any flaw never speaks for a call: weights of flaws stay at or below zero, of speech at or above.
    networks = x.shape[1] // 7
    low, high = np.array([-30] + ([-30] * 6 + [0.0]) * networks), np.array([30] + ([0.0] * 6 + [30]) * networks)
    for _ in range(40000):
        p = 1 / (1 + np.exp(-a @ w))
        g = a.T @ (weight * (y - p)) / len(rows) - 1e-4 * np.r_[0, w[1:]]
        w = np.clip(w + 0.3 * g, low, high)
    print("bias: %.2f, of: [%s]" % (w[0], ", ".join("%.2f" % v for v in w[1:])))
    return w


def without(rows, weights):
    """Probability by the surer of several weights."""
    x = np.array([r["figures"] for r in rows], float)
    return np.max([1 / (1 + np.exp(-w[0] - x @ w[1:])) for w in weights], axis=0)


def opinion(rows, weights):
    """Prints and returns the weights of a third opinion: a bias, of the log odds without it, of its gain a word, of its log likelihood."""
    y, weight = weighed(rows)
    a = told(rows, weights)
    w = np.zeros(4)
    for _ in range(60):                     # Newton; nothing is bounded here
        p = 1 / (1 + np.exp(-a @ w))
        slope = a.T @ (weight * (y - p)) - 1e-3 * w
        bend = a.T @ (a * (weight * p * (1 - p))[:, None]) + 1e-3 * np.eye(4)
        w = w + np.linalg.solve(bend, slope)
    print("opinion: [%s]" % ", ".join("%.2f" % v for v in w))
    return w


def told(rows, weights):
    p = np.clip(without(rows, weights), 1e-4, 1 - 1e-4)
    third = [r["evidence"]["third"] for r in rows]
    gain = [(t["heard"] - t["expected"]) / max(r["evidence"]["words"], 1) for r, t in zip(rows, third)]
    return np.stack([np.ones(len(rows)), np.log(p / (1 - p)), gain, [t["heard"] for t in third]], 1)


def table(rows, p):
    """How the probabilities p do."""
    right, wrong, talk, near = kinds(rows)
    kept = lambda which, t: 100 * (p[which] >= t).mean() if which.any() else 0.0
    for t in (0.2, 0.3, 0.35, 0.4, 0.45, 0.5, 0.6, 0.7, 0.8, 0.9):
        print(f"from {t}: right calls kept {kept(right, t):5.1f} %, wrong kept {kept(wrong, t):5.1f} %, near misses {kept(near, t):5.1f} %, talk {kept(talk, t):5.2f} %")
    # Calibration of what remains, in fifths.
    for part in np.array_split(np.argsort(p), 5):
        print(f"said {p[part].mean():.2f}, true {right[part].mean():.2f}")


together = [r for r in rows if not r.get("others")]
print("both:")
both = fit(together, np.ones(14))
print("second alone, which decides where others talk:")
alone = fit(rows, np.repeat([0.0, 1.0], 7))
print("the surer of them, where nobody else talks:")
table(together, without(together, [both, alone]))
asked = [r for r in together if r["evidence"].get("third")]
if asked:
    print("the third opinion, where it was asked, and then all:")
    w = opinion(asked, [both, alone])
    p = without(together, [both, alone])
    p[[bool(r["evidence"].get("third")) for r in together]] = 1 / (1 + np.exp(-told(asked, [both, alone]) @ w))
    table(together, p)
