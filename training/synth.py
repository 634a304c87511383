"""Synthesise training speech with several free synthesisers, each voice varied into many pseudo-speakers.

    python synth.py OUT --assets DIR --count 20000 --jobs 16 --seed 1 --mix flite=4,hts=1,espeak=3,kokoro=0

writes shards OUT/NAME-SEED-NNNNN.npz: `pcm` int16 at 16 kHz (all utterances end to end), `ends` (sample index
after each), and `meta`, a JSON list of {text, kind, engine, voice, phones: [[id, ...], ...]}. A shard appears under
its final name only when whole, so a trainer may read the folder while it fills.

`--assets` holds cmudict-en-us.dict, cmudict-stress.txt, words.txt, sentences.txt and, for kokoro, kokoro.onnx,
voices_ja.npz and vocab.json. flite, festival (voices ked and us-slt-hts) and espeak-ng are found on PATH.
Voices kept for judging (flite awb, festival kal, espeak en-gb, kokoro jm_kumo and jf_nezumi) are never used.
"""
import argparse
import json
import math
import os
import random
import re
import subprocess
import tempfile
from concurrent.futures import ProcessPoolExecutor

import numpy as np
from scipy.signal import resample_poly

from texts import PHONE_ID, Lexicon, Texts

RATE = 16000
FLITE = {"slt": 175, "rms": 95, "kal16": 105}
ESPEAK_TRAIN = ("m1 m2 m3 m4 m5 m6 m8 f1 f2 f3 f4 klatt klatt2 klatt3 klatt4 klatt5 klatt6 adam Alex Alicia Andrea Andy "
                "belinda benjamin boris caleb david ed edward edward2 Gene Gene2 grandma grandpa Henrique Hugo Iven "
                "Iven2 Iven3 Jacky john Lee linda marcelo Marco Mario Michael miguel Mike marco michel norbert pablo "
                "paul pedro quincy rob robert sandro shelby steph steph2 steph3 travis victor Zac anika AnxiousAndy").split()
ESPEAK_HELD = ["f5", "m7", "Annie", "Max"]


def resampled(x, rate):
    if rate == RATE:
        return x
    g = math.gcd(RATE, rate)
    return resample_poly(x, RATE // g, rate // g)


def finished(x, rng):
    """Level to a common peak, trim far silence, resample a little: speed, pitch and tract length together."""
    x = np.asarray(x, np.float32)
    if len(x) < 1600 or not np.isfinite(x).all():
        return None
    e = np.abs(x)
    loud = np.flatnonzero(e > 0.02 * e.max())
    if len(loud) < 800:
        return None
    x = x[max(0, loud[0] - 800):loud[-1] + 1600]
    return (x / (np.abs(x).max() + 1e-6) * 20000).astype(np.int16)


def wav_samples(data):
    """Samples of a wav that may carry a wrong length in its header (espeak to a pipe)."""
    i = data.find(b"data")
    rate = int.from_bytes(data[24:28], "little")
    body = data[i + 8:]
    return np.frombuffer(body[:len(body) // 2 * 2], np.int16).astype(np.float32), rate


def warp(x, s):
    n = int(len(x) / s)
    p = np.arange(n) * s
    i = np.clip(p.astype(int), 1, len(x) - 3)
    f = (p - i).astype(np.float32)
    a, b, c, d = x[i - 1], x[i], x[i + 1], x[i + 2]
    return b + 0.5 * f * (c - a + f * (2 * a - 5 * b + 4 * c - d + f * (3 * (b - c) + d - a)))


def flite(text, rng, held):
    v = rng.choice(list(FLITE))
    s = rng.uniform(0.82, 1.22)
    args = ["flite", "--setf", f"duration_stretch={rng.uniform(.7, 1.3) * s:.2f}", "--setf",
            f"int_f0_target_mean={FLITE[v] * rng.uniform(.75, 1.35):.0f}", "--setf",
            f"int_f0_target_stddev={rng.uniform(4, 30):.0f}", "-voice", v, "-t", text, "-o", "/dev/stdout"]
    x, rate = wav_samples(subprocess.run(args, capture_output=True, timeout=30, check=True).stdout)
    return warp(resampled(x, rate), s), f"{v}"


def espeak(text, rng, held):
    v = rng.choice(ESPEAK_HELD if held else ESPEAK_TRAIN)
    s = rng.uniform(0.88, 1.15)
    args = ["espeak-ng", "-v", f"en-us+{v}", "-s", str(int(rng.uniform(105, 215) / s)), "-p", str(int(rng.uniform(15, 85))),
            "-g", str(rng.choice([0, 0, 1, 3])), "--stdout", text]
    x, rate = wav_samples(subprocess.run(args, capture_output=True, timeout=30, check=True).stdout)
    return warp(resampled(x, rate), s), v


def pico(text, rng, held):
    """SVOX Pico by a command `pico LANGUAGE OUT TEXT`; a woman, over a wide range of pitch; held: the British one."""
    v = "en-GB" if held else "en-US"
    s = rng.uniform(0.76, 1.16)   # mostly down: they are women's voices
    text = f"<pitch level='{rng.randint(65, 135)}'><speed level='{rng.uniform(75, 135) / s:.0f}'>{text}.</speed></pitch>"
    with tempfile.NamedTemporaryFile(suffix=".wav") as f:
        subprocess.run(["pico", v, f.name, text], capture_output=True, timeout=30, check=True)
        x, rate = wav_samples(open(f.name, "rb").read())
    return warp(resampled(x, rate), s), v


def rhvoice(texts, rng, held):
    """A batch in one process each of the English RHVoice voices of the CMU ARCTIC speakers bdl, clb and slt; held: ksp."""
    for t in texts:
        v = "ksp" if held else rng.choice(["bdl", "bdl", "clb", "slt"])
        s = rng.uniform(0.84, 1.2)
        with tempfile.NamedTemporaryFile(suffix=".wav") as f:
            try:
                subprocess.run(["rhvoice-test", "-p", v, "-r", f"{rng.uniform(75, 135) / s:.0f}", "-t", f"{rng.uniform(75, 130):.0f}", "-o", f.name],
                               input=t.encode(), capture_output=True, timeout=30, check=True)
                x, rate = wav_samples(open(f.name, "rb").read())
                yield warp(resampled(x, rate), s), v
            except (subprocess.SubprocessError, OSError, IndexError):
                yield None, ""


def festival(texts, rng, held):
    """A batch in one process (starting it costs more than speaking). held: the ked diphones, kept out of training."""
    with tempfile.TemporaryDirectory() as d:
        lines, warps = [], []
        for i, t in enumerate(texts):
            s = rng.uniform(0.85, 1.2)
            warps.append(s)
            lines.append("(voice_ked_diphone)" if held else "(voice_cmu_us_slt_arctic_hts)")
            lines.append(f"(Parameter.set 'Duration_Stretch {rng.uniform(.75, 1.25) * s:.2f})")
            if not held:
                lines.append("(set! hts_engine_params (append cmu_us_slt_arctic_hts::hts_engine_params (list '(\"-fm\" %.1f) '(\"-a\" %.2f) '(\"-r\" %.2f))))"
                             % (rng.uniform(-7, 4), rng.uniform(0.42, 0.62), 1 / (rng.uniform(.75, 1.25) * s)))
            lines.append(f'(utt.save.wave (utt.synth (Utterance Text "{t}")) "{d}/{i}.wav" \'riff)')
        with open(f"{d}/job.scm", "w") as f:
            f.write("\n".join(lines))
        subprocess.run(["festival", "-b", f"{d}/job.scm"], capture_output=True, timeout=300)
        for i, s in enumerate(warps):
            try:
                x, rate = wav_samples(open(f"{d}/{i}.wav", "rb").read())
                yield warp(resampled(x, rate), s), "ked" if held else "slt-hts"
            except (OSError, IndexError):
                yield None, ""


# CMU phones with stress to the symbols Kokoro was trained with.
KOKORO = {"AA": "ɑ", "AE": "æ", "AO": "ɔ", "AW": "W", "AY": "I", "B": "b", "CH": "ʧ", "D": "d", "DH": "ð", "EH": "ɛ",
          "EY": "A", "F": "f", "G": "ɡ", "HH": "h", "IH": "ɪ", "IY": "i", "JH": "ʤ", "K": "k", "L": "l", "M": "m", "N": "n",
          "NG": "ŋ", "OW": "O", "OY": "Y", "P": "p", "R": "ɹ", "S": "s", "SH": "ʃ", "T": "t", "TH": "θ", "UH": "ʊ", "UW": "u",
          "V": "v", "W": "w", "Y": "j", "Z": "z", "ZH": "ʒ"}
WEAK = set("a an the of to and or in on at for is it as that from be was were are i you he she we they my your his her".split())


class Kokoro:
    def __init__(self, assets, device):
        if device == "cpu":
            import onnxruntime as ort
            o = ort.SessionOptions()
            o.intra_op_num_threads = o.inter_op_num_threads = 1
            net = ort.InferenceSession(f"{assets}/kokoro.onnx", o, providers=["CPUExecutionProvider"])
            self.net = lambda **given: net.run(None, given)[0].ravel()
        else:
            from onnx_torch import Network
            net = Network(f"{assets}/kokoro.onnx", device)
            self.net = lambda **given: net(**given).cpu().numpy().ravel()
        self.vocab = json.load(open(f"{assets}/vocab.json", encoding="utf-8"))["vocab"]
        z = np.load(f"{assets}/voices_ja.npz")
        self.voices = np.stack([z[k].reshape(-1, 256) for k in ("jf_alpha", "jf_tebukuro", "jf_gongitsune")])
        self.spread = self.voices.mean(1).std(0)
        self.dict = {}
        for line in open(f"{assets}/cmudict-stress.txt", encoding="utf-8"):
            w = line.split("#")[0].split()
            if len(w) > 1:
                self.dict.setdefault(re.sub(r"\(\d+\)$", "", w[0]), []).append(w[1:])

    def spoken(self, word, rng):
        """-> (symbols, phone ids) of one pronunciation of a word."""
        pron = rng.choice(self.dict[word]) if rng.random() < 0.3 else self.dict[word][0]
        out, ids = "", []
        syllables = sum(p[-1].isdigit() for p in pron)
        for p in pron:
            base, stress = re.sub(r"\d", "", p), p[-1] if p[-1].isdigit() else ""
            ids.append(PHONE_ID[base])
            mark = "ˈ" if stress == "1" else "ˌ" if stress == "2" else ""
            if syllables == 1 and word in WEAK:
                mark = ""
            if base == "AH":
                sym = "ʌ" if stress in "12" and stress else "ə"
            elif base == "ER":
                sym = "ɜɹ" if stress in "12" and stress else "əɹ"
            else:
                sym = KOKORO[base]
            out += mark + sym
        return out, ids

    def __call__(self, text, rng, held):
        if any(w not in self.dict for w in text.split()):
            return None, "", None
        sym, ids = zip(*[self.spoken(w, rng) for w in text.split()])
        tokens = [self.vocab[c] for c in " ".join(sym) + rng.choice(["", ".", ".", "!", "?", ","]) if c in self.vocab]
        # Weights of the three voices: held-out speakers lie near the third, training speakers away from it.
        if held:
            w = np.array([rng.uniform(0, .3), rng.uniform(0, .3), 0])
            w[2] = 1 - w.sum()
        else:
            w = np.array([rng.uniform(-.35, 1.25), 0, rng.uniform(-.3, .55)])
            w[1] = 1 - w.sum()
        ref = np.tensordot(w, self.voices[:, min(len(tokens), self.voices.shape[1]) - 1], 1)
        ref = ref + np.random.default_rng(rng.getrandbits(32)).normal(0, rng.uniform(0.2, 0.5), 256) * self.spread
        s = rng.uniform(0.80, 1.12)   # mostly down: the three voices are women's
        x = self.net(tokens=np.array([[0, *tokens, 0]], np.int64), style=ref.reshape(1, 256).astype(np.float32),
                     speed=np.array([rng.uniform(.75, 1.3) / s], np.float32))
        return warp(resampled(x, 24000), s), "mix %.2f %.2f %.2f" % tuple(w), [p for i in ids for p in i]


_state = {}


def work(job):
    """One shard: `n` utterances of one engine."""
    engine, n, seed, out, assets, held, device = job
    name = f"{out}/{engine}-{seed:08d}.npz"
    if os.path.exists(name):
        return 0, 0.0
    if "lex" not in _state:
        _state["lex"] = Lexicon(f"{assets}/cmudict-en-us.dict")
        _state["words"] = open(f"{assets}/words.txt").read().split()
        _state["sentences"] = open(f"{assets}/sentences.txt").read().split("\n")
    lex = _state["lex"]
    draw = Texts(lex, _state["words"], _state["sentences"], seed)
    rng = random.Random(seed * 7919 + 1)
    texts = [draw.draw() for _ in range(n)]
    if held:
        texts = held_texts(n, seed)
    pcm, ends, meta = [], [], []

    def keep(x, voice, text, kind, phones):
        x = finished(x, rng) if x is not None else None
        if x is not None and 0.18 < len(x) / RATE < 7.5 and phones:
            pcm.append(x)
            ends.append(len(x) + (ends[-1] if ends else 0))
            meta.append({"text": text, "kind": kind, "engine": engine, "voice": voice, "phones": phones})

    if engine in ("festival", "rhvoice"):
        batch = festival if engine == "festival" else rhvoice
        for (t, kind), (x, v) in zip(texts, batch([t for t, _ in texts], rng, held)):
            keep(x, v, t, kind, lex.variants(t, rng=rng))
    else:
        if engine == "kokoro" and "kokoro" not in _state:
            _state["kokoro"] = Kokoro(assets, device)
        for t, kind in texts:
            try:
                if engine == "kokoro":
                    x, v, ids = _state["kokoro"](t, rng, held)
                    keep(x, v, t, kind, [ids] if ids else [])
                else:
                    x, v = {"flite": flite, "espeak": espeak, "pico": pico}[engine](t, rng, held)
                    keep(x, v, t, kind, lex.variants(t, rng=rng))
            except (subprocess.SubprocessError, OSError, ValueError, IndexError, KeyError):
                continue
    if not pcm:
        return 0, 0.0
    tmp = name + ".tmp"
    with open(tmp, "wb") as f:
        np.savez(f, pcm=np.concatenate(pcm), ends=np.array(ends, np.int64), meta=np.frombuffer(json.dumps(meta).encode(), np.uint8))
    os.rename(tmp, name)
    return len(meta), ends[-1] / RATE


def held_texts(n, seed):
    """Calls only, for held-out voices: drawn from the evaluation grammar, so that sentences can be scored against it."""
    from evalgrammar import sentences
    rng = random.Random(seed)
    return [(rng.choice(sentences()), "call") for _ in range(n)]


def main():
    ap = argparse.ArgumentParser()
    ap.add_argument("out")
    ap.add_argument("--assets", required=True)
    ap.add_argument("--count", type=int, default=1000)
    ap.add_argument("--jobs", type=int, default=os.cpu_count())
    ap.add_argument("--seed", type=int, default=1)
    ap.add_argument("--shard", type=int, default=100)
    ap.add_argument("--mix", default="flite=5,festival=1,espeak=3")
    ap.add_argument("--device", default="cpu", help="where Kokoro runs, such as cuda:0")
    ap.add_argument("--held", action="store_true", help="held-out voices speaking the evaluation grammar")
    a = ap.parse_args()
    os.makedirs(a.out, exist_ok=True)
    mix = {k: float(v) for k, v in (p.split("=") for p in a.mix.split(","))}
    shards = max(len(mix), a.count // a.shard)
    plan = [k for k, v in mix.items() for _ in range(max(1, round(shards * v / sum(mix.values()))))]
    random.Random(a.seed).shuffle(plan)
    jobs = [(k, a.shard, a.seed * 100000 + i, a.out, a.assets, a.held, a.device) for i, k in enumerate(plan)]
    n = s = 0
    with ProcessPoolExecutor(a.jobs) as ex:
        for i, (k, sec) in enumerate(ex.map(work, jobs)):
            n, s = n + k, s + sec
            if i % 50 == 49:
                print(f"synth {n} utterances {s / 3600:.2f} h", flush=True)
    print(f"synth done {n} utterances {s / 3600:.2f} h", flush=True)


if __name__ == "__main__":
    main()
