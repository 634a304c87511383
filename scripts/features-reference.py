#!/usr/bin/env python3
"""Makes tests/data/features.json: log-mel frames of a known sound by NumPy, in double precision.

usage: features-reference.py > tests/data/features.json
"""
import json, math
import numpy as np

seed, sound = 12345, []
for n in range(4000):
    seed = (seed * 1664525 + 1013904223) % 2**32
    t = n / 16000
    sound.append(round(8000 * math.sin(2 * math.pi * (200 * t + 8000 * t * t)) + 600 * ((seed >> 16) / 65536 - 0.5)))
x = np.array(sound) / 32768
x = x - 0.97 * np.concatenate([[0], x[:-1]])
mel = lambda f: 2595 * np.log10(1 + f / 700)
edges = 700 * (10 ** (np.linspace(mel(60), mel(7800), 50) / 2595) - 1)
f = np.arange(257) * 16000 / 512
bank = np.array([np.clip(np.minimum((f - a) / (b - a), (c - f) / (c - b)), 0, None)
                 for a, b, c in zip(edges, edges[1:], edges[2:])])
window = 0.5 - 0.5 * np.cos(2 * np.pi * np.arange(400) / 400)
frames = [np.log(bank @ np.abs(np.fft.rfft(x[t:t + 400] * window, 512)) ** 2 + 1e-6) for t in range(0, 4000 - 399, 160)]
print(json.dumps({"frames": [[round(float(v), 5) for v in row] for row in frames]}))
