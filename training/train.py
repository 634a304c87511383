"""Train the acoustic model.

    python train.py --data DIR [DIR ...] --human DIR --ck FILE --seconds 500 --total 1300 [--ahead 15] [--out DIR]

`--data` are folders of shards as synth.py writes them (they may still be filling; they are read again every few
seconds), `--human` the folder of prepare_human.py. Training stops after `--seconds` of wall time, saves everything to
`--ck` and, when that file exists at the start, goes on from it; the learning rate follows a cosine over `--total`
seconds, all runs together. On several GPUs: python -m torch.distributed.run --standalone --nproc_per_node 4 train.py …;
each process draws its own batch, holds its share of the synthetic speech, and the gradients are averaged.
"""
import argparse
import math
import os
import random
import time

import numpy as np
import torch
import torch.distributed as dist
import torch.nn.functional as F

import augment
from model import BANDS, STRIDE, Net, mel_bank, power_frames
from shared import Average, from_first, kitchen, processes, save, shared_gradient
from speech import RATE, Speech
from texts import PHONES


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
    """Forward with optional carried GRU states; returns logits, speech, phones from the middle of the network, final states."""
    T = f.shape[1] // STRIDE
    f = F.pad(f.transpose(1, 2), (0, net.ahead + STRIDE), mode="replicate").transpose(1, 2)[:, : T * STRIDE + net.ahead]
    h = net.front_end(f)
    last = []
    for k, (g, n) in enumerate(zip(net.rnn, net.norm)):
        with torch.autocast(h.device.type, enabled=False):   # cuDNN's half-precision GRU would be fp16: keep TF32
            y, s = g(h.float(), None if state is None else state[k][None].float().contiguous())
        last.append(s[0].detach())
        h = n(h + net.drop(y))
        if k == net.layers // 2:
            middle = net.middle(h)[:, net.ahead // STRIDE:].float()
    o = net.out(h)[:, net.ahead // STRIDE:].float()
    return o[..., :-1], o[..., -1], middle, torch.stack(last)


def save_average(a, ema, feats, step, spent, log):
    """What export.py and evaluate.py read."""
    half = {k: v.half() if v.is_floating_point() else v for k, v in ema.items()}
    save({"ema": half, "step": step, "spent": spent, "log": log, "mean": feats.mean.cpu(), "std": feats.std.cpu(),
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
    ap.add_argument("--batch", type=float, default=900, help="seconds of sound a step and process")
    ap.add_argument("--lr", type=float, default=1.6e-3)
    ap.add_argument("--hours", type=float, default=90)
    ap.add_argument("--dev", default="cuda")
    ap.add_argument("--from", dest="origin", help="begin with the averaged weights of this .pt, steps and rate anew")
    ap.add_argument("--talk", type=float, default=0.32, help="share of the noises that are other talkers")
    ap.add_argument("--wait", type=int, default=0, help="wait for this many shards before the first step")
    ap.add_argument("--no-human", action="store_true", help="ablation: no human speech in training")
    ap.add_argument("--say", type=int, default=250, help="steps between two lines of the log")
    ap.add_argument("--bank", type=int, default=600)
    ap.add_argument("--rooms", type=int, default=250)
    a = ap.parse_args()
    t0, dev = time.time(), a.dev
    rank, world, say = processes(dev, a.name)
    torch.manual_seed(1)
    net = Net(len(PHONES), a.width, a.layers, ahead=a.ahead).to(dev)
    feats = Features(dev)
    opt = torch.optim.AdamW(net.parameters(), a.lr, weight_decay=0.01, betas=(0.9, 0.98), fused=dev == "cuda")
    step, spent, log = 0, 0.0, []
    ema = None
    if os.path.exists(a.ck):
        c = torch.load(a.ck, map_location=dev)
        net.load_state_dict(c["net"])
        ema = c["ema"]
        opt.load_state_dict(c["opt"])
        step, spent, log = c["step"], c["spent"], c["log"]
        feats.mean, feats.std = c["mean"].to(dev), c["std"].to(dev)
    elif a.origin:
        c = torch.load(a.origin, map_location=dev)
        net.load_state_dict({k: v.float() if v.is_floating_point() else v for k, v in c["ema"].items()}, strict=False)
        feats.mean, feats.std = c["mean"].to(dev).float(), c["std"].to(dev).float()
        log = [[-1, 0, 0, 0, 0]] + c["log"]
    ema = ema or {k: v.detach().clone().float() for k, v in net.state_dict().items()}
    say("weights %.2f M" % (sum(p.numel() for p in net.parameters()) / 1e6), "step", step, "processes", world)
    seed = int(t0) + 1000 * rank
    torch.manual_seed(seed)
    random.seed(seed)
    rng = np.random.default_rng(seed)

    sp = Speech(dev, a.hours, (rank, world))
    if not a.no_human:
        sp.human(a.human)
    banks, image = kitchen(a.human, a.bank, a.rooms, rank, dev, seed + 1)
    while sp.scan(a.data) + len(sp.seen) < a.wait / world:
        time.sleep(1)
    say(f"ready {time.time() - t0:.0f}s shards {len(sp.seen)} utterances {len(sp.start)} hours {sp.used / RATE / 3600:.1f}")

    def batch():
        e, idx = sp.draw(rng, a.batch)
        y, n, _ = sp.gather(idx, e, rng)
        silent = rng.random(len(idx)) < 0.04                 # noise alone: nothing to hear
        y = y * torch.from_numpy(~silent).to(dev)[:, None]
        T = (y.shape[1] - 400) // 160 + 1
        mask = augment.speech_mask(y, T // STRIDE)
        x = augment.mixed(y, n, banks, image, talk_share=a.talk)
        return x, mask, idx, silent

    def prepared():
        """The next batch: features [B, frames, bands], where somebody speaks, rows of noise alone, phones."""
        with torch.no_grad():
            x, mask, idx, silent = batch()
            return spec_augment(feats(x, warp=True)), mask, silent, sp.targets(idx, rng)

    # The recurrent layers wait for one another and leave most of the device idle: the next batch is made meanwhile.
    side = torch.cuda.Stream() if dev == "cuda" else None

    def ahead_of_time():
        if side is None:
            return prepared()
        with torch.cuda.stream(side):
            return prepared()

    def taken(made):
        if side is not None:
            torch.cuda.current_stream().wait_stream(side)
            f, mask, _, phones = made
            for t in (f, mask, *(t for t, _ in phones)):
                t.record_stream(torch.cuda.current_stream())
        return made

    if float(feats.std.sum()) == BANDS:
        with torch.no_grad():
            fs = torch.cat([feats(batch()[0]).reshape(-1, BANDS) for _ in range(12)])
            feats.mean, feats.std = fs.mean(0), fs.std(0)
        from_first(world, feats.mean, feats.std)
    from_first(world, *[v.data for v in net.state_dict().values()])
    params = list(net.parameters())
    average = Average(net, ema)
    pool = None
    net.train()
    said, acc = time.time(), []
    scan_at = 8.0
    amp = torch.autocast("cuda", torch.bfloat16, enabled=dev == "cuda")
    if side is not None:
        torch.cuda.synchronize()
    made = ahead_of_time()
    start, clock = time.time(), torch.zeros(2, dtype=torch.float64, device=dev)
    while True:
        if step % 20 == 0:                                   # one clock for all: they must stop, and cool, together
            now = time.time() - start
            clock[0], clock[1] = now, float(now > a.seconds - (start - t0) or spent + now > a.total)
            from_first(world, clock)
            now, over = clock.tolist()
            if over:
                break
        frac = min(1.0, (spent + now) / a.total)
        lr = a.lr * min(1, (step + 1) / 600) * (0.5 + 0.5 * math.cos(math.pi * frac)) + 4e-6
        for g in opt.param_groups:
            g["lr"] = lr
        f, mask, silent, ((ta, na), (tb, nb)) = taken(made)
        B, state = len(f), None
        if pool is not None and rng.random() < 0.5:
            state = pool[:, torch.randint(0, pool.shape[1], (B,), device=dev)]
        with amp:
            lo, so, middle, last = run(net, f, state)
        T = torch.full((B,), lo.shape[1])
        loud = torch.from_numpy(~silent)
        na, nb = na * loud, nb * loud
        scale = na.clamp(min=6).to(dev)
        lp = lo.log_softmax(-1).transpose(0, 1)
        loss_ctc = (torch.minimum(ctc(lp, T, ta, na), ctc(lp, T, tb, nb)) / scale).mean()
        loss_middle = (ctc(middle.log_softmax(-1).transpose(0, 1), T, ta, na) / scale).mean()
        loss_sp = F.binary_cross_entropy_with_logits(so, mask[:, :so.shape[1]])
        loss = loss_ctc + 0.3 * loss_middle + 0.25 * loss_sp
        opt.zero_grad(set_to_none=True)
        loss.backward()
        shared_gradient(params, 2.0, world)
        opt.step()
        made = ahead_of_time()
        step += 1
        pool = last if pool is None or pool.shape[1] < 64 else torch.cat([last, pool], 1)[:, :768]
        average.step(step, 0.9993)
        acc.append((loss_ctc.detach(), loss_sp.detach()))
        if step % a.say == 0:
            m = [float(torch.stack(v).mean()) for v in zip(*acc)]
            acc = []
            log.append([step, round(spent + now), round(m[0], 4), round(m[1], 4), round(sp.used / RATE / 3600, 1)])
            say(f"step {step} {spent + now:.0f}s ctc {m[0]:.4f} speech {m[1]:.4f} lr {lr:.5f} hours {sp.used / RATE / 3600:.1f} {time.time() - said:.1f}s")
            said = time.time()
        if step % 1000 == 0 and rank == 0:
            save_average(a, ema, feats, step, spent + now, log)
        if now > scan_at:                                    # all at the same time: each waits for the slowest
            sp.scan(a.data, limit=16)
            scan_at = now + 8
            if side is not None:
                side.wait_stream(torch.cuda.current_stream())
    spent += time.time() - start
    if rank == 0:
        save_average(a, ema, feats, step, spent, log)
        full = {"net": net.state_dict(), "ema": ema, "opt": opt.state_dict(), "step": step, "spent": spent, "log": log,
                "mean": feats.mean, "std": feats.std, "ahead": a.ahead, "width": a.width, "layers": a.layers}
        save(full, a.ck)
    say(f"saved step {step} spent {spent:.0f}s of each engine (this process) {sp.counts}")
    if world > 1:
        dist.destroy_process_group()


if __name__ == "__main__":
    main()
