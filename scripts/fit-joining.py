#!/usr/bin/env python3
"""Fits how src/ear/hob/evidence.rs joins both networks, on evidence of `bench_ear run --part fit --evidence FILE`.

usage: fit-joining.py FILE...

A conditional logit (McFadden 1974): the score of a sentence is a weighted sum of both networks' log probabilities
and its number of words, its share the softmax of the scores; the weights make the right calls likeliest. Prints
them, and how often the right call leads with each network alone and with both; then the same for the second alone,
which decides where others talk. Then what a third opinion counts beside both, where it was asked. Needs numpy.
"""
import json, sys
import numpy as np

rows = [json.loads(line) for path in sys.argv[1:] for line in open(path)]


def choices(rows):
    """Utterances with right and wrong sentences to choose from: figures [sentences, 3], which are right."""
    for r in rows:
        right = np.array([c[3] for c in r["compared"]], bool)
        if right.any() and not right.all():
            x = np.array([[c[1], c[2], len(c[0].split())] for c in r["compared"]], float)
            yield x - x.max(0), right


def likelihood(w, sets):
    """Mean log likelihood of the right calls, and its gradient."""
    total, slope = 0.0, np.zeros(3)
    for x, right in sets:
        s = x @ w
        p = np.exp(s - s.max())
        p /= p.sum()
        q = np.where(right, p, 0)
        total += np.log(max(q.sum(), 1e-12))
        slope += (q / max(q.sum(), 1e-12) - p) @ x
    return total / len(sets), slope / len(sets)


def fit(sets, used):
    """Weights of the figures that are `used`, the others zero."""
    w, step = np.array([0.3, 0.1, 0.3]) * used, 0.02
    best, slope = likelihood(w, sets)
    size = np.mean([np.abs(x).mean(0) for x, _ in sets], 0) + 1e-6
    for _ in range(400):
        new = np.maximum(w + step * used * slope / size ** 2, [0, 0, -9])
        value, tilt = likelihood(new, sets)
        if value > best:
            w, best, slope, step = new, value, tilt, step * 1.3
        else:
            step /= 3
        if step < 1e-9:
            break
    return w, best


def third(rows, w):
    """Beside the weights w of both networks, on the utterances on which the third was asked."""
    asked = [r for r in rows if any(c[4] for c in r["compared"])]
    sets = list(choices(asked))
    opinions = [np.array([c[4] for c in r["compared"]]) for r in asked if 0 < sum(c[3] for c in r["compared"]) < len(r["compared"])]

    def tell(v):
        p = lead = 0.0
        for (x, right), opinion in zip(sets, opinions):
            s = x @ w + v * opinion
            e = np.exp(s - s.max())
            p += np.log(max(e[right].sum() / e.sum(), 1e-12))
            lead += right[np.argmax(s)]
        return p / len(sets), lead

    best = max(np.arange(0, 1.01, 0.05), key=lambda v: tell(v)[0])
    print(f"third: {best:.2f}; of {len(sets)} utterances on which it was asked the right call leads in {tell(0)[1]:.0f} without it, {tell(best)[1]:.0f} with it")


for name, these, used in (("both", [r for r in rows if not r.get("others")], np.array([1, 1, 1])), ("second alone", rows, np.array([0, 1, 1]))):
    sets = list(choices(these))
    w, best = fit(sets, used)
    print(f"{name}: {len(sets)} utterances with right and wrong sentences to choose from, log likelihood {best:.4f}")
    print("networks: [%.3f, %.3f], word: %.3f" % tuple(w))
    lead = lambda v: 100 * np.mean([right[np.argmax(x @ v)] for x, right in sets])
    for what, v in (("first alone", [1, 0, 0]), ("second alone", [0, 1, 0]), ("so joined", w)):
        print(f"  {what:14} right call leads in {lead(np.array(v, float)):.1f} %")
    if name == "both":
        third(these, w)
