#!/usr/bin/python3
"""Speaks a session: make-session.py SESSION.tsv OUT.flac OUT.truth.tsv [--snr DB]

SESSION.tsv has a line for every call: seconds, voice, words; the last line, with the
voice "end", gives the length. Voices: slt and rms (Flite), esp (eSpeak NG, American).
The speech is laid into synthetic kitchen noise (a hood's hum and rush, and oil
crackling from the time of the call "in they go" on), by default 30 dB below the
speech. The same input and the same versions of the two engines give the same file.

OUT.truth.tsv has a line for every call: start and end of its sound in seconds, voice,
words.

Needs: python3-numpy, flite, espeak-ng, flac.
"""
import argparse
import io
import subprocess
import wave

import numpy as np

RATE = 16_000
# Speech at -30 dBFS while it sounds: a microphone an arm's length away.
LEVEL = 10 ** (-30 / 20)


def spoken(voice, words):
    """The words as floats at 16 kHz, without silence round them."""
    if voice in ("slt", "rms"):
        cmd = ["flite", "-voice", voice, "-t", words, "-o", "/dev/stdout"]
    elif voice == "esp":
        cmd = ["espeak-ng", "-v", "en-us", "-s", "150", "-p", "45", "--stdout", words]
    else:
        raise SystemExit(f"no voice {voice!r}: use slt, rms or esp")
    data = subprocess.run(cmd, check=True, capture_output=True).stdout
    rate, sound = riff(data)
    sound = resample(sound, rate)
    frames = np.array([np.sqrt(np.mean(sound[i:i + 160] ** 2)) for i in range(0, len(sound), 160)])
    loud = np.flatnonzero(frames > 0.01 * frames.max())
    sound = sound[max(loud[0] - 1, 0) * 160:(loud[-1] + 2) * 160]
    active = frames[frames > 0.05 * frames.max()]
    return sound * LEVEL / np.sqrt(np.mean(active ** 2))


def riff(data):
    """Rate and samples of a WAV written to a pipe, where the lengths in its header lie."""
    at = data.index(b"data")
    body = data[at + 8:]
    body = body[:len(body) // 2 * 2]
    head = data[:at] + b"data" + len(body).to_bytes(4, "little")
    with wave.open(io.BytesIO(head + body)) as w:
        assert w.getnchannels() == 1 and w.getsampwidth() == 2
        return w.getframerate(), np.frombuffer(body, "<i2").astype(float) / 32768


def resample(sound, rate):
    """Band-limited, by the spectrum of the whole; exact for these short clips."""
    if rate == RATE:
        return sound
    pad = np.concatenate([np.zeros(rate // 10), sound, np.zeros(rate // 10)])
    pad = np.concatenate([pad, np.zeros(-len(pad) % (rate // 50))])
    n = len(pad) * RATE // rate
    spectrum = np.fft.rfft(pad)
    keep = np.zeros(n // 2 + 1, complex)
    m = min(len(spectrum), len(keep))
    keep[:m] = spectrum[:m]
    return np.fft.irfft(keep, n) * n / len(pad)


def shaped(rng, n, gain):
    """Noise with the amplitude `gain(hertz)`, mean square 1."""
    size = 1 << (n - 1).bit_length()
    spectrum = np.fft.rfft(rng.standard_normal(size))
    spectrum *= gain(np.fft.rfftfreq(size, 1 / RATE))
    sound = np.fft.irfft(spectrum)[:n]
    return sound / np.sqrt(np.mean(sound ** 2))


def hood(rng, n):
    """A fan: rush that falls off from 300 Hz, and the hum of its motor."""
    rush = shaped(rng, n, lambda f: 1 / (1 + (f / 300) ** 1.5))
    t = np.arange(n) / RATE
    hum = sum(a * np.sin(2 * np.pi * f * t + p)
              for a, f, p in [(0.5, 120, 0.3), (0.25, 240, 1.1), (0.15, 587, 2.0)])
    return rush + hum


def frying(rng, n):
    """Bubbles bursting: decaying bursts of 2 to 6 kHz at random times, over a hiss."""
    hiss = 0.5 * shaped(rng, n, lambda f: (f / 3000) ** 2 / (1 + (f / 3000) ** 4))
    burst = np.zeros(n)
    times = np.flatnonzero(rng.random_sample(n) < 60 / RATE)
    strength = rng.lognormal(0, 1, len(times))
    pitch = rng.uniform(2000, 6000, len(times))
    decay = rng.uniform(0.5, 3, len(times)) * RATE / 1000
    for at, a, f, d in zip(times, strength, pitch, decay):
        t = np.arange(min(int(6 * d), n - at))
        burst[at:at + len(t)] += a * np.exp(-t / d) * np.sin(2 * np.pi * f * t / RATE)
    return hiss + burst / np.sqrt(np.mean(burst ** 2))


def main():
    ask = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    ask.add_argument("session")
    ask.add_argument("sound")
    ask.add_argument("truth")
    ask.add_argument("--snr", type=float, default=30.0, help="dB (30)")
    args = ask.parse_args()

    with open(args.session, encoding="utf-8") as f:
        lines = [line.rstrip("\n").split("\t") for line in f
                 if line.strip() and not line.startswith("#")]
    if not lines or lines[-1][1] != "end":
        raise SystemExit(f"{args.session}: the last line must be: seconds, tab, end, tab")
    n = int(float(lines[-1][0]) * RATE)
    speech = np.zeros(n)
    truth = []
    for (at, voice, words), (after, *_) in zip(lines, lines[1:]):
        start = int(float(at) * RATE)
        sound = spoken(voice, words)
        end = start + len(sound)
        if end > float(after) * RATE:
            raise SystemExit(f"{words!r} at {at} s runs into the next call")
        speech[start:end] += sound
        truth.append((start / RATE, end / RATE, voice, words))

    # numpy promises the same numbers for ever from this older generator only.
    rng = np.random.RandomState(20)
    oil = next((t[1] for t in truth if t[3] == "in they go"), 0.0)
    rise = np.clip((np.arange(n) / RATE - oil) / 2, 0, 1)
    noise = hood(rng, n) + 1.2 * frying(rng, n) * rise
    mean = np.sqrt(np.mean(noise ** 2))
    out = speech + noise / mean * LEVEL * 10 ** (-args.snr / 20)
    samples = np.clip(np.round(out * 32767), -32768, 32767).astype("<i2")
    subprocess.run(["flac", "--silent", "--force", "--best", "--force-raw-format", "--endian=little",
                    "--channels=1", "--bps=16", f"--sample-rate={RATE}", "--sign=signed",
                    "-o", args.sound, "-"], check=True, input=samples.tobytes())
    with open(args.truth, "w", encoding="utf-8") as f:
        f.write("# start (seconds)\tend\tvoice\twords\n")
        for start, end, voice, words in truth:
            f.write(f"{start:.3f}\t{end:.3f}\t{voice}\t{words}\n")
    print(f"{len(truth)} calls in {n / RATE:.0f} s, speech {sum(b - a for a, b, *_ in truth):.0f} s")


if __name__ == "__main__":
    main()
