"""Train the second pass (second_pass.py) on the same speech and the same kitchens as the first network.

    python train_second.py --data DIR [DIR ...] --human DIR --whisper model.bin --ck FILE --seconds 500 --total 1300 [--out DIR]

The arguments are those of train.py; `--whisper` names the CTranslate2 file whose encoder the weights begin as.
"""
import math
import os
import time

import torch
import torch.distributed as dist
import torch.nn.functional as F

import augment
from second_pass import BANDS, LONGEST, RATE, from_whisper, load, log_mel, power_frames
from shared import Average, Clock, arguments, from_first, laid_out, processes, save, shared_gradient, sown
from speech import Speech
from texts import PHONES

FRAME = 320                                      # samples of an output frame
LEAD, TAIL, QUIETEST = 4800, 9600, 800           # samples of the quiet made around it, of the same length in src/ear/net/second.rs


def spec_augment(f):
    """Two gaps of up to 160 ms and two of up to 12 bands, each in half of the utterances."""
    B, _, T = f.shape
    dev, low = f.device, f.amin((1, 2), keepdim=True)
    t, m = torch.arange(T, device=dev)[None], torch.arange(BANDS, device=dev)[None]
    gone = torch.zeros_like(f, dtype=torch.bool)
    for _ in range(2):
        a, w = torch.randint(0, T, (B, 1), device=dev), torch.randint(0, 16, (B, 1), device=dev) * (torch.rand(B, 1, device=dev) < 0.5)
        gone |= ((t >= a) & (t < a + w))[:, None, :]
        a, w = torch.randint(0, BANDS, (B, 1), device=dev), torch.randint(0, 12, (B, 1), device=dev) * (torch.rand(B, 1, device=dev) < 0.5)
        gone |= ((m >= a) & (m < a + w))[:, :, None]
    return torch.where(gone, low, f)


def noise_like(piece, n):
    """Pieces [B, QUIETEST] -> noise [B, n] that sounds like them: each turned at random, upside down or not, laid over itself in four layers."""
    B, long = piece.shape
    step, dev = long // 4, piece.device
    layers = (n + long) // step + 1
    turn = torch.randint(0, long, (B, layers, 1), device=dev)
    at = (torch.arange(long, device=dev)[None, None] + turn) % long
    side = torch.randint(0, 2, (B, layers, 1), device=dev) * 2 - 1
    fade = torch.sin(math.pi * torch.arange(long, device=dev) / long) / 2 ** 0.5
    g = piece[:, None].expand(-1, layers, -1).gather(2, at) * side * fade
    sum_ = F.fold(g.transpose(1, 2), (1, (layers - 1) * step + long), (1, long), stride=(1, step))[:, 0, 0]
    return sum_[:, long:long + n]


def in_quiet(x, y, lead, n):
    """Sound and clean speech [B, N], in which n [B] samples of speech begin after `lead` [B] -> about as the listener hears them again: cut
    up to a second before and half a second after the speech, between noise made of the quietest 50 ms (src/ear/net/second.rs)."""
    B, N = x.shape
    dev = x.device
    u = lambda lo, hi: torch.empty(B, 1, device=dev).uniform_(lo, hi) * RATE
    lead, n = lead[:, None], n[:, None]
    first = (lead - u(0.05, 1.0)).clamp(min=0, max=N - 2 * QUIETEST).long()
    last = torch.maximum((lead + n + u(0.03, 0.5)).clamp(max=N).long(), first + 2 * QUIETEST)
    power = F.avg_pool1d(x[:, None] ** 2, QUIETEST, 160)[:, 0]
    at = torch.arange(power.shape[1], device=dev)[None] * 160
    quietest = torch.where((at >= first) & (at + QUIETEST <= last), power, torch.inf).argmin(1, keepdim=True) * 160
    noise = noise_like(x.gather(1, quietest + torch.arange(QUIETEST, device=dev)[None]), LEAD + TAIL)
    L = min((N + LEAD + TAIL) // FRAME, LONGEST) * FRAME
    t = torch.arange(L, device=dev)[None] - LEAD
    inside = (t >= 0) & (t < last - first)
    of_noise = torch.where(t < 0, t + LEAD, t - (last - first) + LEAD).clamp(min=0) % (LEAD + TAIL)
    of_sound = (first + t).clamp(0, N - 1)
    return torch.where(inside, x.gather(1, of_sound), noise.gather(1, of_noise)), torch.where(inside, y.gather(1, of_sound), 0.0)


def ctc(lp, T, t, n):
    return F.ctc_loss(lp, t, T, n, reduction="none", zero_infinity=True)


def main():
    ap = arguments(name="second", batch=600, lr=3e-4, warm=300, talk=0.32)
    ap.add_argument("--whisper", help="needed unless --from gives weights")
    ap.add_argument("--new", type=float, default=5, help="learning rate of the new layer, times the others'")
    ap.add_argument("--drop", type=float, default=0.1)
    ap.add_argument("--head", type=int, default=150, help="steps in which only the new layer learns, so that the old ones are not bent by its first guesses")
    ap.add_argument("--from", dest="origin", help="begin with the averaged weights of this .pt, steps and rate anew")
    ap.add_argument("--heard", type=float, default=0.5, help="share of the batches that are cut and put in quiet as the listener does")
    ap.add_argument("--teacher", help="a .pt of the same phones that hears the clean sound, and says frame by frame what the noisy one is to give")
    ap.add_argument("--teach", type=float, default=0.5, help="what the teacher's word counts beside CTC")
    a = ap.parse_args()
    t0, dev = time.time(), a.dev
    rank, world, say = processes(dev, a.name)
    torch.manual_seed(1)
    net, origin = load(a.origin, len(PHONES), a.drop) if a.origin else (from_whisper(a.whisper, len(PHONES), a.drop), None)
    net = net.to(dev)
    teacher = load(a.teacher, len(PHONES))[0].to(dev) if a.teacher else None
    new = list(net.out.parameters())
    old = [p for n, p in net.named_parameters() if not n.startswith("out.")]
    opt = torch.optim.AdamW([{"params": old}, {"params": new}], a.lr, weight_decay=0.01, betas=(0.9, 0.98), fused=True)
    step, spent, log, ema = 0, 0.0, [], None
    if os.path.exists(a.ck):
        c = torch.load(a.ck, map_location=dev)
        net.load_state_dict(c["net"])
        ema, step, spent, log = c["ema"], c["step"], c["spent"], c["log"]
        opt.load_state_dict(c["opt"])
    elif origin:
        log = [[-1, 0, 0, 0, 0]] + origin["log"]
    ema = ema or {k: v.detach().clone().float() for k, v in net.state_dict().items()}
    say("weights %.2f M" % (sum(p.numel() for p in net.parameters()) / 1e6), "step", step, "processes", world)
    seed = int(t0) + 1000 * rank
    rng = sown(seed)
    sp = Speech(dev, a.hours, (rank, world))
    banks, image, warps = laid_out(sp, a, rank, world, seed)
    say(f"ready {time.time() - t0:.0f}s shards {len(sp.seen)} utterances {len(sp.start)} hours {sp.used / RATE / 3600:.1f}")

    def batch():
        """Features [B, 80, T], where somebody speaks, rows of noise alone, phones, what the teacher hears [B, T/2, classes]."""
        with torch.no_grad():
            e, idx = sp.draw(rng, a.batch)
            y, n, lead = sp.gather(idx, e, rng, late=rng.random() < 0.5)
            y = y[:, : y.shape[1] // FRAME * FRAME]
            silent = rng.random(len(idx)) < 0.04
            y = y * torch.from_numpy(~silent).to(dev)[:, None]
            x = augment.mixed(y, n, banks, image, talk_share=a.talk)
            if rng.random() < a.heard:
                x, y = in_quiet(x, y, lead, n)
            mask = augment.speech_mask(y, y.shape[1] // 480)
            mask = F.interpolate(mask[:, None], size=y.shape[1] // FRAME, mode="nearest")[:, 0]
            k = torch.randint(0, 13, (len(x),), device=dev)
            k = torch.where(torch.rand(len(x), device=dev) < 0.35, torch.full_like(k, 6), k)
            f = log_mel(power_frames(x), warps[k])
            told = None
            if teacher is not None:
                with torch.autocast(dev, torch.bfloat16):
                    told = teacher(log_mel(power_frames(y + 1e-4 * torch.randn_like(y)), warps[k]))[0]
                told = told.float().softmax(-1)
            return spec_augment(f), mask, silent, sp.targets(idx, rng), told

    def save_average():
        half = {k: v.half() for k, v in ema.items()}
        save({"ema": half, "step": step, "spent": clock.spent, "log": log, "width": net.width, "layers": len(net.blocks)}, f"{a.out}/{a.name}.pt")

    from_first(world, *[v.data for v in net.state_dict().values()])
    params = list(net.parameters())
    average = Average(net, ema)
    net.train()
    clock, said, acc = Clock(a, spent, t0, world), time.time(), []
    while not clock.over(step):
        cool = clock.cooling()
        lr = cool * min(1, max(0, step - a.head) / a.warm)
        opt.param_groups[0]["lr"], opt.param_groups[1]["lr"] = lr, cool * a.new
        f, mask, silent, ((ta, na), (tb, nb)), told = batch()
        with torch.autocast(dev, torch.bfloat16):
            lo, so = net(f)
        lo, so = lo.float(), so.float()
        T = torch.full((len(f),), lo.shape[1])
        loud = torch.from_numpy(~silent)
        na, nb = na * loud, nb * loud
        scale = na.clamp(min=6).to(dev)
        lp = lo.log_softmax(-1).transpose(0, 1)
        loss_ctc = (torch.minimum(ctc(lp, T, ta, na), ctc(lp, T, tb, nb)) / scale).mean()
        loss_sp = F.binary_cross_entropy_with_logits(so, mask[:, :so.shape[1]])
        loss = loss_ctc + 0.25 * loss_sp
        if told is not None:
            apart = F.kl_div(lp.transpose(0, 1), told, reduction="none").sum((1, 2))
            loss = loss + a.teach * (apart / scale).mean()
        opt.zero_grad(set_to_none=True)
        loss.backward()
        shared_gradient(params, 1.0, world)
        opt.step()
        step += 1
        average.step(step, a.average)
        acc.append((loss_ctc.detach(), loss_sp.detach()))
        if step % a.say == 0:
            m = [float(torch.stack(v).mean()) for v in zip(*acc)]
            acc = []
            log.append([step, round(clock.spent), round(m[0], 4), round(m[1], 4), round(sp.used / RATE / 3600, 1)])
            say(f"step {step} {clock.spent:.0f}s ctc {m[0]:.4f} speech {m[1]:.4f} lr {lr:.6f} hours {sp.used / RATE / 3600:.1f} {time.time() - said:.1f}s")
            said = time.time()
        if step % (4 * a.say) == 0 and rank == 0:
            save_average()
        clock.scan(sp)
    if rank == 0:
        save_average()
        save({"net": net.state_dict(), "ema": ema, "opt": opt.state_dict(), "step": step, "spent": clock.spent, "log": log,
              "width": net.width, "layers": len(net.blocks)}, a.ck)
    say(f"saved step {step} spent {clock.spent:.0f}s of each engine (this process) {sp.counts}")
    if world > 1:
        dist.destroy_process_group()


if __name__ == "__main__":
    main()
