#!/usr/bin/env python3
"""Makes tests/data/tiny.onnx and tiny.json: a small random network in the shape of the ear's own.

usage: make-tiny-network.py tests/data

It proves that the runner carries memory from piece to piece and maps answers to the right frames. A causal
convolution of 5 frames with stride 3 (cache of 2 frames), one GRU of 8 units, phone log-probabilities and a
speech logit. tiny.json also holds the answers of onnxruntime to 60 frames in pieces of 6. Needs numpy, onnx,
onnxruntime.
"""
import json, sys
import numpy as np, onnx, onnxruntime
from onnx import TensorProto as T, helper as h, numpy_helper as nh

r = np.random.default_rng(7)
B, H, V, C, L = 48, 8, 40, 6, 2
init = {
    "w": r.normal(0, .1, (H, B, 5)), "b": r.normal(0, .1, H),
    "gw": r.normal(0, .5, (1, 3 * H, H)), "gr": r.normal(0, .5, (1, 3 * H, H)), "gb": r.normal(0, .1, (1, 6 * H)),
    "ow": r.normal(0, .5, (H, V)), "sw": r.normal(0, .5, (H, 1)),
}
init = [nh.from_array(v.astype(np.float32), k) for k, v in init.items()]
init += [nh.from_array(np.array(v, np.int64), k) for k, v in
         {"zero": [0], "one": [1], "two": [2], "last": [-L], "end": [2 ** 31], "flat": [1, -1]}.items()]
n = h.make_node
nodes = [
    n("Concat", ["in_feats", "feats"], ["all"], axis=1),
    n("Slice", ["all", "last", "end", "one"], ["out_feats"]),
    n("Transpose", ["all"], ["bands"], perm=[0, 2, 1]),
    n("Conv", ["bands", "w", "b"], ["conv"], strides=[3]),
    n("Relu", ["conv"], ["relu"]),
    n("Transpose", ["relu"], ["steps"], perm=[2, 0, 1]),
    n("GRU", ["steps", "gw", "gr", "gb", "", "in_h"], ["y", "out_h"], hidden_size=H, linear_before_reset=1),
    n("Squeeze", ["y", "one"], ["y3"]),
    n("Transpose", ["y3"], ["by"], perm=[1, 0, 2]),
    n("MatMul", ["by", "ow"], ["logits"]),
    n("LogSoftmax", ["logits"], ["logp"], axis=-1),
    n("MatMul", ["by", "sw"], ["s3"]),
    n("Reshape", ["s3", "flat"], ["speech"]),
]
vi = h.make_tensor_value_info
graph = h.make_graph(nodes, "tiny",
    [vi("feats", T.FLOAT, [1, C, B]), vi("in_feats", T.FLOAT, [1, L, B]), vi("in_h", T.FLOAT, [1, 1, H])],
    [vi("logp", T.FLOAT, [1, C // 3, V]), vi("speech", T.FLOAT, [1, C // 3]),
     vi("out_feats", T.FLOAT, [1, L, B]), vi("out_h", T.FLOAT, [1, 1, H])], init)
model = h.make_model(graph, opset_imports=[h.make_opsetid("", 17)], ir_version=8)
onnx.checker.check_model(model)
onnx.save(model, sys.argv[1] + "/tiny.onnx")
run = onnxruntime.InferenceSession(model.SerializeToString())
feats = r.normal(0, 1, (60, B)).astype(np.float32).round(3)
feats_in, hid, logp, speech = np.zeros((1, L, B), np.float32), np.zeros((1, 1, H), np.float32), [], []
for t in range(0, 60, C):
    a, s, feats_in, hid = run.run(["logp", "speech", "out_feats", "out_h"], {"feats": feats[None, t:t + C], "in_feats": feats_in, "in_h": hid})
    logp += a[0].tolist(); speech += s[0].tolist()
names = "<b> AA AE AH AO AW AY B CH D DH EH ER EY F G HH IH IY JH K L M N NG OW OY P R S SH T TH UH UW V W Y Z ZH".split()
card = {"phones": names, "mean": [0] * B, "std": [1] * B, "stride": 3, "lookahead_frames": 6, "chunk_frames": C,
        "caches": {"feats": [1, L, B], "h": [1, 1, H]}}
short = lambda v: [[round(x, 4) for x in row] for row in v]
json.dump({"card": card, "feats": short(feats.tolist()), "logp": short(logp), "speech": [round(x, 4) for x in speech]},
          open(sys.argv[1] + "/tiny.json", "w"))
