"""What both trainings have in common: the kitchen's noises, and steps taken together by several processes."""
import os

import numpy as np
import torch
import torch.distributed as dist

import augment
import rooms
from prepare_human import mu_decode


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
