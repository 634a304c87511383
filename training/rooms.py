"""Image-source room responses (Allen and Berkley, J. Acoust. Soc. Am. 65, 943, 1979) for kitchens of many sizes."""
import numpy as np

RATE, SPEED = 16000, 343.0


def response(rng, taps=6400):
    room = np.array([rng.uniform(2, 7), rng.uniform(2, 6), rng.uniform(2.2, 3.2)])
    rt = rng.uniform(0.15, 0.7)
    surface = 2 * (room[0] * room[1] + room[0] * room[2] + room[1] * room[2])
    absorb = min(0.95, 0.161 * room.prod() / (rt * surface))     # Sabine
    beta = np.sqrt(1 - absorb)
    src = rng.uniform(0.3, 1, 3) * (room - 0.6) + 0.3 * rng.uniform(0, 1, 3)
    mic = rng.uniform(0.3, 1, 3) * (room - 0.6) + 0.3 * rng.uniform(0, 1, 3)
    if rng.random() < 0.5:                                         # within an arm's length of the cook
        mic = np.clip(src + rng.normal(0, 0.45, 3), 0.15, room - 0.15)
    order = [int(np.ceil(SPEED * min(taps / RATE, rt) / (2 * l))) for l in room]
    grids = np.meshgrid(*[np.arange(-o, o + 1) for o in order], indexing="ij")
    m = np.stack([g.ravel() for g in grids], 1)
    h = np.zeros(taps + 200)
    for q in np.array(np.meshgrid([0, 1], [0, 1], [0, 1])).T.reshape(-1, 3):
        pos = (1 - 2 * q) * src + 2 * m * room - mic
        d = np.linalg.norm(pos, axis=1)
        refl = np.abs(m - q).sum(1) + np.abs(m).sum(1)
        amp = beta ** refl / np.maximum(d, 0.1)
        k = d / SPEED * RATE
        ok = k < taps
        i = k[ok].astype(int)
        f = k[ok] - i
        np.add.at(h, i, amp[ok] * (1 - f))
        np.add.at(h, i + 1, amp[ok] * f)
    d0 = int(np.linalg.norm(src - mic) / SPEED * RATE)
    h = h[max(0, d0 - 2):][:taps]                                  # the direct sound comes first
    h = np.pad(h, (0, taps - len(h)))
    return (h / np.abs(h[:8]).max()).astype(np.float32)


def bank(n, seed, taps=6400):
    rng = np.random.default_rng(seed)
    return np.stack([response(rng, taps) for _ in range(n)])
