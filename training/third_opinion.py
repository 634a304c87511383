"""The third opinion: how likely a whole speech-to-text model finds a sentence to be what was said.

OpenAI's Whisper tiny.en (MIT, 2022), read from a CTranslate2 file and trained on by train_third.py: its encoder hears the utterance, its
decoder gives the probability of each token of a sentence after those before it. Of its 51,864 tokens the first 8,256 are
kept, the bytes and the commonest pairs: every text can be written with them.
"""
import re

import torch
import torch.nn as nn
import torch.nn.functional as F

from second_pass import Attention, SecondPass, ctranslate2, from_whisper

TOKENS, START, NO_TIMES = 8256, 50257, 50362     # of tiny.en; the two are told before every sentence
DEEPEST = 64                                     # tokens of the longest sentence
SPACE = chr(0x120)                               # how the vocabulary writes a space


def spelled(sentence):
    """As the model writes a sentence: " Flip the left one."."""
    return f" {sentence[0].upper()}{sentence[1:]}."


class Tokens:
    """Byte pair encoding: of neighbours those are joined first whose token has the lowest number (R. Sennrich and others 2016)."""

    def __init__(self, names):
        self.names, self.number, self.known = names, {name: n for n, name in enumerate(names)}, {}

    def word(self, word):
        parts = [SPACE if c == " " else c for c in word]
        while True:
            pairs = [(self.number[a + b], k) for k, (a, b) in enumerate(zip(parts, parts[1:])) if a + b in self.number]
            if not pairs:
                return [self.number[p] for p in parts]
            k = min(pairs)[1]
            parts[k:k + 2] = [parts[k] + parts[k + 1]]

    def of(self, sentence):
        parts = re.findall(r"'(?:s|t|re|ve|m|ll|d)| ?[A-Za-z]+| ?[^\sA-Za-z]+", spelled(sentence))
        for part in parts:
            if part not in self.known:
                self.known[part] = self.word(part)
        return [n for part in parts for n in self.known[part]]


class Block(nn.Module):
    def __init__(self, width):
        super().__init__()
        self.own, self.before = Attention(width), nn.LayerNorm(width)
        self.heard, self.listening = Attention(width), nn.LayerNorm(width)
        self.wide, self.narrow, self.between = nn.Linear(width, 4 * width), nn.Linear(4 * width, width), nn.LayerNorm(width)


def attend(a, x, y, mask=None):
    part = lambda t: t.reshape(*t.shape[:2], a.heads, 64).transpose(1, 2)
    z = F.scaled_dot_product_attention(part(a.q(x)), part(a.k(y)), part(a.v(y)), mask)
    return a.o(z.transpose(1, 2).reshape(x.shape))


class Reader(nn.Module):
    """The decoder. Row TOKENS of `words` is START, the last NO_TIMES."""

    def __init__(self, width, layers):
        super().__init__()
        self.width = width
        self.blocks = nn.ModuleList([Block(width) for _ in range(layers)])
        self.last = nn.LayerNorm(width)
        self.words, self.places = nn.Parameter(torch.zeros(TOKENS + 2, width)), nn.Parameter(torch.zeros(DEEPEST, width))

    def forward(self, states, x, mask):
        """What was heard [B, T, W], tokens with their places [B, L, W], 0 or minus infinity [1, 1, L, L] -> [B, L, W]"""
        for b in self.blocks:
            y = b.before(x)
            x = x + attend(b.own, y, y, mask)
            x = x + attend(b.heard, b.listening(x), states)
            x = x + b.narrow(F.gelu(b.wide(b.between(x))))
        return self.last(x)

    def next(self, states, tokens):
        """Tokens [B, L] -> logits [B, L, TOKENS]: of each after those before it."""
        told = F.pad(tokens[:, :-1], (1, 0), value=TOKENS + 1)
        told = F.pad(told, (1, 0), value=TOKENS)
        mask = torch.full((told.shape[1],) * 2, -1e9, device=told.device).triu(1)[None, None]
        return self(states, self.words[told] + self.places[:told.shape[1]], mask.to(states.dtype))[:, 1:] @ self.words[:TOKENS].T

    def likelihood(self, states, tokens):
        """Log probability of these tokens."""
        tokens = torch.tensor([tokens])
        return self.next(states, tokens).log_softmax(-1).gather(2, tokens[..., None]).sum().item()


def states(net, feats):
    """What the encoder makes of log-mel features [1, 80, 2T]: [1, T, W]."""
    x = F.gelu(net.c2(F.gelu(net.c1(feats)))).transpose(1, 2)
    x = x + net.places[: x.shape[1]]
    for b in net.blocks:
        x = b(x)
    return net.last(x)


def load(path):
    """-> encoder (a SecondPass whose layer of phones is unused), Reader"""
    w = ctranslate2(path)
    tensor = lambda k: torch.tensor(w["decoder/" + k].astype("float32"))
    net: SecondPass = from_whisper(path, 1, 0.0).eval()
    W = net.width
    layers = len({k.split("/")[1] for k in w if k.startswith("decoder/layer_") and k.split("/")[1][6:].isdigit()})
    reader = Reader(W, layers)

    def put(m, k, a="weight", b="bias"):
        m.weight.copy_(tensor(f"{k}/{a}"))
        m.bias.copy_(tensor(f"{k}/{b}"))

    def several(ms, k):
        weight, bias = tensor(f"{k}/weight"), tensor(f"{k}/bias")
        for n, m in enumerate(ms):
            m.weight.copy_(weight[n * W:(n + 1) * W])
            if m.bias is not None:
                m.bias.copy_(bias[n * W:(n + 1) * W])

    with torch.no_grad():
        words = tensor("embeddings/weight")
        reader.words.copy_(torch.cat([words[:TOKENS], words[[START, NO_TIMES]]]))
        reader.places.copy_(tensor("position_encodings/encodings")[:DEEPEST])
        put(reader.last, "layer_norm", "gamma", "beta")
        for i, b in enumerate(reader.blocks):
            k = f"layer_{i}"
            several((b.own.q, b.own.k, b.own.v), f"{k}/self_attention/linear_0"), put(b.own.o, f"{k}/self_attention/linear_1")
            put(b.before, f"{k}/self_attention/layer_norm", "gamma", "beta")
            put(b.heard.q, f"{k}/attention/linear_0"), several((b.heard.k, b.heard.v), f"{k}/attention/linear_1"), put(b.heard.o, f"{k}/attention/linear_2")
            put(b.listening, f"{k}/attention/layer_norm", "gamma", "beta")
            put(b.wide, f"{k}/ffn/linear_0"), put(b.narrow, f"{k}/ffn/linear_1"), put(b.between, f"{k}/ffn/layer_norm", "gamma", "beta")
    return net, reader.eval()


def trained(checkpoint, path):
    """-> encoder, Reader with the averaged weights of a .pt of train_third.py; `path` is where it began"""
    net, reader = load(path)
    weights = torch.load(checkpoint, map_location="cpu", weights_only=True)["ema"]
    for part, name in ((net, "net."), (reader, "reader.")):
        part.load_state_dict({k[len(name):]: v.float() for k, v in weights.items() if k.startswith(name)})
    return net.eval(), reader.eval()
