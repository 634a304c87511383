"""Train the third opinion on: the whole speech-to-text model on the same speech and the same kitchens as the other two.

    python train_third.py --data DIR [DIR ...] --human DIR --whisper MODEL.bin --vocabulary FILE --ck FILE --seconds 500 --total 1300 [--out DIR]

`--whisper` and `--vocabulary` are those of export_third.py. It learns to write what was said of sound cut about as the listener
cuts it; where nobody speaks, what is said to it all the same, so that taking away what it finds likely of a sentence
without any sound takes away what these texts taught it. The other arguments are those of train_second.py.
"""
import argparse
import math
import os
import random
import time

import numpy as np
import torch
import torch.distributed as dist
import torch.nn as nn
import torch.nn.functional as F

import augment
import third_opinion
from second_pass import LONGEST, RATE, log_mel, mel_bank, power_frames
from shared import Average, from_first, kitchen, processes, save, shared_gradient
from speech import MADE, WEIGHT, Speech
from third_opinion import TOKENS, Tokens, states
from train_second import FRAME, spec_augment

AFTER = 8000                                     # samples of nothing after the sound, as in src/ear/net/third.rs


class Sentences(Speech):
    """Speech with the tokens of what is said in the place of its phones."""

    def __init__(self, dev, hours, share, tokens):
        super().__init__(dev, hours, share)
        self.tokens = tokens

    def add(self, pcm, ends, meta, spans=()):
        super().add(pcm, ends, [m | {"phones": [self.tokens.of(m["text"])]} for m in meta])


def as_heard(x, lead, n):
    """Sound [B, N], in which n [B] samples of speech begin after `lead` [B] -> cut up to a second before and half a second after the speech, then nothing."""
    B, N = x.shape
    dev = x.device
    u = lambda lo, hi: torch.empty(B, 1, device=dev).uniform_(lo, hi) * RATE
    lead, n = lead[:, None], n[:, None]
    first = (lead - u(0.05, 1.0)).clamp(min=0, max=N - 1600).long()
    last = torch.maximum((lead + n + u(0.03, 0.5)).clamp(max=N).long(), first + 1600)
    long = min((int((last - first).max()) + AFTER) // FRAME, LONGEST) * FRAME
    t = torch.arange(long, device=dev)[None]
    return torch.where(t < last - first, x.gather(1, (first + t).clamp(max=N - 1)), 0.0)


class Both(nn.Module):
    def __init__(self, net, reader):
        super().__init__()
        self.net, self.reader = net, reader

    def forward(self, feats, tokens):
        return self.reader.next(states(self.net, feats), tokens)


def main():
    ap = argparse.ArgumentParser()
    ap.add_argument("--data", nargs="+", required=True)
    ap.add_argument("--human", required=True)
    ap.add_argument("--whisper", required=True)
    ap.add_argument("--vocabulary", required=True)
    ap.add_argument("--encoder", help="a .pt of train_second.py, whose encoder is begun with instead")
    ap.add_argument("--ck", required=True)
    ap.add_argument("--out", default=".")
    ap.add_argument("--name", default="third")
    ap.add_argument("--seconds", type=float, required=True)
    ap.add_argument("--total", type=float, required=True)
    ap.add_argument("--batch", type=float, default=900, help="seconds of sound a step and process")
    ap.add_argument("--lr", type=float, default=2e-4)
    ap.add_argument("--astray", type=float, default=0.1, help="share of the tokens told before that are of other sentences, so that it listens more than it reads")
    ap.add_argument("--warm", type=int, default=500)
    ap.add_argument("--average", type=float, default=0.999)
    ap.add_argument("--made", type=float, default=1.0)
    ap.add_argument("--hours", type=float, default=90)
    ap.add_argument("--dev", default="cuda")
    ap.add_argument("--talk", type=float, default=0.5)
    ap.add_argument("--wait", type=int, default=0)
    ap.add_argument("--say", type=int, default=250)
    ap.add_argument("--bank", type=int, default=600)
    ap.add_argument("--rooms", type=int, default=250)
    a = ap.parse_args()
    t0, dev = time.time(), a.dev
    rank, world, say = processes(dev, a.name)
    net, reader = third_opinion.load(a.whisper)
    if a.encoder:
        begun, kept = torch.load(a.encoder, map_location="cpu", weights_only=True)["ema"], net.state_dict()
        net.load_state_dict({k: v if k.startswith("out.") else begun[k].float() for k, v in kept.items()})
    for p in net.out.parameters():
        p.requires_grad_(False)
    both = Both(net, reader).to(dev)
    params = [p for p in both.parameters() if p.requires_grad]
    opt = torch.optim.AdamW(params, a.lr, weight_decay=0.01, betas=(0.9, 0.98), fused=dev != "cpu")
    step, spent, log, ema = 0, 0.0, [], None
    if os.path.exists(a.ck):
        c = torch.load(a.ck, map_location=dev)
        both.load_state_dict(c["net"])
        ema, step, spent, log = c["ema"], c["step"], c["spent"], c["log"]
        opt.load_state_dict(c["opt"])
    ema = ema or {k: v.detach().clone().float() for k, v in both.state_dict().items()}
    seed = int(t0) + 1000 * rank
    torch.manual_seed(seed)
    random.seed(seed)
    rng = np.random.default_rng(seed)
    WEIGHT.update({k: WEIGHT[k] * a.made for k in MADE})
    sp = Sentences(dev, a.hours, (rank, world), Tokens(open(a.vocabulary, encoding="utf-8").read().split("\n")[:TOKENS]))
    sp.human(a.human)
    banks, image = kitchen(a.human, a.bank, a.rooms, rank, dev, seed + 1)
    warps = torch.stack([mel_bank(w) for w in np.linspace(0.88, 1.12, 13)]).to(dev)
    while sp.scan(a.data) + len(sp.seen) < a.wait / world:
        time.sleep(1)
    say(f"weights {sum(p.numel() for p in params) / 1e6:.2f} M, ready {time.time() - t0:.0f}s shards {len(sp.seen)} utterances {len(sp.start)} hours {sp.used / RATE / 3600:.1f}")

    def batch():
        """Features [B, 80, T], tokens told and asked for [B, L], which of these count."""
        with torch.no_grad():
            e, idx = sp.draw(rng, a.batch)
            y, n, lead = sp.gather(idx, e, rng, late=rng.random() < 0.5)
            silent = rng.random(len(idx)) < 0.04
            y = y * torch.from_numpy(~silent).to(dev)[:, None]
            x = as_heard(augment.mixed(y, n, banks, image, talk_share=a.talk), lead, n)
            k = torch.randint(0, 13, (len(x),), device=dev)
            k = torch.where(torch.rand(len(x), device=dev) < 0.35, torch.full_like(k, 6), k)
            (asked, long), _ = sp.targets(idx, rng)
            counts = torch.arange(asked.shape[1])[None] < long[:, None]
            astray = torch.rand(asked.shape, device=dev) < a.astray
            told = torch.where(astray, asked[torch.randperm(len(asked), device=dev)], asked)
            return spec_augment(log_mel(power_frames(x), warps[k])), told, asked, counts.to(dev)

    def save_average(name=a.name):
        save({"ema": {k: v.half() for k, v in ema.items()}, "step": step, "spent": spent, "log": log}, f"{a.out}/{name}.pt")

    if step == 0 and rank == 0:                              # to be averaged with what comes of it (average.py)
        save_average(a.name + "-begun")
    from_first(world, *[v.data for v in both.state_dict().values()])
    average = Average(both, ema)
    both.train()
    start, said, acc, scan_at = time.time(), time.time(), [], 8.0
    clock = torch.zeros(2, dtype=torch.float64, device=dev)
    before, now = spent, 0.0
    while True:
        if step % 20 == 0:
            now = time.time() - start
            clock[0], clock[1] = now, float(now > a.seconds - (start - t0) or before + now > a.total)
            from_first(world, clock)
            now, over = clock.tolist()
            spent = before + now
            if over:
                break
        cool = a.lr * (0.5 + 0.5 * math.cos(math.pi * min(1.0, spent / a.total))) + 1e-6
        opt.param_groups[0]["lr"] = cool * min(1, (step + 1) / a.warm)
        feats, told, asked, counts = batch()
        with torch.autocast(dev, torch.bfloat16):
            out = both(feats, told)
        loss = F.cross_entropy(out.float().flatten(0, 1), asked.masked_fill(~counts, -100).flatten())
        opt.zero_grad(set_to_none=True)
        loss.backward()
        shared_gradient(params, 1.0, world)
        opt.step()
        step += 1
        average.step(step, a.average)
        acc.append(loss.detach())
        if step % a.say == 0:
            m = float(torch.stack(acc).mean())
            acc = []
            log.append([step, round(spent), round(m, 4), round(sp.used / RATE / 3600, 1)])
            say(f"step {step} {spent:.0f}s loss a token {m:.4f} lr {opt.param_groups[0]['lr']:.6f} hours {sp.used / RATE / 3600:.1f} {time.time() - said:.1f}s")
            said = time.time()
        if step % (4 * a.say) == 0 and rank == 0:
            save_average()
        if now > scan_at:
            sp.scan(a.data, limit=16)
            scan_at = now + 8
    if rank == 0:
        save_average()
        save({"net": both.state_dict(), "ema": ema, "opt": opt.state_dict(), "step": step, "spent": spent, "log": log}, a.ck)
    say(f"saved step {step} spent {spent:.0f}s of each engine (this process) {sp.counts}")
    if world > 1:
        dist.destroy_process_group()


if __name__ == "__main__":
    main()
