"""The second pass: a transformer that hears a whole utterance at once, begun from the encoder of OpenAI's Whisper.

Log-mel features [B, 80, T] at 10 ms -> two convolutions (the second with stride 2) -> transformer blocks that see the
whole utterance -> log-probabilities of the phones and a speech logit, every 20 ms. The weights begin as those of
Whisper's encoder (MIT, OpenAI 2022), read from a CTranslate2 file; the layer of phones is new, and all is trained on.
"""
import struct

import numpy as np
import torch
import torch.nn as nn
import torch.nn.functional as F

RATE, HOP, WIN, BANDS = 16000, 160, 400, 80
LONGEST = 500                                    # positions kept, of 20 ms


def mel_bank(warp=1.0):
    """80 triangles of equal area on the mel scale of Slaney's Auditory Toolbox, on 201 bins. warp: frequency axis scale (tract length)."""
    hz2mel = lambda f: np.where(f >= 1000, 15 + np.log(np.maximum(f, 1e-9) / 1000) / (np.log(6.4) / 27), f / (200 / 3))
    mel2hz = lambda m: np.where(m >= 15, 1000 * np.exp(np.log(6.4) / 27 * (m - 15)), m * 200 / 3)
    f = np.linspace(0, RATE / 2, WIN // 2 + 1)
    e = mel2hz(np.linspace(hz2mel(np.array(0.0)), hz2mel(np.array(RATE / 2.0)), BANDS + 2))
    r = e[:, None] - f[None] * warp
    d = np.diff(e)
    w = np.maximum(0, np.minimum(-r[:-2] / d[:-1, None], r[2:] / d[1:, None])) * (2 / (e[2:] - e[:BANDS]))[:, None]
    return torch.tensor(w, dtype=torch.float32)


def power_frames(x):
    """[B, N] in [-1, 1] -> [B, T, 201] power spectra; frame t is centred on sample 160 t (reflected at the ends)."""
    s = torch.stft(x, WIN, HOP, window=torch.hann_window(WIN, device=x.device), return_complex=True)
    return s[..., :-1].abs().pow(2).transpose(1, 2)


def log_mel(power, bank):
    """[B, T, 201], [80, 201] or [B, 80, 201] -> [B, 80, T]: 80 dB below the loudest and up, about -1 to 1."""
    m = torch.clamp(power @ bank.transpose(-1, -2), min=1e-10).log10()
    m = torch.maximum(m, m.amax((1, 2), keepdim=True) - 8)
    return ((m + 4) / 4).transpose(1, 2)


class Attention(nn.Module):
    def __init__(self, width):
        super().__init__()
        self.heads = width // 64
        self.q, self.k, self.v = nn.Linear(width, width), nn.Linear(width, width, bias=False), nn.Linear(width, width)
        self.o = nn.Linear(width, width)

    def forward(self, x):
        B, T, D = x.shape
        part = lambda t: t.reshape(B, T, self.heads, 64).transpose(1, 2)
        y = F.scaled_dot_product_attention(part(self.q(x)), part(self.k(x)), part(self.v(x)))
        return self.o(y.transpose(1, 2).reshape(B, T, D))


class Block(nn.Module):
    def __init__(self, width, drop):
        super().__init__()
        self.attend, self.before = Attention(width), nn.LayerNorm(width)
        self.wide, self.narrow, self.between = nn.Linear(width, 4 * width), nn.Linear(4 * width, width), nn.LayerNorm(width)
        self.drop = nn.Dropout(drop)

    def forward(self, x):
        x = x + self.drop(self.attend(self.before(x)))
        return x + self.drop(self.narrow(F.gelu(self.wide(self.between(x)))))


class SecondPass(nn.Module):
    def __init__(self, classes=40, width=384, layers=4, drop=0.1):
        super().__init__()
        self.width = width
        self.c1, self.c2 = nn.Conv1d(BANDS, width, 3, padding=1), nn.Conv1d(width, width, 3, stride=2, padding=1)
        self.blocks = nn.ModuleList([Block(width, drop) for _ in range(layers)])
        self.last = nn.LayerNorm(width)
        self.out = nn.Linear(width, classes + 1)
        self.register_buffer("places", torch.zeros(LONGEST, width))

    def forward(self, f):
        """[B, 80, T] -> logits [B, T/2, classes], speech logit [B, T/2]"""
        x = F.gelu(self.c2(F.gelu(self.c1(f)))).transpose(1, 2)
        x = x + self.places[: x.shape[1]]
        for b in self.blocks:
            x = b(x)
        o = self.out(self.last(x))
        return o[..., :-1], o[..., -1]


def load(path, classes, drop=0.1):
    """-> the network with the averaged weights of a .pt of train_second.py, and all that the file holds"""
    c = torch.load(path, map_location="cpu", weights_only=True)
    net = SecondPass(classes, c["width"], c["layers"], drop)
    net.load_state_dict({k: v.float() for k, v in c["ema"].items()})
    return net.eval(), c


def ctranslate2(path):
    """The arrays of a CTranslate2 model file, by name."""
    d = open(path, "rb").read()
    at = 0

    def take(form):
        nonlocal at
        (v,) = struct.unpack_from("<" + form, d, at)
        at += struct.calcsize("<" + form)
        return v

    def text():
        nonlocal at
        n = take("H")
        at += n
        return d[at - n:at].rstrip(b"\0").decode()

    take("I"), text(), take("I")
    kinds, out = {0: np.float32, 1: np.int8, 2: np.int16, 3: np.int32, 4: np.float16}, {}
    for _ in range(take("I")):
        name, rank = text(), take("B")
        shape = [take("I") for _ in range(rank)]
        kind, size = np.dtype(kinds[take("B")]), take("I")
        out[name] = np.frombuffer(d, kind, size // kind.itemsize, at).reshape(shape)
        at += size
    return out


def from_whisper(path, classes, drop=0.1):
    w = ctranslate2(path)
    tensor = lambda k: torch.tensor(np.asarray(w["encoder/" + k], np.float32))
    width = w["encoder/conv1/bias"].shape[0]
    layers = len({k.split("/")[1] for k in w if k.startswith("encoder/layer_") and "norm" not in k.split("/")[1]})
    net = SecondPass(classes, width, layers, drop)

    def put(m, k, a="weight", b="bias"):
        m.weight.copy_(tensor(f"{k}/{a}"))
        m.bias.copy_(tensor(f"{k}/{b}"))

    with torch.no_grad():
        net.out.weight.zero_(), net.out.bias.zero_()
        put(net.c1, "conv1"), put(net.c2, "conv2"), put(net.last, "layer_norm", "gamma", "beta")
        net.places.copy_(tensor("position_encodings/encodings")[:LONGEST])
        for i, b in enumerate(net.blocks):
            k = f"layer_{i}"
            weight, bias = tensor(f"{k}/self_attention/linear_0/weight"), tensor(f"{k}/self_attention/linear_0/bias")
            for n, m in enumerate((b.attend.q, b.attend.k, b.attend.v)):
                m.weight.copy_(weight[n * width:(n + 1) * width])
                if m.bias is not None:
                    m.bias.copy_(bias[n * width:(n + 1) * width])
            put(b.attend.o, f"{k}/self_attention/linear_1"), put(b.before, f"{k}/self_attention/layer_norm", "gamma", "beta")
            put(b.wide, f"{k}/ffn/linear_0"), put(b.narrow, f"{k}/ffn/linear_1"), put(b.between, f"{k}/ffn/layer_norm", "gamma", "beta")
    return net
