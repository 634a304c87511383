#!/usr/bin/env python3
"""Fits the weights of src/ear/hob/evidence.rs on evidence written by `bench_ear run --part fit --evidence FILE`.

usage: fit-confidence.py FILE...

A logistic regression of "the nearest call was what was said" on the figures of the evidence (with the share of the
best among its alternatives taken out: an utterance counts as in the grammar when it was a call and the right one is
among the alternatives or nearest). Calls and talk (noise with it) weigh alike, however many there are of each; talk
twice, because a false call costs more than one to be repeated. Prints the constants and how they do. Needs numpy.
"""
import json, sys
import numpy as np

rows = [json.loads(l) for path in sys.argv[1:] for l in open(path)]
x = np.array([r["figures"] for r in rows], float)
y = np.array([r["about"]["kind"] == "call" and r["right"] for r in rows], float)
talk = np.array([r["about"]["kind"] != "call" for r in rows])
weight = np.where(y > 0, 1 / max(y.sum(), 1), np.where(talk, 2 / max(talk.sum(), 1), 0.7 / max((~talk & (y == 0)).sum(), 1)))
weight *= len(rows) / weight.sum()
a = np.hstack([np.ones((len(x), 1)), x])
w = np.zeros(a.shape[1])
# More of any flaw never speaks for a call: weights of flaws stay at or below zero, of speech at or above.
networks = x.shape[1] // 7
low = np.array([-30] + ([-30] * 6 + [0.0]) * networks); high = np.array([30] + ([0.0] * 6 + [30]) * networks)
for step in range(40000):
    p = 1 / (1 + np.exp(-a @ w))
    g = a.T @ (weight * (y - p)) / len(rows) - 1e-4 * np.r_[0, w[1:]]
    w = np.clip(w + 0.3 * g, low, high)
p = 1 / (1 + np.exp(-a @ w))
print(f"{len(rows)} utterances, {int(y.sum())} right calls, {int(talk.sum())} of talk")
print("bias: %.2f, of: [%s]" % (w[0], ", ".join("%.2f" % v for v in w[1:])))
for t in (0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9):
    print(f"from {t}: right calls kept {100 * p[y > 0].__ge__(t).mean():5.1f} %, wrong kept "
          f"{100 * p[(y == 0) & ~talk].__ge__(t).mean() if ((y == 0) & ~talk).any() else 0:5.1f} %, talk kept {100 * p[talk].__ge__(t).mean():5.2f} %")
# Calibration of what remains, in fifths.
order = np.argsort(p)
for part in np.array_split(order, 5):
    print(f"said {p[part].mean():.2f}, true {y[part].mean():.2f}")
