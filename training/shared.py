"""What the trainings have in common: their arguments, the kitchen's noises, their clock, and steps taken together by several processes."""
import argparse
import os
import random
import time

import numpy as np
import torch
import torch.distributed as dist

import augment
import rooms
from prepare_human import mu_decode
from second_pass import mel_bank
from speech import MADE, WEIGHT


def processes(dev, name):
    """Joins the others, if there are any. -> which one this is, how many there are, a printer that only the first one uses"""
    rank, world = int(os.environ.get("RANK", 0)), int(os.environ.get("WORLD_SIZE", 1))
    if dev == "cuda":
        torch.cuda.set_device(int(os.environ.get("LOCAL_RANK", 0)))
        torch.backends.cuda.matmul.allow_tf32 = torch.backends.cudnn.allow_tf32 = True
    if world > 1:
        dist.init_process_group("nccl" if dev == "cuda" else "gloo")
    return rank, world, lambda *x: print(name, *x, flush=True) if rank == 0 else None


def kitchen(human, clips, responses, rank, dev, seed):
    """Noise (made, recorded, talk of others) and rooms for `augment.mixed`."""
    flat = lambda f: torch.from_numpy((mu_decode(np.load(f"{human}/{f}")["pcm"]) * 32767).astype(np.int16)).to(dev)
    banks = (augment.noise_bank(clips, 20, dev, seed=11 + rank), flat("noise.npz"), flat("babble.npz"))
    torch.manual_seed(seed)
    return banks, torch.from_numpy(rooms.bank(responses, 3 + rank)).to(dev)


def from_first(world, *values):
    """The first process's tensors, everywhere."""
    if world > 1:
        for v in values:
            dist.broadcast(v, 0)


def shared_gradient(params, most, world):
    """Averages the gradients over the processes, shortens them to a norm of `most`, and forgets them where they are not finite."""
    with torch.no_grad():
        g = torch._utils._flatten_dense_tensors([p.grad for p in params])
        if world > 1:
            dist.all_reduce(g)
            g /= world
        norm = g.norm()
        g = torch.where(torch.isfinite(norm), g * (most / (norm + 1e-6)).clamp(max=1.0), torch.zeros_like(g))
        torch._foreach_copy_([p.grad for p in params], torch._utils._unflatten_dense_tensors(g, params))


class Average:
    """A slow average of the weights, the one that is kept. `of`: the averages so far, changed in place."""

    def __init__(self, net, of):
        pairs = [(of[k], v) for k, v in net.state_dict().items() if v.is_floating_point()]
        self.kept, self.live = [k for k, _ in pairs], [v for _, v in pairs]

    def step(self, n, most):
        d = min(most, (1 + n) / (20 + n))
        with torch.no_grad():
            torch._foreach_mul_(self.kept, d)
            torch._foreach_add_(self.kept, self.live, alpha=1 - d)


def save(value, path):
    """All of it or nothing."""
    torch.save(value, path + ".tmp")
    os.replace(path + ".tmp", path)


def arguments(**defaults):
    """What train_second.py and train_third.py are both told; `defaults` as each has them."""
    ap = argparse.ArgumentParser()
    ap.add_argument("--data", nargs="+", required=True)
    ap.add_argument("--human", required=True)
    ap.add_argument("--ck", required=True)
    ap.add_argument("--out", default=".")
    ap.add_argument("--name")
    ap.add_argument("--seconds", type=float, required=True)
    ap.add_argument("--total", type=float, required=True)
    ap.add_argument("--batch", type=float, help="seconds of sound a step and process")
    ap.add_argument("--lr", type=float)
    ap.add_argument("--warm", type=int)
    ap.add_argument("--average", type=float, default=0.999)
    ap.add_argument("--made", type=float, default=1.0, help="synthetic speech is drawn so many times as often as speech.py says")
    ap.add_argument("--hours", type=float, default=90)
    ap.add_argument("--dev", default="cuda")
    ap.add_argument("--talk", type=float, help="share of the noises that are other talkers")
    ap.add_argument("--wait", type=int, default=0, help="wait for this many shards before the first step")
    ap.add_argument("--say", type=int, default=250)
    ap.add_argument("--bank", type=int, default=600)
    ap.add_argument("--rooms", type=int, default=250)
    ap.set_defaults(**defaults)
    return ap


def sown(seed):
    """Every source of chance begins with this seed. -> one more"""
    torch.manual_seed(seed)
    random.seed(seed)
    return np.random.default_rng(seed)


def laid_out(speech, a, rank, world, seed):
    """All recordings of people, and what the synthesisers have made by now. -> noises and rooms as `kitchen` has them, 13 mel banks of tracts of other lengths"""
    WEIGHT.update({k: WEIGHT[k] * a.made for k in MADE})
    speech.human(a.human)
    while speech.scan(a.data) + len(speech.seen) < a.wait / world:
        time.sleep(1)
    banks, image = kitchen(a.human, a.bank, a.rooms, rank, a.dev, seed + 1)
    return banks, image, torch.stack([mel_bank(w) for w in np.linspace(0.88, 1.12, 13)]).to(a.dev)


class Clock:
    """One for all processes: they must stop, and cool, together. `before`: seconds spent in earlier runs of the same training; `t0`: when this one began."""

    def __init__(self, a, before, t0, world):
        self.a, self.before, self.t0, self.world = a, before, t0, world
        self.start, self.now, self.spent = time.time(), 0.0, before
        self.told, self.scan_at = torch.zeros(2, dtype=torch.float64, device=a.dev), 8.0

    def over(self, step):
        if step % 20:
            return False
        a, now = self.a, time.time() - self.start
        self.told[0], self.told[1] = now, float(now > a.seconds - (self.start - self.t0) or self.before + now > a.total)
        from_first(self.world, self.told)
        self.now, over = self.told.tolist()
        self.spent = self.before + self.now
        return bool(over)

    def cooling(self):
        """The learning rate along half a cosine."""
        return self.a.lr * (0.5 + 0.5 * np.cos(np.pi * min(1.0, self.spent / self.a.total))) + 1e-6

    def scan(self, speech):
        """Now and then, what the synthesisers have made meanwhile."""
        if self.now > self.scan_at:
            speech.scan(self.a.data, limit=16)
            self.scan_at = self.now + 8
