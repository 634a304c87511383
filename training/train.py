"""Train the acoustic model.

    python train.py --data DIR [DIR ...] --human DIR --ck FILE --seconds 500 --total 1300 [--ahead 15] [--out DIR]

`--data` are folders of shards as synth.py writes them (they may still be filling; they are read again every half
minute), `--human` the folder of prepare_human.py. Training stops after `--seconds` of wall time, saves everything to
`--ck` and, when that file exists at the start, goes on from it; the learning rate follows a cosine over `--total`
seconds, all runs together.
"""
import argparse
import glob
import json
import math
import os
import random
import time

import numpy as np
import torch
import torch.nn.functional as F

import augment
import rooms
from model import BANDS, STRIDE, Net, mel_bank, power_frames
from prepare_human import mu_decode
from texts import PHONES

RATE = 16000
EDGES = [1.3, 2.2, 3.4, 5.2, 8.0, 15.5]          # seconds; buckets of utterances of like length
# How often an utterance is drawn, by where it came from; those of people first.
PEOPLE = {"words": 5.0, "phrases": 1.0, "names": 1.0, "read": 6.0, "orders": 6.0, "common": 4.0, "ocean": 2.0, "children": 1.0, "found": 3.0}
WEIGHT = PEOPLE | {"kokoro": 5.0, "flite": 1.0, "espeak": 0.8, "festival": 1.0, "pico": 1.5, "rhvoice": 1.5}
MADE = set(WEIGHT) - set(PEOPLE)


def samples(pcm):
    """16-bit samples of what a file holds: 16-bit already, or 8-bit mu-law."""
    return pcm if pcm.dtype == np.int16 else (mu_decode(pcm) * 32767).astype(np.int16)


class Speech:
    """All training speech in one int16 buffer on the device, with bucketed, weighted draws."""

    def __init__(self, dev, hours):
        self.flat = torch.zeros(int(hours * 3600 * RATE), dtype=torch.int16, device=dev)
        self.used, self.seen = 0, set()
        self.start, self.length, self.weight, self.phones, self.engine = [], [], [], [], []

    def add(self, pcm, ends, meta):
        room = len(self.flat) - self.used
        if len(pcm) > room:
            return
        self.flat[self.used:self.used + len(pcm)] = torch.from_numpy(pcm).to(self.flat.device)
        a = 0
        for e, m in zip(ends, meta):
            n = int(e) - a
            if m["phones"] and n / RATE < EDGES[-1] and len(m["phones"][0]) * 480 * 1.15 < n + 6400:
                self.start.append(self.used + a)
                self.length.append(n)
                self.weight.append(WEIGHT.get(m["engine"], WEIGHT["found"]))
                self.phones.append([np.array(p, np.int64) for p in m["phones"]])
                self.engine.append(m["engine"])
            a = int(e)
        self.used += len(pcm)

    def scan(self, dirs, limit=10 ** 9):
        new = sorted(f for d in dirs for f in glob.glob(d + "/*.npz") if f not in self.seen)[:limit]
        for f in new:
            z = np.load(f)
            self.add(samples(z["pcm"]), z["ends"], json.loads(bytes(z["meta"]).decode()))
            self.seen.add(f)
        if new:
            self.index()
        return len(new)

    def human(self, folder):
        """Every file of recordings there but those kept out of training."""
        for f in sorted(glob.glob(f"{folder}/*.npz")):
            if not f.endswith(("held.npz", "noise.npz", "babble.npz", "tmp.npz")):
                z = np.load(f)
                self.add(samples(z["pcm"]), z["ends"], json.loads(bytes(z["meta"]).decode()))
        self.index()

    def index(self):
        n, w = np.array(self.length), np.array(self.weight)
        b = np.digitize(n / RATE, EDGES)
        self.buckets = []
        for k in range(len(EDGES)):
            i = np.flatnonzero(b == k)
            if len(i):
                c = np.cumsum(w[i])
                self.buckets.append((EDGES[k], i, c))
        # Shorter buckets hold more utterances a batch; draw buckets by the sound they hold, tempered.
        m = np.array([c[-1] * e for e, _, c in self.buckets]) ** 0.8
        self.bucket_p = m / m.sum()

    def draw(self, rng, seconds):
        """-> (bucket seconds, utterance indices)"""
        e, i, c = self.buckets[rng.choice(len(self.buckets), p=self.bucket_p)]
        k = max(8, int(seconds / (e + 1.3)))
        return e, i[np.searchsorted(c, rng.random(k) * c[-1])]


def gather(sp, idx, longest, dev, rng):
    """Place utterances in silence at random speed -> clean [B, N], samples of speech [B]."""
    B = len(idx)
    start = torch.tensor([sp.start[i] for i in idx], device=dev)
    n = torch.tensor([sp.length[i] for i in idx], device=dev)
    human = torch.tensor([sp.engine[i] not in MADE for i in idx], device=dev)
    r = torch.where(human, torch.empty(B, device=dev).uniform_(0.87, 1.16), torch.empty(B, device=dev).uniform_(0.94, 1.07))
    lead = torch.empty(B, device=dev).uniform_(0.05, 0.75)
    lead = torch.where(torch.rand(B, device=dev) < 0.10, torch.empty(B, device=dev).uniform_(-0.02, 0.03), lead) * RATE
    tail = float(np.random.uniform(0.35, 0.6))
    N = int((longest * 1.1 + 0.75 + tail) * RATE)
    N = min(N, int((float((n / r).max()) + float(lead.max())) + tail * RATE))
    N = (N // 480 + 1) * 480
    p = (torch.arange(N, device=dev)[None] - lead[:, None]) * r[:, None]
    i = p.floor().long()
    f = (p - i).float()
    i0 = start[:, None] + i.clamp(0, 10 ** 9).minimum(n[:, None] - 1)
    at = lambda d: sp.flat[torch.minimum(torch.maximum(i0 + d, start[:, None]), start[:, None] + n[:, None] - 1)].float()
    a, b, c, d = at(-1), at(0), at(1), at(2)
    y = b + 0.5 * f * (c - a + f * (2 * a - 5 * b + 4 * c - d + f * (3 * (b - c) + d - a)))
    y = torch.where((i >= 0) & (i < n[:, None] - 1), y / 32768, torch.zeros_like(y))
    return y, (n / r)


def targets(sp, idx, dev, rng):
    """First pronunciation of each, and another (or the first again): two padded id tensors with lengths."""
    out = []
    for k in range(2):
        ph = [sp.phones[i][0] if k == 0 or len(sp.phones[i]) == 1 else sp.phones[i][rng.integers(1, len(sp.phones[i]))] for i in idx]
        S = max(len(p) for p in ph)
        t = np.zeros((len(ph), S), np.int64)
        for j, p in enumerate(ph):
            t[j, :len(p)] = p
        out.append((torch.from_numpy(t).to(dev), torch.tensor([len(p) for p in ph], device=dev)))
    return out


def ctc(lp, T, t, n):
    return F.ctc_loss(lp, t, T, n, reduction="none", zero_infinity=True)


class Features:
    def __init__(self, dev):
        self.warps = torch.stack([mel_bank(warp=w) for w in np.linspace(0.88, 1.12, 13)]).to(dev)
        self.plain = mel_bank().to(dev)
        self.mean = torch.zeros(BANDS, device=dev)
        self.std = torch.ones(BANDS, device=dev)

    def __call__(self, x, warp=False):
        p = power_frames(x)
        if warp:
            k = torch.randint(0, 13, (len(x),), device=x.device)
            k = torch.where(torch.rand(len(x), device=x.device) < 0.35, torch.full_like(k, 6), k)
            m = torch.bmm(p, self.warps[k].transpose(1, 2))
        else:
            m = p @ self.plain.T
        return (torch.log(m + 1e-6) - self.mean) / self.std


def spec_augment(f):
    B, T, _ = f.shape
    dev = f.device
    t, m = torch.arange(T, device=dev)[None], torch.arange(BANDS, device=dev)[None]
    keep = torch.ones_like(f)
    for _ in range(2):
        a, w = torch.randint(0, T, (B, 1), device=dev), torch.randint(0, 8, (B, 1), device=dev)
        w = w * (torch.rand(B, 1, device=dev) < 0.5)
        keep = keep * (~((t >= a) & (t < a + w)))[:, :, None]
        a, w = torch.randint(0, BANDS, (B, 1), device=dev), torch.randint(0, 8, (B, 1), device=dev)
        w = w * (torch.rand(B, 1, device=dev) < 0.5)
        keep = keep * (~((m >= a) & (m < a + w)))[:, None, :]
    return f * keep


def run(net, f, state):
    """Forward with optional carried GRU states; returns logits, speech, final states."""
    T = f.shape[1] // STRIDE
    f = F.pad(f.transpose(1, 2), (0, net.ahead + STRIDE), mode="replicate").transpose(1, 2)[:, : T * STRIDE + net.ahead]
    h = net.front_end(f)
    last = []
    for k, (g, n) in enumerate(zip(net.rnn, net.norm)):
        with torch.autocast(h.device.type, enabled=False):   # cuDNN's half-precision GRU would be fp16: keep TF32
            y, s = g(h.float(), None if state is None else state[k][None].float().contiguous())
        last.append(s[0].detach())
        h = n(h + net.drop(y))
    o = net.out(h)[:, net.ahead // STRIDE:].float()
    return o[..., :-1], o[..., -1], torch.stack(last)


def save_average(a, ema, feats, step, spent, log):
    """What export.py and evaluate.py read."""
    half = {k: v.half() if v.is_floating_point() else v for k, v in ema.items()}
    torch.save({"ema": half, "step": step, "spent": spent, "log": log, "mean": feats.mean.cpu(), "std": feats.std.cpu(),
                "ahead": a.ahead, "width": a.width, "layers": a.layers}, f"{a.out}/{a.name}.pt")


def main():
    ap = argparse.ArgumentParser()
    ap.add_argument("--data", nargs="+", required=True)
    ap.add_argument("--human", required=True)
    ap.add_argument("--ck", required=True)
    ap.add_argument("--out", default=".")
    ap.add_argument("--name", default="en")
    ap.add_argument("--seconds", type=float, required=True)
    ap.add_argument("--total", type=float, required=True)
    ap.add_argument("--ahead", type=int, default=15)
    ap.add_argument("--width", type=int, default=384)
    ap.add_argument("--layers", type=int, default=4)
    ap.add_argument("--batch", type=float, default=900, help="seconds of sound a step")
    ap.add_argument("--lr", type=float, default=1.6e-3)
    ap.add_argument("--hours", type=float, default=90)
    ap.add_argument("--dev", default="cuda")
    ap.add_argument("--from", dest="origin", help="begin with the averaged weights of this .pt, steps and rate anew")
    ap.add_argument("--wait", type=int, default=0, help="wait for this many shards before the first step")
    ap.add_argument("--no-human", action="store_true", help="ablation: no human speech in training")
    ap.add_argument("--bank", type=int, default=600)
    ap.add_argument("--rooms", type=int, default=250)
    a = ap.parse_args()
    t0, dev = time.time(), a.dev
    torch.manual_seed(1)
    random.seed(1)
    rng = np.random.default_rng(int(t0))
    if dev == "cuda":
        torch.backends.cuda.matmul.allow_tf32 = True
        torch.backends.cudnn.allow_tf32 = True
    net = Net(len(PHONES), a.width, a.layers, ahead=a.ahead).to(dev)
    feats = Features(dev)
    opt = torch.optim.AdamW(net.parameters(), a.lr, weight_decay=0.01, betas=(0.9, 0.98))
    ema = {k: v.detach().clone().float() for k, v in net.state_dict().items()}
    step, spent, log = 0, 0.0, []
    if os.path.exists(a.ck):
        c = torch.load(a.ck, map_location=dev)
        net.load_state_dict(c["net"])
        ema = c["ema"]
        if "opt" in c:
            opt.load_state_dict(c["opt"])
        step, spent, log = c["step"], c["spent"], c["log"]
        feats.mean, feats.std = c["mean"].to(dev), c["std"].to(dev)
    elif a.origin:
        c = torch.load(a.origin, map_location=dev)
        net.load_state_dict({k: v.float() if v.is_floating_point() else v for k, v in c["ema"].items()})
        ema = {k: v.detach().clone().float() for k, v in net.state_dict().items()}
        feats.mean, feats.std = c["mean"].to(dev).float(), c["std"].to(dev).float()
        log = [[-1, 0, 0, 0, 0]] + c["log"]
    print(a.name, "weights %.2f M" % (sum(p.numel() for p in net.parameters()) / 1e6), "step", step, flush=True)

    sp = Speech(dev, a.hours)
    if not a.no_human:
        sp.human(a.human)
    flat = lambda f: torch.from_numpy((mu_decode(np.load(f"{a.human}/{f}")["pcm"]) * 32767).astype(np.int16)).to(dev)
    banks = (augment.noise_bank(a.bank, 20, dev, seed=11), flat("noise.npz"), flat("babble.npz"))
    image = torch.from_numpy(rooms.bank(a.rooms, 3)).to(dev)
    while sp.scan(a.data) + len(sp.seen) < a.wait:
        time.sleep(2)
    sp.scan(a.data)
    print(f"{a.name} ready {time.time() - t0:.0f}s shards {len(sp.seen)} utterances {len(sp.start)} hours {sp.used / RATE / 3600:.1f}", flush=True)

    def batch():
        e, idx = sp.draw(rng, a.batch)
        y, n = gather(sp, idx, e, dev, rng)
        silent = torch.rand(len(idx), device=dev) < 0.03     # noise alone: nothing to hear
        y = y * (~silent)[:, None]
        T = (y.shape[1] - 400) // 160 + 1
        mask = augment.speech_mask(y, T // STRIDE)
        x = augment.mixed(y, n, banks, image)
        return x, mask, idx, silent

    if float(feats.std.sum()) == BANDS:
        with torch.no_grad():
            fs = torch.cat([feats(batch()[0]).reshape(-1, BANDS) for _ in range(12)])
            feats.mean, feats.std = fs.mean(0), fs.std(0)
    pool = None
    net.train()
    scan_at, said, acc = time.time() + 20, time.time(), []
    amp = torch.autocast("cuda", torch.bfloat16, enabled=dev == "cuda")
    start = time.time()
    while True:
        now = time.time() - start
        if now > a.seconds - (start - t0) or spent + now > a.total:
            break
        frac = min(1.0, (spent + now) / a.total)
        lr = a.lr * min(1, (step + 1) / 600) * (0.5 + 0.5 * math.cos(math.pi * frac)) + 4e-6
        for g in opt.param_groups:
            g["lr"] = lr
        with torch.no_grad():
            x, mask, idx, silent = batch()
            f = spec_augment(feats(x, warp=True))
            B = len(idx)
            state = None
            if pool is not None and rng.random() < 0.5:
                state = pool[:, torch.randint(0, pool.shape[1], (B,), device=dev)]
        with amp:
            lo, so, last = run(net, f, state)
        lp = lo.log_softmax(-1).transpose(0, 1)
        T = torch.full((B,), lp.shape[0], device=dev)
        (ta, na), (tb, nb) = targets(sp, idx, dev, rng)
        na, nb = na * (~silent), nb * (~silent)
        l = torch.minimum(ctc(lp, T, ta, na), ctc(lp, T, tb, nb))
        loss_ctc = (l / na.clamp(min=6)).mean()
        loss_sp = F.binary_cross_entropy_with_logits(so, mask[:, :so.shape[1]])
        loss = loss_ctc + 0.25 * loss_sp
        opt.zero_grad(set_to_none=True)
        loss.backward()
        norm = torch.nn.utils.clip_grad_norm_(net.parameters(), 2.0)
        if torch.isfinite(norm):
            opt.step()
        step += 1
        pool = last if pool is None or pool.shape[1] < 64 else torch.cat([last, pool], 1)[:, :768]
        d = min(0.9993, (1 + step) / (20 + step))
        with torch.no_grad():
            sd = net.state_dict()
            fl = [k for k in ema if sd[k].is_floating_point()]
            torch._foreach_mul_([ema[k] for k in fl], d)
            torch._foreach_add_([ema[k] for k in fl], [sd[k].float() for k in fl], alpha=1 - d)
        acc.append((loss_ctc.detach(), loss_sp.detach()))
        if step % 250 == 0:
            m = [float(torch.stack(v).mean()) for v in zip(*acc)]
            acc = []
            log.append([step, round(spent + now), round(m[0], 4), round(m[1], 4), round(sp.used / RATE / 3600, 1)])
            print(f"{a.name} step {step} {spent + now:.0f}s ctc {m[0]:.4f} speech {m[1]:.4f} lr {lr:.5f} hours {sp.used / RATE / 3600:.1f} {time.time() - said:.1f}s", flush=True)
            said = time.time()
        if step % 2500 == 0:
            save_average(a, ema, feats, step, spent + now, log)
        if time.time() > scan_at:
            sp.scan(a.data, limit=60)
            scan_at = time.time() + 12
    spent += time.time() - start
    full = {"net": net.state_dict(), "ema": ema, "opt": opt.state_dict(), "step": step, "spent": spent, "log": log,
            "mean": feats.mean, "std": feats.std, "ahead": a.ahead, "width": a.width, "layers": a.layers}
    torch.save(full, a.ck + ".tmp")
    os.replace(a.ck + ".tmp", a.ck)
    save_average(a, ema, feats, step, spent, log)
    print(f"{a.name} saved step {step} spent {spent:.0f}s by engine { {e: sp.engine.count(e) for e in sorted(set(sp.engine))} }", flush=True)


if __name__ == "__main__":
    main()
