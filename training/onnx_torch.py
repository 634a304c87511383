"""An ONNX network of common operations run by torch, so that a synthesiser speaks on the GPU.

Integers quantised while running are left as they came (`DynamicQuantizeLinear` gives the value, scale 1 and zero 0);
quantised weights become floating point when the file is read. Values that come from shapes stay on the CPU. What depends
on constants alone is computed once.
"""
import numpy as np
import onnx
import torch
import torch.nn.functional as F
from onnx import helper, numpy_helper

FLOAT = {1: torch.float32, 6: torch.int32, 7: torch.int64, 9: torch.bool, 10: torch.float32, 11: torch.float32}


def ints(t):
    return t.tolist() if torch.is_tensor(t) else t


class Network:
    def __init__(self, path, dev):
        self.dev = dev
        graph = onnx.load(path).graph
        self.inputs, self.output = [i.name for i in graph.input], graph.output[0].name
        known = {}
        for i in graph.initializer:
            t = torch.from_numpy(np.array(numpy_helper.to_array(i)))
            if t.dtype in (torch.uint8, torch.int8):
                t = t.float()
            known[i.name] = t.to(dev) if t.is_floating_point() and t.dim() else t
        self.steps, constant = [], set(known)
        with torch.no_grad():
            for n in graph.node:
                a = {x.name: helper.get_attribute_value(x) for x in n.attribute}
                step = (getattr(self, "op_" + n.op_type)(n, a), list(n.input), list(n.output), n.name)
                if all(not i or i in constant for i in n.input) and n.op_type != "Shape":
                    self.do(step, known)
                    constant.update(n.output)
                else:
                    self.steps.append(step)
        self.known = {k: v for k, v in known.items() if any(k in s[1] for s in self.steps)}
        # An array is let go after its last use.
        last = {}
        for n, s in enumerate(self.steps):
            for i in s[1]:
                last[i] = n
        self.drop = [[] for _ in self.steps]
        for i, n in last.items():
            if i and i not in self.known and i != self.output:
                self.drop[n].append(i)

    @staticmethod
    def do(step, v):
        f, i, o, name = step
        out = f(*[v[k] if k else None for k in i])
        if isinstance(out, tuple):
            for k, t in zip(o, out):
                v[k] = t
        else:
            v[o[0]] = out

    def __call__(self, **inputs):
        v = dict(self.known)
        v.update({k: torch.as_tensor(x).to(self.dev) for k, x in inputs.items()})
        with torch.no_grad():
            for s, drop in zip(self.steps, self.drop):
                self.do(s, v)
                for k in drop:
                    v.pop(k, None)
        return v[self.output]

    def both(self, f):
        def run(a, b):
            if a.device != b.device:
                if a.dim() and not a.is_cuda:
                    a = a.to(self.dev)
                if b.dim() and not b.is_cuda:
                    b = b.to(self.dev)
            return f(a, b)
        return run

    def op_Add(self, n, a): return self.both(torch.add)
    def op_Sub(self, n, a): return self.both(torch.sub)
    def op_Mul(self, n, a): return self.both(torch.mul)
    def op_Div(self, n, a): return self.both(lambda x, y: torch.div(x, y) if x.is_floating_point() else torch.div(x, y, rounding_mode="trunc"))
    def op_Pow(self, n, a): return self.both(lambda x, y: x.square() if y.numel() == 1 and not y.is_cuda and y.item() == 2 else torch.pow(x, y))
    def op_Equal(self, n, a): return self.both(torch.eq)
    def op_Greater(self, n, a): return self.both(torch.gt)
    def op_GreaterOrEqual(self, n, a): return self.both(torch.ge)
    def op_Less(self, n, a): return self.both(torch.lt)
    def op_And(self, n, a): return self.both(torch.logical_and)
    def op_MatMul(self, n, a): return self.both(torch.matmul)
    def op_Atan(self, n, a): return lambda x: torch.atan(torch.nan_to_num(x))   # 0 over 0: no sound, any phase
    def op_Cos(self, n, a): return torch.cos
    def op_Sin(self, n, a): return torch.sin
    def op_Exp(self, n, a): return torch.exp
    def op_Sqrt(self, n, a): return torch.sqrt
    def op_Tanh(self, n, a): return torch.tanh
    def op_Sigmoid(self, n, a): return torch.sigmoid
    def op_Floor(self, n, a): return torch.floor
    def op_Round(self, n, a): return torch.round

    def op_Cast(self, n, a):
        to = FLOAT[a["to"]]
        # What was to be a whole number only because it was quantised stays as it is.
        quantised = a["to"] == 1
        return (lambda x: x if quantised and x.is_floating_point() else x.to(to))

    def op_Clip(self, n, a): return lambda x, lo=None, hi=None: torch.clamp(x, None if lo is None else lo.item(), None if hi is None else hi.item())

    def op_Concat(self, n, a):
        def run(*x):
            if any(t.is_cuda for t in x):
                x = [t.to(self.dev) for t in x]
            return torch.cat(x, a["axis"])
        return run

    def op_ConstantOfShape(self, n, a):
        t = torch.from_numpy(np.array(numpy_helper.to_array(a["value"])))
        at = self.dev if t.is_floating_point() else "cpu"
        return lambda shape: torch.full(ints(shape), t.item(), dtype=t.dtype, device=at)

    def op_Conv(self, n, a):
        (p, q), (s,), (d,) = a["pads"], a["strides"], a["dilations"]
        assert p == q
        return lambda x, w, b=None: F.conv1d(x, w, b, s, p, d, a["group"])

    def op_ConvInteger(self, n, a):
        (p, q), (s,), (d,) = a["pads"], a["strides"], a["dilations"]
        assert p == q
        return lambda x, w, zx, zw: F.conv1d(x, w - zw, None, s, p, d, a["group"])

    def op_MatMulInteger(self, n, a):
        return lambda x, w, zx, zw: torch.matmul(x, w - zw)

    def op_ConvTranspose(self, n, a):
        (p, q), (s,), (d,) = a["pads"], a["strides"], a["dilations"]
        assert p == q
        return lambda x, w, b=None: F.conv_transpose1d(x, w, b, s, p, a.get("output_padding", [0])[0], a["group"], d)

    def op_DequantizeLinear(self, n, a): return lambda x, s, z: (x - z) * s

    def op_DynamicQuantizeLinear(self, n, a):
        one, zero = torch.tensor(1.0), torch.tensor(0.0)
        return lambda x: (x, one, zero)

    def op_DynamicQuantizeLSTM(self, n, a):
        made = {}

        def run(x, w, r, b, length, h, c, p, sw, zw, sr, zr):
            if "net" not in made:
                net = torch.nn.LSTM(w.shape[1], a["hidden_size"], bidirectional=True).to(self.dev)
                order = lambda m: torch.cat([m[k * a["hidden_size"]:(k + 1) * a["hidden_size"]] for k in (0, 2, 3, 1)])   # i o f c -> i f g o
                with torch.no_grad():
                    for k, tail in enumerate(("", "_reverse")):
                        getattr(net, "weight_ih_l0" + tail).copy_(order(((w[k] - zw[k].to(self.dev)) * sw[k]).T))
                        getattr(net, "weight_hh_l0" + tail).copy_(order(((r[k] - zr[k].to(self.dev)) * sr[k]).T))
                        half = b.shape[1] // 2
                        getattr(net, "bias_ih_l0" + tail).copy_(order(b[k, :half]))
                        getattr(net, "bias_hh_l0" + tail).copy_(order(b[k, half:]))
                net.flatten_parameters()
                made["net"] = net
            y, (h, c) = made["net"](x)
            return y.reshape(y.shape[0], y.shape[1], 2, -1).permute(0, 2, 1, 3), h, c
        return run

    def op_Expand(self, n, a):
        def run(x, shape):
            shape = ints(shape)
            return x.expand(torch.broadcast_shapes(x.shape, tuple(shape)))
        return run

    def op_FastGelu(self, n, a): return lambda x, b=None: F.gelu(x if b is None else x + b, approximate="tanh")

    def op_FusedMatMul(self, n, a): return self.both(lambda x, y: torch.matmul(x.transpose(-1, -2), y))

    def op_Gather(self, n, a):
        def run(x, i):
            if i.is_cuda and not x.is_cuda:
                x = x.to(self.dev)
            i = torch.where(i < 0, i + x.shape[a["axis"]], i) if not i.is_cuda else i
            out = torch.index_select(x, a["axis"], i.reshape(-1).to(x.device))
            return out.reshape(x.shape[:a["axis"]] + i.shape + x.shape[a["axis"] + 1:]) if a["axis"] >= 0 else out
        return run

    def op_LayerNormalization(self, n, a): return lambda x, w, b=None: F.layer_norm(x, w.shape, w, b, a["epsilon"])
    def op_SkipLayerNormalization(self, n, a): return lambda x, y, w, b=None: F.layer_norm(x + y, w.shape, w, b, a["epsilon"])
    def op_LeakyRelu(self, n, a): return lambda x: F.leaky_relu(x, a["alpha"])
    def op_NonZero(self, n, a): return lambda x: torch.nonzero(x).T

    def op_Pad(self, n, a):
        def run(x, p):
            p, d = ints(p), x.dim()
            assert not any(p[:d - 1]) and not any(p[d:2 * d - 1])
            y = x if d > 2 else x[None]
            y = F.pad(y, (p[d - 1], p[-1]), mode="reflect")
            return y if d > 2 else y[0]
        return run

    def op_Range(self, n, a): return lambda lo, hi, by: torch.arange(lo.item(), hi.item(), by.item())
    def op_ReduceMean(self, n, a): return lambda x, axes: x.mean(ints(axes), keepdim=bool(a["keepdims"]))
    def op_ReduceSum(self, n, a): return lambda x, axes=None: x.sum(ints(axes), keepdim=bool(a["keepdims"])) if axes is not None else x.sum()

    def op_Reshape(self, n, a):
        def run(x, shape):
            return x.reshape([x.shape[k] if s == 0 else s for k, s in enumerate(ints(shape))])
        return run

    def op_Resize(self, n, a):
        mode = a["mode"].decode()
        return lambda x, r, s: F.interpolate(x, scale_factor=float(s[-1].item()), mode=mode, **({"align_corners": False} if mode == "linear" else {}))

    def op_CumSum(self, n, a): return lambda x, axis: torch.cumsum(x, axis.item())

    def op_STFT(self, n, a):
        def run(x, step, window, length):
            k = length.item()
            f = x.reshape(x.shape[0], -1).unfold(1, k, step.item()) * window
            return torch.view_as_real(torch.fft.rfft(f))
        return run

    def op_ScatterND(self, n, a):
        def run(x, i, u):
            x = x.clone()
            x[tuple(i.long().to(x.device).unbind(-1))] = u.to(x.device)
            return x
        return run

    def op_Shape(self, n, a): return lambda x: torch.tensor(x.shape[a.get("start", 0):])

    def op_Slice(self, n, a):
        def run(x, lo, hi, axes=None, steps=None):
            lo, hi = ints(lo), ints(hi)
            axes = ints(axes) if axes is not None else list(range(len(lo)))
            steps = ints(steps) if steps is not None else [1] * len(lo)
            at = [slice(None)] * x.dim()
            for p, q, k, s in zip(lo, hi, axes, steps):
                assert s > 0
                at[k] = slice(p, min(q, x.shape[k]), s)
            return x[tuple(at)]
        return run

    def op_Softmax(self, n, a): return lambda x: torch.softmax(x, a["axis"])
    def op_Split(self, n, a): return lambda x, s: torch.split(x, ints(s), a["axis"])

    def op_Squeeze(self, n, a):
        def run(x, axes):
            for k in sorted((k % x.dim() for k in ints(axes)), reverse=True):
                x = x.squeeze(k)
            return x
        return run

    def op_Unsqueeze(self, n, a):
        def run(x, axes):
            axes = ints(axes)
            total = x.dim() + len(axes)
            for k in sorted(k % total for k in axes):
                x = x.unsqueeze(k)
            return x
        return run

    def op_Transpose(self, n, a): return lambda x: x.permute(a["perm"])

    def op_Where(self, n, a):
        def run(c, x, y):
            if c.is_cuda or x.is_cuda or y.is_cuda:
                c, x, y = c.to(self.dev), x.to(self.dev), y.to(self.dev)
            return torch.where(c, x, y)
        return run
