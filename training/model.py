"""The acoustic model: causal, streaming, about 4 million weights.

Features [B, T, 48] at 10 ms -> two causal convolutions (the second with stride 3) -> unidirectional GRU layers with
residuals and layer norm -> log-probabilities of the phones and a speech logit, every 30 ms. Look-ahead is a plain
delay: the network sees `ahead` feature frames beyond the frame it answers for, because training shifts its input
by that much (`forward` pads the end and drops the first outputs), so that streaming needs no future at all.
"""
import math

import torch
import torch.nn as nn
import torch.nn.functional as F

RATE, HOP, WIN, FFT, BANDS = 16000, 160, 400, 512, 48
STRIDE = 3


def mel_bank(lo=60.0, hi=7800.0, warp=1.0):
    """48 HTK-mel triangles on 257 bins, exact (not rounded to bins). warp: frequency axis scale (tract length)."""
    mel = lambda f: 2595 * math.log10(1 + f / 700)
    hz = lambda m: 700 * (10 ** (m / 2595) - 1)
    edges = [hz(mel(lo) + (mel(hi) - mel(lo)) * i / (BANDS + 1)) for i in range(BANDS + 2)]
    f = torch.arange(FFT // 2 + 1) * RATE / FFT * warp
    rows = []
    for i in range(BANDS):
        a, b, c = edges[i:i + 3]
        rows.append(torch.clamp(torch.minimum((f - a) / (b - a), (c - f) / (c - b)), min=0))
    return torch.stack(rows)


def power_frames(x):
    """[B, N] in [-1, 1] -> [B, T, 257] power spectra; frame t covers samples 160 t .. 160 t + 399, nothing is padded."""
    x = x - 0.97 * F.pad(x, (1, 0))[:, :-1]
    w = torch.hann_window(WIN, periodic=True, device=x.device)
    fr = x.unfold(1, WIN, HOP) * w
    return torch.fft.rfft(fr, FFT).abs() ** 2


class Net(nn.Module):
    def __init__(self, classes=40, width=384, layers=4, front=192, ahead=15, drop=0.1):
        super().__init__()
        self.ahead, self.width, self.layers, self.front = ahead, width, layers, front
        self.c1, self.b1 = nn.Conv1d(BANDS, front, 5), nn.BatchNorm1d(front)
        self.c2, self.b2 = nn.Conv1d(front, width, 5, STRIDE), nn.BatchNorm1d(width)
        self.rnn = nn.ModuleList([nn.GRU(width, width, 1, batch_first=True) for _ in range(layers)])
        self.norm = nn.ModuleList([nn.LayerNorm(width) for _ in range(layers)])
        self.drop = nn.Dropout(drop)
        self.out = nn.Linear(width, classes + 1)
        self.middle = nn.Linear(width, classes)     # only helps to train: phones from the middle layer

    def front_end(self, f):
        """Causal: output t sees features 3t-6 .. 3t+2."""
        h = F.silu(self.b1(self.c1(F.pad(f.transpose(1, 2), (4, 0)))))
        return F.silu(self.b2(self.c2(F.pad(h, (2, 0))))).transpose(1, 2)

    def forward(self, f):
        """[B, T, 48] normalised -> logits [B, T//3, classes], speech logit [B, T//3], both in step with the sound."""
        T = f.shape[1] // STRIDE
        f = F.pad(f, (0, 0, 0, self.ahead + STRIDE), mode="replicate")[:, : (T * STRIDE + self.ahead)]
        h = self.front_end(f)
        for g, n in zip(self.rnn, self.norm):
            y, _ = g(h)
            h = n(h + self.drop(y))
        o = self.out(h)[:, self.ahead // STRIDE:]
        return o[..., :-1], o[..., -1]
