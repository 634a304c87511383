"""Write the second pass: ONNX of plain operations with 8-bit weights, its description, and a check file.

    python export_second.py CHECKPOINT --out DIR [--version N]

DIR/second.onnx takes `feats` [1, 80, 2T] (log-mel as second_pass.log_mel makes it) and `places` [1, T, width] (the sines
and cosines of second_pass.places) and gives `logp` [1, T, classes] and `speech` [1, T] (a logit), an answer for 20 ms.
DIR/second-check.json holds two short waveforms with the answers of the network offline on the very weights of the
file; this script fails if the ONNX differs from them by more than 1e-3.
"""
import argparse
import datetime
import json
import os

import numpy as np
import onnx
import onnxruntime as ort
import torch
from onnx import TensorProto, helper

from export import Graph, check_waves
from second_pass import BANDS, load, log_mel, mel_bank, power_frames
from texts import PHONES


class Transformer(Graph):
    """What a transformer is made of, with weights in eight bits."""

    def __init__(self, width):
        super().__init__("int8")
        self.half, self.one, self.root = (self.const(np.array(v, np.float32)) for v in (0.5, 1.0, 0.5 ** 0.5))
        self.eps = self.const(np.array(1e-5, np.float32))
        self.apart, self.together = self.const(np.array([0, 0, width // 64, 64], np.int64)), self.const(np.array([0, 0, width], np.int64))

    def gelu(self, x):
        return self.op("Mul", self.op("Mul", x, self.half), self.op("Add", self.op("Erf", self.op("Mul", x, self.root)), self.one))

    def norm(self, x, m):
        d = self.op("Sub", x, self.op("ReduceMean", x, axes=[2], keepdims=1))
        v = self.op("ReduceMean", self.op("Mul", d, d), axes=[2], keepdims=1)
        return self.op("Add", self.op("Mul", self.op("Div", d, self.op("Sqrt", self.op("Add", v, self.eps))), self.vector(m.weight)), self.vector(m.bias))

    def linear(self, x, m, hint, scale=1.0):
        y = self.op("MatMul", x, self.matrix(m.weight.T * scale, 1, hint))
        return y if m.bias is None else self.op("Add", y, self.vector(m.bias * scale))

    def attention(self, x, y, a, k, mask=None):
        """Of x [1, L, W] to y [1, T, W]; `a` has the matrices q, k, v and o."""
        part = lambda t, perm: self.op("Transpose", self.op("Reshape", t, self.apart), perm=perm)
        q = part(self.linear(x, a.q, f"q{k}", 0.125), [0, 2, 1, 3])
        key, v = part(self.linear(y, a.k, f"k{k}"), [0, 2, 3, 1]), part(self.linear(y, a.v, f"v{k}"), [0, 2, 1, 3])
        near = self.op("MatMul", q, key)
        near = self.op("Add", near, mask) if mask else near
        y = self.op("MatMul", self.op("Softmax", near, axis=3), v)
        return self.linear(self.op("Reshape", self.op("Transpose", y, perm=[0, 2, 1, 3]), self.together), a.o, f"o{k}")

    def widen(self, x, b, k):
        return self.linear(self.gelu(self.linear(self.norm(x, b.between), b.wide, f"wide{k}")), b.narrow, f"narrow{k}")

    def model(self, name, ins, outs):
        f32 = TensorProto.FLOAT
        ins, outs = ([helper.make_tensor_value_info(n, f32, shape) for n, shape in of] for of in (ins, outs))
        m = helper.make_model(helper.make_graph(self.nodes, name, ins, outs, self.inits), opset_imports=[helper.make_opsetid("", 13)], producer_name="hobcall")
        m.ir_version = 8
        onnx.checker.check_model(m)
        return m


def encoder(g, net):
    """From `feats` and `places` to what the last layer is given."""
    x = g.gelu(g.op("Conv", "feats", g.matrix(net.c1.weight, 0, "conv1"), g.vector(net.c1.bias), kernel_shape=[3], pads=[1, 1]))
    x = g.gelu(g.op("Conv", x, g.matrix(net.c2.weight, 0, "conv2"), g.vector(net.c2.bias), kernel_shape=[3], strides=[2], pads=[1, 1]))
    x = g.op("Add", g.op("Transpose", x, perm=[0, 2, 1]), "places")
    for k, b in enumerate(net.blocks):
        y = g.norm(x, b.before)
        x = g.op("Add", x, g.attention(y, y, b.attend, k))
        x = g.op("Add", x, g.widen(x, b, k))
    return g.norm(x, net.last)


SOUND = [("feats", [1, BANDS, "2T"])]


def build(net):
    g, C = Transformer(net.width), len(PHONES)
    o = g.linear(encoder(g, net), net.out, "out")
    g.op("LogSoftmax", g.slice(o, 0, C, 2), axis=2, out="logp")
    g.op("Squeeze", g.slice(o, C, C + 1, 2), g.const(np.array([2], np.int64)), out="speech")
    m = g.model("hobcall-second", SOUND + [("places", [1, "T", net.width])], [("logp", [1, "T", C]), ("speech", [1, "T"])])
    return m, g.stored


def with_stored(net, stored):
    """The network on the weights as the file holds them."""
    put = lambda m, key, s=1.0: m.weight.copy_(torch.from_numpy(stored[key]).T / s)
    with torch.no_grad():
        net.c1.weight.copy_(torch.from_numpy(stored["conv1"]))
        net.c2.weight.copy_(torch.from_numpy(stored["conv2"]))
        put(net.out, "out")
        for k, b in enumerate(net.blocks):
            put(b.attend.q, f"q{k}", 0.125), put(b.attend.k, f"k{k}"), put(b.attend.v, f"v{k}"), put(b.attend.o, f"o{k}")
            put(b.wide, f"wide{k}"), put(b.narrow, f"narrow{k}")
    return net


def main():
    import base64
    ap = argparse.ArgumentParser()
    ap.add_argument("checkpoint")
    ap.add_argument("--out", required=True)
    ap.add_argument("--version", default="1")
    a = ap.parse_args()
    net, c = load(a.checkpoint, len(PHONES))
    m, stored = build(net)
    path = f"{a.out}/second.onnx"
    onnx.save(m, path)
    net = with_stored(net, stored)
    session = ort.InferenceSession(path, providers=["CPUExecutionProvider"])
    b64 = lambda x, t: base64.b64encode(np.ascontiguousarray(x, t).tobytes()).decode()
    checks, worst = [], 0.0
    for w in check_waves()[1:]:
        x = torch.from_numpy(w.astype(np.float32) / 32768)[None]
        with torch.no_grad():
            f = log_mel(power_frames(x), mel_bank())
            lo, so = net(f)
            lp = lo.log_softmax(-1)[0].numpy()
        got = session.run(None, {"feats": f.numpy(), "places": net.places[None, : f.shape[2] // 2].numpy()})
        worst = max(worst, np.abs(got[0][0] - lp).max(), np.abs(got[1][0] - so[0].numpy()).max())
        checks.append({"pcm_i16le": b64(w, "<i2"), "logp_f32le": b64(lp, "<f4"), "speech_f32le": b64(so[0].numpy(), "<f4")})
    assert worst < 1e-3, f"the file and the network differ by {worst}"
    about = {"version": a.version, "trained": datetime.date.today().isoformat(), "language": "en-US", "rate": 16000, "bands": BANDS,
             "width": net.width, "longest": len(net.places), "phones": PHONES, "weights": sum(p.numel() for p in net.parameters()), "steps": int(c["step"])}
    json.dump(about, open(f"{a.out}/second.json", "w"), indent=1)
    note = "Two sounds with log-probabilities [T, classes] and speech logits, every 20 ms."
    json.dump({"note": note, "classes": len(PHONES), "cases": checks}, open(f"{a.out}/second-check.json", "w"))
    print("file against network: largest difference %.2e; %d bytes" % (worst, os.path.getsize(path)))


if __name__ == "__main__":
    main()
