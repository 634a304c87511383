#!/usr/bin/env python3
"""Makes models/lexicon-en.bin and models/spelling-en.bin from a CMU pronouncing dictionary.

usage: make-lexicon.py DICTIONARY OUTPUT-FOLDER

DICTIONARY is `cmudict-en-us.dict` of Debian's package pocketsphinx-en-us (words with phones
without stress, "word(2)" for a further pronunciation; BSD 2-clause, Carnegie Mellon University).
Needs nothing but Python. Same input, same output.

lexicon-en.bin: raw DEFLATE of, for each word in byte order:
  u8 letters shared with the word before, the rest of the word, 0,
  pronunciations: phone numbers from 1 in the order of PHONES, 254 between two of them, 255 at the end.

spelling-en.bin: raw DEFLATE of a letter-to-sound tree, learnt from the same dictionary. Letters are
aligned with 0, 1 or 2 phones each by expectation maximisation; a tree then asks for the letter, its
right neighbour, its left one, the second right and so on, and ends where further letters change
nothing ("IGTree": Daelemans, van den Bosch, Weijters 1997). Every tenth word is held out; the share
of held-out words and phones that come out right is printed. The tree is then learnt from all words.
  Classes: u16 count, for each u8 length and phone numbers.
  Nodes in depth-first order: u8 letter (0 outside the word), u16 class, u16 second class (65535 none),
  u8 number of children. The first node is the root.
"""
import collections, math, re, struct, sys, zlib

PHONES = ("AA AE AH AO AW AY B CH D DH EH ER EY F G HH IH IY JH K L M N NG OW OY P R S SH T TH UH UW V W Y Z ZH").split()
NUMBER = {p: i + 1 for i, p in enumerate(PHONES)}
ORDER = [0, 1, -1, 2, -2, 3, -3, 4, -4]  # positions asked, most telling first
SEEN_TWICE = 2  # a context is worth a node from so many words on


def read(path):
    words = collections.OrderedDict()
    for line in open(path, encoding="utf-8"):
        word, *phones = line.split()
        word = re.sub(r"\(\d+\)$", "", word)
        if not re.fullmatch(r"[a-z'.\-]+", word) or not phones or len(word) > 40:
            continue
        said = bytes(NUMBER[p] for p in phones)
        if said not in words.setdefault(word, []):
            words[word].append(said)
    return words


def pack(data):
    c = zlib.compressobj(9, zlib.DEFLATED, -15)
    return c.compress(data) + c.flush()


def lexicon(words):
    out, before = bytearray(), b""
    for word in sorted(w.encode() for w in words):
        shared = 0
        while shared < min(len(word), len(before)) and word[shared] == before[shared]:
            shared += 1
        out += bytes([shared]) + word[shared:] + b"\0"
        out += b"\xfe".join(words[word.decode()]) + b"\xff"
        before = word
    return bytes(out)


def best_alignment(word, said, score):
    """Which phones each letter makes, by the best product; None when the phones are too many."""
    n, m = len(word), len(said)
    best = [[None] * (m + 1) for _ in range(n + 1)]
    best[0][0] = (0.0, 0)
    for i in range(n):
        row, nxt = best[i], best[i + 1]
        for j in range(m + 1):
            if row[j] is None:
                continue
            for k in (0, 1, 2):
                if j + k > m:
                    break
                v = row[j][0] + score(word[i], said[j:j + k])
                if nxt[j + k] is None or v > nxt[j + k][0]:
                    nxt[j + k] = (v, k)
    if best[n][m] is None:
        return None
    parts, j = [], m
    for i in range(n, 0, -1):
        k = best[i][j][1]
        parts.append(said[j - k:j])
        j -= k
    return parts[::-1]


def align(pairs):
    counts = collections.Counter()
    total = collections.Counter()
    prior = {0: -2.0, 1: -1.0, 2: -6.0}
    def score(letter, phones):
        c = counts.get((letter, phones), 0)
        return math.log((c + 0.01) / (total[letter] + 1)) + (prior[len(phones)] * 0.1) if total[letter] else prior[len(phones)]
    # First guess: which phones go with a letter at about the same place in the word.
    sample = pairs[::4]
    for word, said in sample:
        for i, letter in enumerate(word):
            j = i * len(said) / len(word)
            for q in (int(j), int(j) + 1):
                if q < len(said):
                    counts[letter, said[q:q + 1]] += 1
                    total[letter] += 1
        for i, letter in enumerate(word):
            counts[letter, b""] += 0.2
            total[letter] += 0.2
    for _ in range(6):
        fresh = collections.Counter()
        for word, said in sample:
            parts = best_alignment(word, said, score)
            if parts:
                fresh.update(zip(word, parts))
        counts = fresh
        total = collections.Counter()
        for (letter, _), c in counts.items():
            total[letter] += c
    return [(word, best_alignment(word, said, score)) for word, said in pairs]


class Node:
    __slots__ = ("classes", "children")
    def __init__(self):
        self.classes, self.children = collections.Counter(), {}


def at(word, i):
    return ord(word[i]) if 0 <= i < len(word) else 0


def grow(aligned):
    root = Node()
    for word, parts in aligned:
        if parts is None:
            continue
        for i in range(len(word)):
            node = root
            node.classes[parts[i]] += 1
            for d in ORDER:
                node = node.children.setdefault(at(word, i + d), Node())
                node.classes[parts[i]] += 1
    return root


def ranked(node):
    return [c for c, _ in sorted(node.classes.items(), key=lambda kv: (-kv[1], kv[0]))]


def prune(node, above, depth=0):
    """Drops what decides as its parent does."""
    best = ranked(node)[0]
    keep = {}
    for letter, child in node.children.items():
        if sum(child.classes.values()) < SEEN_TWICE and depth > 0:
            continue
        prune(child, best, depth + 1)
        if child.children or ranked(child)[0] != best:
            keep[letter] = child
    node.children = keep


def say(root, word):
    out = b""
    for i in range(len(word)):
        node, found = root, ranked(root)[0]
        for d in ORDER:
            node = node.children.get(at(word, i + d))
            if node is None:
                break
            found = ranked(node)[0]
        out += found
    return out


def distance(a, b):
    row = list(range(len(b) + 1))
    for i, x in enumerate(a, 1):
        last, row[0] = row[0], i
        for j, y in enumerate(b, 1):
            last, row[j] = row[j], min(row[j] + 1, row[j - 1] + 1, last + (x != y))
    return row[-1]


def tree(root):
    classes, number = [], {}
    body = bytearray()
    def index(c):
        if c not in number:
            number[c] = len(classes)
            classes.append(c)
        return number[c]
    def write(letter, node):
        order = ranked(node)
        second = 65535
        if len(order) > 1 and node.classes[order[1]] * 5 >= node.classes[order[0]]:
            second = index(order[1])
        body.extend(struct.pack("<BHHB", letter, index(order[0]), second, len(node.children)))
        for k in sorted(node.children):
            write(k, node.children[k])
    write(0, root)
    head = struct.pack("<H", len(classes)) + b"".join(bytes([len(c)]) + c for c in classes)
    return head + bytes(body)


def main():
    words = read(sys.argv[1])
    out = sys.argv[2]
    packed = pack(lexicon(words))
    open(f"{out}/lexicon-en.bin", "wb").write(packed)
    print(f"{len(words)} words, {sum(map(len, words.values()))} pronunciations, {len(packed)} bytes")
    pairs = [(w, p[0]) for w, p in words.items() if w.isalpha() and len(w) > 1]
    aligned = [a for a in align(pairs) if a[1] is not None]
    root = grow([a for i, a in enumerate(aligned) if i % 10])
    prune(root, None)
    right = errors = phones = n = 0
    for word, _ in aligned[::10]:
        got = say(root, word)
        d = min(distance(got, p) for p in words[word])
        n, right, errors, phones = n + 1, right + (d == 0), errors + d, phones + len(got)
    print(f"held out: {n} words, {100 * right / n:.1f} % right, {100 * errors / phones:.1f} % phone errors")
    root = grow(aligned)
    prune(root, None)
    packed = pack(tree(root))
    open(f"{out}/spelling-en.bin", "wb").write(packed)
    print(f"letter-to-sound tree: {len(packed)} bytes")


if __name__ == "__main__":
    sys.setrecursionlimit(10_000)
    main()
