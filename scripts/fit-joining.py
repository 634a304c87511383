#!/usr/bin/env python3
"""Fits how src/ear/hob/evidence.rs joins both networks, on evidence of `bench_ear run --part fit --evidence FILE`.

usage: fit-joining.py FILE...

A conditional logit (McFadden 1974): the score of a sentence is a weighted sum of both networks' log probabilities
and its number of words, its share the softmax of the scores; the weights make the right calls likeliest. Prints
them, and how often the right call leads with each network alone and with both. Needs numpy.
"""
import json, sys
import numpy as np

sets = []
for line in (l for path in sys.argv[1:] for l in open(path)):
    r = json.loads(line)
    right = np.array([c[3] for c in r["compared"]], bool)
    if right.any() and not right.all():
        x = np.array([[c[1], c[2], len(c[0].split())] for c in r["compared"]], float)
        sets.append((r["about"], x - x.max(0), right))


def likelihood(w, sets=sets):
    """Mean log likelihood of the right calls, and its gradient."""
    total, slope = 0.0, np.zeros(3)
    for _, x, right in sets:
        s = x @ w
        p = np.exp(s - s.max())
        p /= p.sum()
        q = np.where(right, p, 0)
        total += np.log(max(q.sum(), 1e-12))
        slope += (q / max(q.sum(), 1e-12) - p) @ x
    return total / len(sets), slope / len(sets)


w, step = np.array([0.3, 0.1, 0.3]), 0.02
best, slope = likelihood(w)
size = np.mean([np.abs(x).mean(0) for _, x, _ in sets], 0) + 1e-6
for _ in range(400):
    new = np.maximum(w + step * slope / size ** 2, [0, 0, -9])
    value, tilt = likelihood(new)
    if value > best:
        w, best, slope, step = new, value, tilt, step * 1.3
    else:
        step /= 3
    if step < 1e-9:
        break
print(f"{len(sets)} utterances with right and wrong sentences to choose from, log likelihood {best:.4f}")
print("networks: [%.3f, %.3f], word: %.3f" % tuple(w))
lead = lambda v: 100 * np.mean([right[np.argmax(x @ v)] for _, x, right in sets])
for name, v in (("first alone", [1, 0, 0]), ("second alone", [0, 1, 0]), ("second alone, words", [0, 1, w[2] / max(w[1], 1e-3)]), ("both", w)):
    print(f"{name:20} right call leads in {lead(np.array(v, float)):.1f} %")
