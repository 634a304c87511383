"""Write the streaming network: ONNX of plain operations, its description, and a check file.

    python export.py CHECKPOINT --out DIR [--weights mixed|fp16|int8] [--chunk 12]

DIR/en.onnx takes `feats` [1, chunk, 48] (normalised log-mel) and the caches `in_*`, all zero at the start, and gives
`logp` [1, chunk/3, classes], `speech` [1, chunk/3] (a logit) and `out_*`. Output k of the stream answers for the sound
`lookahead_frames` earlier: drop the first lookahead_frames / 3 outputs and feed that much more at the end.
DIR/check.json holds three short waveforms with features and outputs, by the offline network in 32-bit floats on the
very weights of the file; this script fails if the streamed ONNX differs from it by more than 1e-3.
"""
import argparse
import base64
import datetime
import json

import numpy as np
import onnx
import onnxruntime as ort
import torch
from onnx import TensorProto, helper, numpy_helper

from model import BANDS, STRIDE, Net, mel_bank, power_frames
from texts import PHONES


def load(path):
    c = torch.load(path, map_location="cpu", weights_only=True)
    net = Net(len(PHONES), c["width"], c["layers"], ahead=c["ahead"])
    net.load_state_dict({k: v.float() if v.is_floating_point() else v for k, v in c["ema"].items()}, strict=False)
    net.eval()
    return net, c["mean"].cpu().float(), c["std"].cpu().float(), c


def fold(conv, bn):
    s = bn.weight / torch.sqrt(bn.running_var + bn.eps)
    return conv.weight * s[:, None, None], (conv.bias - bn.running_mean) * s + bn.bias


class Graph:
    def __init__(self, weights):
        self.nodes, self.inits, self.weights, self.n = [], [], weights, 0
        self.stored = {}

    def name(self, hint="t"):
        self.n += 1
        return f"{hint}{self.n}"

    def op(self, kind, *inputs, out=None, **attrs):
        out = out or self.name(kind.lower())
        self.nodes.append(helper.make_node(kind, list(inputs), [out], **attrs))
        return out

    def const(self, x, hint="c"):
        name = self.name(hint)
        self.inits.append(numpy_helper.from_array(np.ascontiguousarray(x), name))
        return name

    def matrix(self, x, axis, hint="w"):
        """A weight, stored small and widened when the graph is loaded. axis: the output channel's."""
        x = x.detach().numpy().astype(np.float32)
        if self.weights == "int8" or self.weights == "mixed" and not hint.endswith("_rec"):
            other = tuple(i for i in range(x.ndim) if i != axis)
            s = np.maximum(np.abs(x).max(other, keepdims=True), 1e-8) / 127
            q = np.clip(np.round(x / s), -127, 127).astype(np.int8)
            self.stored[hint] = q.astype(np.float32) * s
            return self.op("Mul", self.op("Cast", self.const(q, hint), to=TensorProto.FLOAT), self.const(s.astype(np.float32), hint + "_scale"))
        h = x.astype(np.float16)
        self.stored[hint] = h.astype(np.float32)
        return self.op("Cast", self.const(h, hint), to=TensorProto.FLOAT)

    def vector(self, x, hint="b"):
        return self.const(x.detach().numpy().astype(np.float32), hint)

    def slice(self, x, a, b, axis):
        i = lambda v: self.const(np.array([v], np.int64))
        return self.op("Slice", x, i(a), i(b), i(axis))


def build(net, chunk, weights):
    g = Graph(weights)
    W, L, frames = net.width, net.layers, chunk // STRIDE
    silu = lambda x: g.op("Mul", x, g.op("Sigmoid", x))
    w1, b1 = fold(net.c1, net.b1)
    w2, b2 = fold(net.c2, net.b2)
    x = g.op("Concat", "in_feats", "feats", axis=1)
    g.op("Identity", g.slice(x, chunk, chunk + 4, 1), out="out_feats")
    x = g.op("Transpose", x, perm=[0, 2, 1])
    h = silu(g.op("Conv", x, g.matrix(w1, 0, "conv1"), g.vector(b1), kernel_shape=[5]))
    h = g.op("Concat", "in_conv", h, axis=2)
    g.op("Identity", g.slice(h, chunk, chunk + 2, 2), out="out_conv")
    h = silu(g.op("Conv", h, g.matrix(w2, 0, "conv2"), g.vector(b2), kernel_shape=[5], strides=[STRIDE]))
    h = g.op("Transpose", h, perm=[0, 2, 1])
    one = g.const(np.array(1, np.float32))
    eps = g.const(np.array(1e-5, np.float32))
    for k, (rnn, norm) in enumerate(zip(net.rnn, net.norm)):
        wi = g.matrix(rnn.weight_ih_l0.T, 1, f"gru{k}_in")
        wh = g.matrix(rnn.weight_hh_l0.T, 1, f"gru{k}_rec")
        bi, bh = g.vector(rnn.bias_ih_l0), g.vector(rnn.bias_hh_l0)
        gi = g.op("Add", g.op("MatMul", h, wi), bi)
        s = f"in_gru{k}"
        ys = []
        for t in range(frames):
            xi = g.slice(gi, t, t + 1, 1)
            hh = g.op("Add", g.op("MatMul", s, wh), bh)
            rz = g.op("Sigmoid", g.op("Add", g.slice(xi, 0, 2 * W, 2), g.slice(hh, 0, 2 * W, 2)))
            r, z = g.slice(rz, 0, W, 2), g.slice(rz, W, 2 * W, 2)
            n = g.op("Tanh", g.op("Add", g.slice(xi, 2 * W, 3 * W, 2), g.op("Mul", r, g.slice(hh, 2 * W, 3 * W, 2))))
            s = g.op("Add", g.op("Mul", g.op("Sub", one, z), n), g.op("Mul", z, s))
            ys.append(s)
        g.op("Identity", s, out=f"out_gru{k}")
        h = g.op("Add", h, g.op("Concat", *ys, axis=1))
        d = g.op("Sub", h, g.op("ReduceMean", h, axes=[2], keepdims=1))
        v = g.op("ReduceMean", g.op("Mul", d, d), axes=[2], keepdims=1)
        h = g.op("Add", g.op("Mul", g.op("Div", d, g.op("Sqrt", g.op("Add", v, eps))), g.vector(norm.weight)), g.vector(norm.bias))
    o = g.op("Add", g.op("MatMul", h, g.matrix(net.out.weight.T, 1, "out")), g.vector(net.out.bias))
    C = len(PHONES)
    g.op("LogSoftmax", g.slice(o, 0, C, 2), axis=2, out="logp")
    g.op("Reshape", g.slice(o, C, C + 1, 2), g.const(np.array([1, frames], np.int64)), out="speech")
    f32 = TensorProto.FLOAT
    caches = {"feats": [1, 4, BANDS], "conv": [1, net.front, 2], **{f"gru{k}": [1, 1, W] for k in range(L)}}
    ins = [helper.make_tensor_value_info("feats", f32, [1, chunk, BANDS])] + [helper.make_tensor_value_info("in_" + k, f32, s) for k, s in caches.items()]
    outs = [helper.make_tensor_value_info("logp", f32, [1, frames, C]), helper.make_tensor_value_info("speech", f32, [1, frames])]
    outs += [helper.make_tensor_value_info("out_" + k, f32, s) for k, s in caches.items()]
    graph = helper.make_graph(g.nodes, "hobcall-en", ins, outs, g.inits)
    m = helper.make_model(graph, opset_imports=[helper.make_opsetid("", 13)], producer_name="hobcall")
    m.ir_version = 8
    onnx.checker.check_model(m)
    return m, caches, g.stored


def with_stored(net, stored):
    """The offline network on the weights as the file holds them."""
    w1, b1 = fold(net.c1, net.b1)
    w2, b2 = fold(net.c2, net.b2)
    with torch.no_grad():
        for conv, bn, key, b in ((net.c1, net.b1, "conv1", b1), (net.c2, net.b2, "conv2", b2)):
            conv.weight.copy_(torch.from_numpy(stored[key]))
            conv.bias.copy_(b)
            bn.weight.fill_(1)
            bn.bias.zero_()
            bn.running_mean.zero_()
            bn.running_var.fill_(1 - bn.eps)
        for k, r in enumerate(net.rnn):
            r.weight_ih_l0.copy_(torch.from_numpy(stored[f"gru{k}_in"]).T)
            r.weight_hh_l0.copy_(torch.from_numpy(stored[f"gru{k}_rec"]).T)
        net.out.weight.copy_(torch.from_numpy(stored["out"]).T)
    return net


def features(x, mean, std):
    return (torch.log(power_frames(x[None]) @ mel_bank().T + 1e-6) - mean) / std


_sessions = {}


def stream(model, f, caches, chunk, ahead):
    """Run feature frames [T, 48] through the ONNX as a listener would. -> logp [T//3, C], speech [T//3]"""
    if model not in _sessions:
        o = ort.SessionOptions()
        o.intra_op_num_threads = o.inter_op_num_threads = 1
        _sessions[model] = ort.InferenceSession(model, o, providers=["CPUExecutionProvider"])
    s = _sessions[model]
    state = {"in_" + k: np.zeros(v, np.float32) for k, v in caches.items()}
    T = f.shape[0] // STRIDE
    f = np.concatenate([f[:T * STRIDE], np.repeat(f[-1:] if f.shape[0] == T * STRIDE else f[T * STRIDE:T * STRIDE + 1], ahead + chunk, 0)])
    names = [o.name for o in s.get_outputs()]
    lp, sp = [], []
    for i in range(0, len(f) - chunk + 1, chunk):
        o = dict(zip(names, s.run(None, {"feats": f[None, i:i + chunk].astype(np.float32), **state})))
        lp.append(o["logp"][0])
        sp.append(o["speech"][0])
        state = {"in_" + k: o["out_" + k] for k in caches}
    d = ahead // STRIDE
    return np.concatenate(lp)[d:d + T], np.concatenate(sp)[d:d + T]


def check_waves():
    """Three short sounds made by formula: a chirp, a pulse train through resonances, noise bursts."""
    t = np.arange(9600) / 16000
    rng = np.random.default_rng(7)
    a = 0.3 * np.sin(2 * np.pi * (200 * t + 2500 * t * t))
    p = (np.arange(9600) % 133 == 0).astype(float)
    k = np.arange(400)
    b = np.convolve(p, np.exp(-k / 60) * np.sin(k * 0.27) + 0.6 * np.exp(-k / 40) * np.sin(k * 0.9))[:9600] * 0.2
    c = rng.normal(0, 0.1, 9600) * (np.sin(2 * np.pi * 3 * t) > 0)
    return [np.round(np.clip(w, -1, 1) * 32767).astype(np.int16) for w in (a, b, c)]


def main():
    ap = argparse.ArgumentParser()
    ap.add_argument("checkpoint")
    ap.add_argument("--out", required=True)
    ap.add_argument("--weights", default="mixed", choices=["mixed", "fp16", "int8"])
    ap.add_argument("--chunk", type=int, default=12)
    ap.add_argument("--version", default="1")
    a = ap.parse_args()
    net, mean, std, c = load(a.checkpoint)
    m, caches, stored = build(net, a.chunk, a.weights)
    onnx.save(m, f"{a.out}/en.onnx")
    net = with_stored(net, stored)
    waves, checks, worst = check_waves(), [], 0.0
    b64 = lambda x, t: base64.b64encode(np.ascontiguousarray(x, t).tobytes()).decode()
    for w in waves:
        x = torch.from_numpy(w.astype(np.float32) / 32768)
        with torch.no_grad():
            f = features(x, mean, std)
            T = f.shape[1] // STRIDE * STRIDE
            f = f[:, :T]
            lo, so = net(f)
            lp = lo.log_softmax(-1)[0].numpy()
        sl, ss = stream(f"{a.out}/en.onnx", f[0].numpy(), caches, a.chunk, net.ahead)
        worst = max(worst, np.abs(sl - lp).max(), np.abs(ss - so[0].numpy()).max())
        checks.append({"pcm_i16le": b64(w, "<i2"), "frames": T, "feats_f32le": b64(f[0].numpy(), "<f4"), "logp_f32le": b64(lp, "<f4"),
                       "speech_f32le": b64(so[0].numpy(), "<f4")})
    assert worst < 1e-3, f"streamed and offline outputs differ by {worst}"
    about = {"version": a.version, "trained": datetime.date.today().isoformat(), "language": "en-US", "rate": 16000, "preemphasis": 0.97,
             "window": 400, "hop": 160, "fft": 512, "bands": BANDS, "low_hz": 60, "high_hz": 7800, "log_floor": 1e-6, "stride": STRIDE,
             "chunk_frames": a.chunk, "lookahead_frames": net.ahead, "drop_outputs": net.ahead // STRIDE, "phones": PHONES,
             "caches": caches, "mean": [round(float(v), 6) for v in mean], "std": [round(float(v), 6) for v in std],
             "weights": sum(p.numel() for p in net.parameters()), "steps": int(c["step"]), "stored": a.weights}
    json.dump(about, open(f"{a.out}/en.json", "w"), indent=1)
    note = ("Three sounds with features (normalised, [frames, 48]), log-probabilities [frames/3, classes] and speech logits. The last "
            "lookahead_frames / 3 outputs need the last feature frame repeated. Frame t covers samples 160 t to 160 t + 399.")
    json.dump({"note": note, "classes": len(PHONES), "cases": checks}, open(f"{a.out}/check.json", "w"))
    import os
    print("streamed against offline: largest difference %.2e; %s %d bytes" % (worst, a.weights, os.path.getsize(f"{a.out}/en.onnx")))


if __name__ == "__main__":
    main()
