"""Train the third opinion on: the whole speech-to-text model on the same speech and the same kitchens as the other two.

    python train_third.py --data DIR [DIR ...] --human DIR --whisper MODEL.bin --vocabulary FILE --ck FILE --seconds 500 --total 1300 [--out DIR]

`--whisper` and `--vocabulary` are those of export_third.py; `--from`, a .pt of an earlier run, is gone on from. It learns to write what was said of sound cut about as the listener
cuts it; where nobody speaks, what is said to it all the same, so that taking away what it finds likely of a sentence
without any sound takes away what these texts taught it. The other arguments are in shared.py.
"""
import os
import time

import torch
import torch.distributed as dist
import torch.nn as nn
import torch.nn.functional as F

import augment
import third_opinion
from second_pass import LONGEST, RATE, log_mel, power_frames
from shared import Average, Clock, arguments, from_first, laid_out, processes, save, shared_gradient, sown
from speech import Speech
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
    ap = arguments(name="third", batch=900, lr=2e-4, warm=500, talk=0.5)
    ap.add_argument("--whisper", required=True)
    ap.add_argument("--vocabulary", required=True)
    ap.add_argument("--encoder", help="a .pt of train_second.py, whose encoder is begun with instead")
    ap.add_argument("--from", dest="begin")
    ap.add_argument("--astray", type=float, default=0.1, help="share of the tokens told before that are of other sentences, so that it listens more than it reads")
    a = ap.parse_args()
    t0, dev = time.time(), a.dev
    rank, world, say = processes(dev, a.name)
    net, reader = third_opinion.trained(a.begin, a.whisper) if a.begin else third_opinion.load(a.whisper)
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
    rng = sown(seed)
    sp = Sentences(dev, a.hours, (rank, world), Tokens(open(a.vocabulary, encoding="utf-8").read().split("\n")[:TOKENS]))
    banks, image, warps = laid_out(sp, a, rank, world, seed)
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

    clock = Clock(a, spent, t0, world)

    def save_average(name=a.name):
        save({"ema": {k: v.half() for k, v in ema.items()}, "step": step, "spent": clock.spent, "log": log}, f"{a.out}/{name}.pt")

    if step == 0 and rank == 0:                              # to be averaged with what comes of it (average.py)
        save_average(a.name + "-begun")
    from_first(world, *[v.data for v in both.state_dict().values()])
    average = Average(both, ema)
    both.train()
    said, acc = time.time(), []
    while not clock.over(step):
        cool = clock.cooling()
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
            log.append([step, round(clock.spent), round(m, 4), round(sp.used / RATE / 3600, 1)])
            say(f"step {step} {clock.spent:.0f}s loss a token {m:.4f} lr {opt.param_groups[0]['lr']:.6f} hours {sp.used / RATE / 3600:.1f} {time.time() - said:.1f}s")
            said = time.time()
        if step % (4 * a.say) == 0 and rank == 0:
            save_average()
        clock.scan(sp)
    if rank == 0:
        save_average()
        save({"net": both.state_dict(), "ema": ema, "opt": opt.state_dict(), "step": step, "spent": clock.spent, "log": log}, a.ck)
    say(f"saved step {step} spent {clock.spent:.0f}s of each engine (this process) {sp.counts}")
    if world > 1:
        dist.destroy_process_group()


if __name__ == "__main__":
    main()
