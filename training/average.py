"""The weighted average of networks that began as one another (Wortsman and others 2022, "Model soups").

    python average.py OUT.pt A.pt=0.35 B.pt=0.65

All of it but the weights, as the number of steps, is the last one's.
"""
import sys

import torch

out, *parts = sys.argv[1:]
shares = [(float(share), torch.load(path, map_location="cpu")) for path, share in (p.rsplit("=", 1) for p in parts)]
whole = sum(share for share, _ in shares)
made = shares[-1][1]
made["ema"] = {k: (sum(share * c["ema"][k].float() for share, c in shares) / whole).to(v.dtype) for k, v in made["ema"].items()}
torch.save(made, out)
