"""Gather human speech and real kitchen noise from public repositories into two small files.

    python prepare_human.py OUT --mirror DIR --lists DIR --assets DIR

`--mirror` holds git directories OWNER+NAME/repo (or .../repo/.git) of the repositories named in README.md,
`--lists` the two lists words-train.txt and noise-train.txt (only files named there are opened of those two).
Writes OUT/human.npz and OUT/human-held.npz in the format of synth.py, except that `pcm` is 8-bit mu-law,
OUT/noise.npz (`pcm` mu-law, `ends`, `kinds`) and OUT/babble.npz (speech without its words).
"""
import argparse
import hashlib
import io
import json
import os
import random
import re
import subprocess
from concurrent.futures import ThreadPoolExecutor

import numpy as np

from synth import RATE, resampled, wav_samples
from texts import Lexicon


def mu_encode(x):
    x = np.clip(np.asarray(x, np.float32), -1, 1)
    y = np.sign(x) * np.log1p(255 * np.abs(x)) / np.log(256)
    return np.clip((y + 1) * 127.5 + 0.5, 0, 255).astype(np.uint8)


def mu_decode(u):
    y = u.astype(np.float32) / 127.5 - 1
    return np.sign(y) * (np.power(256.0, np.abs(y)) - 1) / 255


try:
    import soundfile as sf
except ImportError:   # only needed to read the repositories, not to train
    sf = None


class Mirror:
    def __init__(self, root, name):
        d = f"{root}/{name.replace('/', '+')}/repo"
        self.dir = d + "/.git" if os.path.isdir(d + "/.git") else d

    def git(self, *args):
        return subprocess.run(["git", f"--git-dir={self.dir}", *args], capture_output=True, check=True).stdout

    def names(self, *under):
        return self.git("ls-tree", "-r", "--name-only", "HEAD", *under).decode().split("\n")[:-1]

    def sound(self, path):
        data = self.git("show", f"HEAD:{path}")
        if data[:4] == b"RIFF" and data[34:36] == b"\x10\0" and data[22:24] == b"\1\0":   # some are named .flac
            x, rate = wav_samples(data)
            return resampled(x / 32768, rate)
        x, rate = sf.read(io.BytesIO(data), dtype="float32", always_2d=True)
        return resampled(x.mean(1), rate)


def trimmed(x, pad=0.12, longest=None):
    """Cut far silence by short-time energy against the loudest part and the floor."""
    n = len(x) // 160
    if n < 20:
        return x
    e = np.sqrt((x[:n * 160].reshape(n, 160) ** 2).mean(1)) + 1e-6
    floor = np.quantile(e, 0.1)
    on = np.flatnonzero(e > max(0.06 * e.max(), 2.5 * floor))
    if len(on) == 0:
        return x
    a, b = max(0, on[0] * 160 - int(pad * RATE)), (on[-1] + 1) * 160 + int(pad * RATE)
    if longest and b - a > longest * RATE:
        return None
    return x[a:b]


def share(key):
    return int(hashlib.sha1(key.encode()).hexdigest()[:6], 16) / 0xFFFFFF


def main():
    ap = argparse.ArgumentParser()
    ap.add_argument("out")
    ap.add_argument("--mirror", required=True)
    ap.add_argument("--lists", required=True)
    ap.add_argument("--assets", required=True)
    a = ap.parse_args()
    os.makedirs(a.out, exist_ok=True)
    lex = Lexicon(f"{a.assets}/cmudict-en-us.dict")
    items = []   # (mirror, path, text, source, speaker, held, longest)

    m = Mirror(a.mirror, "thegtagamer/PICO-tinyML-benchmark")
    for line in open(f"{a.lists}/words-train.txt"):
        if line.startswith("#") or not line.strip():
            continue
        path = line.strip()
        word, name = path.split("/")[-2:]
        if word == "_unknown_":
            word = name.split("_")[0]
        speaker = re.search(r"([0-9a-f]{8})_nohash", name).group(1)
        items.append((m, path, word, "words", speaker, share(speaker) < 0.15, None))

    m = Mirror(a.mirror, "Picovoice/wake-word-benchmark")
    rng = random.Random(5)
    for path in m.names("audio"):
        if path.count("/") == 2 and path.endswith((".flac", ".wav")):
            items.append((m, path, path.split("/")[1], "phrases", path.split("/")[2], False, 2.2))

    m = Mirror(a.mirror, "MycroftAI/Precise-Community-Data")
    for path in m.names():
        mt = re.match(r"(amelia|athena|computer)/en/", path)
        if mt and path.endswith(".wav"):
            items.append((m, path, mt.group(1), "names", path, False, 2.0))
        elif re.match(r"heycomputer/en/", path) and path.endswith(".wav"):
            items.append((m, path, "hey computer", "names", path, False, 2.2))
    for meta, base in (("not-wake-words/en/metadata.csv", "not-wake-words/en/"), ("heysavant/not-wake-words/en/metadata.csv", "heysavant/not-wake-words/en/")):
        where = {p.split("/")[-1]: p for p in m.names(base)}
        for line in m.git("show", "HEAD:" + meta).decode().split("\n"):
            p = line.split(",")
            if len(p) > 1 and p[0].strip() in where:
                text = re.sub(r"[^a-z' ]", "", p[1].strip().lower())
                items.append((m, where[p[0].strip()], text, "names", p[0], False, 3.0))

    m = Mirror(a.mirror, "resemble-ai/Resemblyzer")
    refs = {}
    for line in Mirror(a.mirror, "facebookresearch/fbai-speech").git("show", "HEAD:is21_deep_bias/ref/test-other.biasing_100.tsv").decode().split("\n"):
        p = line.split("\t")
        if len(p) > 1:
            refs[p[0]] = p[1].lower()
    for path in m.names("audio_data/librispeech_test-other"):
        key = path.split("/")[-1][:-5]
        if path.endswith(".flac") and key in refs:
            speaker = key.split("-")[0]
            items.append((m, path, refs[key], "read", speaker, speaker in ("367", "3005"), 15))
    babble = [(m, p) for p in m.names("audio_data/librispeech_train-clean-100") if p.endswith(".flac")]

    def load(it):
        mirror, path, text, source, speaker, held, longest = it
        v = lex.variants(text)
        if not v:
            return None
        try:
            x = trimmed(mirror.sound(path), longest=longest)
        except (subprocess.CalledProcessError, sf.LibsndfileError):
            return None
        if x is None or len(x) < 0.15 * RATE:
            return None
        return x / (np.abs(x).max() + 1e-6) * 0.6, {"text": text, "kind": "human", "engine": source, "voice": speaker, "phones": v}, held

    with ThreadPoolExecutor(3) as ex:
        got = [g for g in ex.map(load, items) if g]
    for held in (False, True):
        sel = [g for g in got if g[2] == held]
        if not held:   # keep the two sources of few words from outweighing the rest of what travels
            few = [g for g in sel if g[1]["engine"] in ("phrases", "names")]
            rng.shuffle(few)
            sel = [g for g in sel if g[1]["engine"] not in ("phrases", "names")] + few[:1700]
        np.savez(f"{a.out}/human{'-held' if held else ''}.npz", pcm=mu_encode(np.concatenate([g[0] for g in sel])),
                 ends=np.cumsum([len(g[0]) for g in sel]), meta=np.frombuffer(json.dumps([g[1] for g in sel]).encode(), np.uint8))
        by = {}
        for g in sel:
            k = by.setdefault(g[1]["engine"], [0, 0.0, set()])
            k[0], k[1] = k[0] + 1, k[1] + len(g[0]) / RATE / 60
            k[2].add(g[1]["voice"])
        print("held" if held else "train", {k: (v[0], f"{v[1]:.1f} min", len(v[2])) for k, v in by.items()})

    rng.shuffle(babble)
    bs = [x / np.abs(x).max() * 0.5 for x in ThreadPoolExecutor(3).map(lambda b: b[0].sound(b[1])[:10 * RATE], babble[:50])]
    np.savez(f"{a.out}/babble.npz", pcm=mu_encode(np.concatenate(bs)), ends=np.cumsum([len(b) for b in bs]))

    m = Mirror(a.mirror, "marc-moreaux/kitchen20")
    kinds, clips = [], []
    for line in open(f"{a.lists}/noise-train.txt"):
        if not line.startswith("#") and line.strip():
            kind, path = line.strip().split(",")
            x = m.sound(path)
            while len(x) > 3200 and np.abs(x[-1600:]).max() < 1e-4:   # clips are padded with digital silence
                x = x[:-1600]
            kinds.append(kind)
            clips.append(x / (np.sqrt((x ** 2).mean()) + 1e-6) * 0.05)
    np.savez(f"{a.out}/noise.npz", pcm=mu_encode(np.concatenate(clips)), ends=np.cumsum([len(c) for c in clips]), kinds=np.array(kinds))
    print("noise clips", len(clips), "babble", len(bs))


if __name__ == "__main__":
    main()
