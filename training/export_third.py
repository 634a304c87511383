"""Write the third opinion: two networks of plain ONNX operations with 8-bit weights, its tokens, and a check file.

    python export_third.py THIRD.pt MODEL.bin VOCABULARY.txt --out DIR

THIRD.pt is of train_third.py; MODEL.bin and VOCABULARY.txt are Whisper tiny.en's for CTranslate2, where it began. DIR/third.onnx takes `feats` and `places` as second.onnx
does and gives `states` [1, T, width]. DIR/reader.onnx takes `states`, `words` [1, L, width] (tokens with their places added) and
`mask` [1, 1, L, L] (0 where a token may know of another, else -1e9) and gives `out` [1, L, width]; its product with `words` of
DIR/reader-words.bin is the logits of the next token. That file holds width x (tokens + 2) 8-bit integers, row by row,
then a float for each column: what a step of its numbers is worth; then the places, deepest x width floats.
DIR/third-check.json holds a sound and log likelihoods of sentences by the network on the very weights of the files; this
script fails if the ONNX differs by more than 1e-2.
"""
import argparse
import base64
import json
import os

import numpy as np
import onnx
import onnxruntime as ort
import torch

from export import check_waves
from export_second import SOUND, Transformer, encoder
from second_pass import log_mel, mel_bank, power_frames
from third_opinion import DEEPEST, TOKENS, Tokens, states, trained

SENTENCES = ["reading one fifteen", "reading one fifty", "the left one is done", "where's the test loaf"]


def reader_graph(reader):
    g, W = Transformer(reader.width), reader.width
    x = "words"
    for k, b in enumerate(reader.blocks):
        y = g.norm(x, b.before)
        x = g.op("Add", x, g.attention(y, y, b.own, f"own{k}", "mask"))
        x = g.op("Add", x, g.attention(g.norm(x, b.listening), "states", b.heard, f"heard{k}"))
        x = g.op("Add", x, g.widen(x, b, k))
    g.op("Identity", g.norm(x, reader.last), out="out")
    return g.model("hobcall-reader", [("states", [1, "T", W]), ("words", [1, "L", W]), ("mask", [1, 1, "L", "L"])], [("out", [1, "L", W])]), g.stored


def put_back(net, reader, heard, read):
    """The networks on the weights as the files hold them."""
    def attention(a, stored, k):
        for n in "qkvo":
            getattr(a, n).weight.copy_(torch.from_numpy(stored[n + k]).T / (0.125 if n == "q" else 1.0))

    with torch.no_grad():
        net.c1.weight.copy_(torch.from_numpy(heard["conv1"])), net.c2.weight.copy_(torch.from_numpy(heard["conv2"]))
        for k, b in enumerate(net.blocks):
            attention(b.attend, heard, f"{k}")
        for k, b in enumerate(reader.blocks):
            attention(b.own, read, f"own{k}"), attention(b.heard, read, f"heard{k}")
        for blocks, stored in ((net.blocks, heard), (reader.blocks, read)):
            for k, b in enumerate(blocks):
                b.wide.weight.copy_(torch.from_numpy(stored[f"wide{k}"]).T), b.narrow.weight.copy_(torch.from_numpy(stored[f"narrow{k}"]).T)


def main():
    ap = argparse.ArgumentParser()
    ap.add_argument("checkpoint")
    ap.add_argument("model")
    ap.add_argument("vocabulary")
    ap.add_argument("--out", required=True)
    a = ap.parse_args()
    net, reader = trained(a.checkpoint, a.model)
    names = open(a.vocabulary, encoding="utf-8").read().split("\n")[:TOKENS]
    tokens = Tokens(names)

    g = Transformer(net.width)
    g.op("Identity", encoder(g, net), out="states")
    onnx.save(g.model("hobcall-third", SOUND + [("places", [1, "T", net.width])], [("states", [1, "T", net.width])]), f"{a.out}/third.onnx")
    graph, read = reader_graph(reader)
    onnx.save(graph, f"{a.out}/reader.onnx")
    w = reader.words.detach().numpy().T
    steps = np.maximum(np.abs(w).max(0), 1e-8) / 127
    q = np.clip(np.round(w / steps), -127, 127).astype(np.int8)
    with open(f"{a.out}/reader-words.bin", "wb") as f:
        f.write(q.tobytes() + steps.astype("<f4").tobytes() + reader.places.detach().numpy().astype("<f4").tobytes())

    put_back(net, reader, g.stored, read)
    hear = ort.InferenceSession(f"{a.out}/third.onnx", providers=["CPUExecutionProvider"])
    tell = ort.InferenceSession(f"{a.out}/reader.onnx", providers=["CPUExecutionProvider"])
    pcm = check_waves()[-1]
    with torch.no_grad():
        reader.words.copy_(torch.from_numpy((q * steps).T))
        f = log_mel(power_frames(torch.from_numpy(pcm.astype(np.float32) / 32768)[None]), mel_bank())
        s = states(net, f)
        want = [reader.likelihood(s, tokens.of(t)) for t in SENTENCES]
        got = torch.from_numpy(hear.run(None, {"feats": f.numpy(), "places": net.places[None, : f.shape[2] // 2].numpy()})[0])
        reader.forward = lambda s, x, m: torch.from_numpy(tell.run(None, {"states": s.numpy(), "words": x.numpy(), "mask": m.numpy()})[0])
        worst = max(abs(reader.likelihood(got, tokens.of(t)) - v) for t, v in zip(SENTENCES, want))
    assert worst < 1e-2, f"the files and the network differ by {worst}"
    card = {"name": "Whisper tiny.en, trained on for the kitchen", "licence": "MIT, OpenAI", "rate": 16000, "width": net.width, "longest": len(net.places), "deepest": DEEPEST, "tokens": names}
    json.dump(card, open(f"{a.out}/third.json", "w", encoding="utf-8"), ensure_ascii=False)
    case = {"pcm_i16le": base64.b64encode(pcm.astype("<i2").tobytes()).decode(), "sentences": SENTENCES, "likelihoods": want, "tokens": [tokens.of(t) for t in SENTENCES]}
    json.dump(case, open(f"{a.out}/third-check.json", "w"))
    size = lambda *n: sum(os.path.getsize(f"{a.out}/{x}") for x in n)
    print(f"files against network: largest difference {worst:.2e}; {size('third.onnx', 'reader.onnx', 'reader-words.bin', 'third.json')} bytes;", [round(v, 2) for v in want])


if __name__ == "__main__":
    main()
