"""Augmentation on the GPU: rooms, noises, microphones, levels. All functions take and give float tensors [B, N] at 16 kHz."""
import math

import torch
import torch.nn.functional as F

RATE = 16000


def rand(n, lo, hi, dev, shape=1):
    return torch.empty((n,) + (1,) * shape, device=dev).uniform_(lo, hi)


def fftfilt(x, h):
    n = 1 << (x.shape[1] + h.shape[1] - 1).bit_length()
    return torch.fft.irfft(torch.fft.rfft(x, n) * torch.fft.rfft(h, n), n)[:, :x.shape[1]]


def shape_noise(x, gain):
    """Filter by a gain curve over rfft bins."""
    return torch.fft.irfft(torch.fft.rfft(x) * gain, x.shape[1])


def rooms(n, dev, taps=6400, image=None):
    """Room responses [n, taps]: image-source ones when given (three in four of the reverberant), else decaying noise."""
    t = torch.arange(taps, device=dev) / RATE
    rt = rand(n, 0.12, 0.8, dev)
    h = torch.randn(n, taps, device=dev) * torch.exp(-6.9 * t / rt)
    gap = torch.randint(20, 160, (n, 1), device=dev)
    h = h * (torch.arange(taps, device=dev)[None] > gap)
    drr = rand(n, -4, 14, dev)
    h = h / (h.pow(2).sum(1, keepdim=True).sqrt() + 1e-9) * 10 ** (-drr / 20)
    h[:, 0] += 1
    if image is not None:
        pick = image[torch.randint(0, len(image), (n,), device=dev)].float()
        h = torch.where(rand(n, 0, 1, dev) < 0.5, pick, h)
    dry = torch.zeros_like(h)
    dry[:, 0] = 1
    return torch.where(rand(n, 0, 1, dev) < 0.62, h, dry)


def noise_bank(clips, seconds, dev, seed=0):
    """Synthetic kitchen: frying, hood, running water, clatter, room tone. -> int16 [clips, seconds * RATE], unit-ish level."""
    torch.manual_seed(seed)
    n = seconds * RATE
    out = torch.empty(clips, n, dtype=torch.int16, device=dev)
    for i in range(0, clips, 32):
        b = min(32, clips - i)
        f = torch.fft.rfftfreq(n, 1 / RATE).to(dev)[None]
        white = torch.randn(b, n, device=dev)
        kind = torch.arange(i, i + b) % 5
        parts = []
        for j in range(b):
            w = white[j:j + 1]
            k = int(kind[j])
            u = lambda lo, hi: float(torch.empty(1).uniform_(lo, hi))
            if k == 0:      # frying: a bed of hiss and thousands of crackles of varied size and colour
                y = shape_noise(w, (f / 1000).clamp(min=0.05) ** u(-0.6, 0.5))
                y = y / y.std()
                rate = u(0.0005, 0.02)
                sp = (torch.rand(1, n, device=dev) < rate).float() * torch.randn(1, n, device=dev) * torch.exp(torch.randn(1, n, device=dev) * u(0.5, 1.3))
                tau = u(3, 40)
                ker = torch.exp(-torch.arange(160, device=dev) / tau) * torch.cos(torch.arange(160, device=dev) * 2 * math.pi * u(800, 6000) / RATE)
                c = fftfilt(sp, ker[None])
                y = y * u(0.05, 1) + c / (c.std() + 1e-6) * u(0.3, 1.5)
            elif k == 1:    # hood: low noise, a motor's harmonics, slow beating
                y = shape_noise(w, (1 / (1 + (f / u(150, 900)) ** 2)) ** u(0.5, 1.2))
                y = y / y.std()
                t = torch.arange(n, device=dev)[None] / RATE
                f0 = u(45, 180)
                for m in range(1, 9):
                    y = y + u(0, 0.5) / m * torch.sin(2 * math.pi * f0 * m * t + u(0, 6))
                y = y * (1 + u(0, 0.2) * torch.sin(2 * math.pi * u(0.3, 3) * t))
            elif k == 2:    # water: broad noise whose band gains flicker, with bubbling
                y = shape_noise(w, ((f + 50) / 1000) ** u(-0.8, 0.2) / (1 + (f / u(3000, 8000)) ** 4))
                env = F.interpolate(torch.rand(1, 1, int(n / RATE * u(5, 40))), size=n, mode="linear")[0].to(dev)
                y = y / y.std() * (1 + u(0, 1.5) * env)
                sp = (torch.rand(1, n, device=dev) < u(0.0005, 0.004)).float() * torch.randn(1, n, device=dev)
                ker = torch.exp(-torch.arange(800, device=dev) / u(60, 250)) * torch.sin(torch.arange(800, device=dev) * 2 * math.pi * u(300, 1500) / RATE)
                b_ = fftfilt(sp, ker[None])
                y = y + b_ / (b_.std() + 1e-6) * u(0, 1)
            elif k == 3:    # clatter: struck metal and china, over a quiet bed
                y = torch.zeros(1, n, device=dev)
                for _ in range(int(u(2, 6))):
                    sp = (torch.rand(1, n, device=dev) < u(0.5, 5) / RATE).float() * torch.exp(torch.randn(1, n, device=dev))
                    m = int(u(4000, 9600))
                    tt = torch.arange(m, device=dev)
                    ker = sum(u(0.2, 1) * torch.exp(-tt / u(80, 3000)) * torch.sin(tt * 2 * math.pi * u(400, 7000) / RATE) for _ in range(6))
                    y = y + fftfilt(sp, ker[None])
                y = y / (y.std() + 1e-6) + shape_noise(w, (f / 500).clamp(min=0.1) ** -0.7) * u(0.05, 0.5)
            else:           # room tone of any colour
                y = shape_noise(w, (f / 500).clamp(min=0.06) ** u(-1.4, 0.6))
            parts.append(y / (y.std() + 1e-6))
        out[i:i + b] = (torch.cat(parts) * 3000).clamp(-32768, 32767).to(torch.int16)
    return out


def band_limits(x):
    """Microphones: high-pass, low-pass (a quarter down to telephone width), tilt, one broad resonance."""
    B, N = x.shape
    dev = x.device
    n = 1 << (N - 1).bit_length()
    f = torch.linspace(0, RATE / 2, n // 2 + 1, device=dev)[None]
    hp = rand(B, 20, 350, dev)
    lp = torch.where(rand(B, 0, 1, dev) < 0.22, rand(B, 3200, 4200, dev), rand(B, 5500, 14000, dev))
    g = 1 / (1 + (hp / (f + 1)) ** 4).sqrt() / (1 + (f / lp) ** 8).sqrt()
    db = rand(B, -9, 9, dev) * (f / 4000 - 0.4).clamp(-1, 1)
    fc, q = rand(B, 300, 5000, dev), rand(B, 0.3, 1.2, dev)
    db = db + rand(B, -7, 7, dev) * torch.exp(-((f + 1).log2() - fc.log2()) ** 2 / (2 * q ** 2))
    g = torch.where(rand(B, 0, 1, dev) < 0.15, torch.ones_like(g), g * 10 ** (db / 20))
    return torch.fft.irfft(torch.fft.rfft(x, n) * g, n)[:, :N]


def speech_mask(x, frames):
    """Where the foreground speaks: [B, frames] in 0/1 from the clean signal, 30 ms frames, 35 dB below the loudest, closed over 90 ms."""
    e = F.avg_pool1d(x[:, None] ** 2, 480, 480)[:, 0][:, :frames]
    e = F.pad(e, (0, frames - e.shape[1]))
    on = (e > e.amax(1, keepdim=True) * 10 ** -3.5).float() * (e.amax(1, keepdim=True) > 1e-9)
    on = F.max_pool1d(on[:, None], 7, 1, 3)[:, 0]
    return -F.max_pool1d(-on[:, None], 7, 1, 3)[:, 0]


def mixed(x, clean_len, banks, image, snr=(-5, 28), clean=0.1, talk_share=0.32):
    """Speech [B, N] placed in silence -> what a kitchen microphone gets. banks: list of (int16 [clips, n] or flat, weight); talk_share: of the noises, other talkers."""
    B, N = x.shape
    dev = x.device
    x = fftfilt(x, rooms(B, dev, image=image))
    p = (x.pow(2).sum(1, keepdim=True) / clean_len[:, None].clamp(min=1600)).sqrt()
    synthetic, real, babble = banks

    def take_flat(flat, k):
        s = torch.randint(0, len(flat) - N, (k,), device=dev)
        return flat[s[:, None] + torch.arange(N, device=dev)[None]].float() / 32768

    def take_bank(bank, k):
        c = torch.randint(0, len(bank), (k,), device=dev)
        s = torch.randint(0, bank.shape[1] - N, (k, 1), device=dev)
        return bank[c[:, None], s + torch.arange(N, device=dev)[None]].float() / 32768

    unit = lambda y: y / (y.pow(2).mean(1, keepdim=True).sqrt() + 1e-6)
    a = unit(take_bank(synthetic, B))
    r = unit(take_flat(real, B))
    # One to six others who talk: recorded ones and those of the batch, moved in time. Alone, only many at once are a noise.
    others = torch.randint(1, 7, (B, 1), device=dev)
    others = torch.where(p < 1e-4, others.clamp(min=4), others)
    talk = take_flat(babble, B)
    for k in range(5):
        other = torch.roll(x[torch.randperm(B, device=dev)], int(torch.randint(0, N, (1,))), 1)
        talk = talk + other * rand(B, 0.3, 1, dev) * (others > k + 1)
    talk = fftfilt(unit(talk), rooms(B, dev, image=image))
    u = rand(B, 0, 1, dev) / (1 - talk_share)               # above 1: others who talk
    nz = torch.where(u < 0.44, r, torch.where(u < 0.88, a, torch.where(u < 1, unit(r + a * rand(B, 0, 1, dev)), unit(unit(talk) + a * rand(B, 0, 0.6, dev)))))
    lo, hi = snr
    s = rand(B, lo, hi, dev)
    s = torch.where(u >= 1, torch.maximum(s, torch.where(others > 2, -3.0, 3.0)), s)      # a few other talkers must be less loud than the foreground, several at once need not
    g = p * 10 ** (-s / 20)
    g = torch.where(rand(B, 0, 1, dev) < clean, g * 0.001, g)
    g = torch.where(p < 1e-4, torch.full_like(g, 0.1), g)   # noise alone
    y = x + nz * g
    y = band_limits(y)
    peak = y.abs().amax(1, keepdim=True) + 1e-6
    level = 10 ** (rand(B, -42, 6, dev) / 20)          # up to 6 dB of clipping
    y = (y / peak * level).clamp(-1, 1)
    floor = 10 ** (rand(B, -90, -62, dev) / 20)
    y = y + torch.randn_like(y) * floor
    return (y * 32768).round().clamp(-32768, 32767) / 32768
