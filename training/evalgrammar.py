"""The sentences that call accuracy is scored against: a closed set of calls, none tuned to any one plan."""
from functools import lru_cache

from texts import below_hundred, number_wordings


@lru_cache(1)
def sentences():
    out = []
    for n in range(0, 431):
        ws = dict.fromkeys(w for w in number_wordings(n) if n < 100 or "a hundred" not in w)
        for w in ws:
            out += [w, "reading " + w]
            if n % 3 == 0:
                out.append("left skillet reading " + w)
            if n % 5 == 0:
                out.append("oil " + w)
    for n in range(1, 91):
        for u in ("minutes", "seconds"):
            out += [f"timer {below_hundred(n)} {u}", f"{below_hundred(n)} {u}"]
    for s in ("test chop", "marked chop", "plain chop", "first jar", "cedar"):
        for p in ("left", "right", "front", "back", "middle", "rack"):
            out += [f"{s} to the {p}", f"moved the {s} to the {p}"]
        out += [f"where is the {s}", f"flipped the {s}", f"{s} out"]
    out += ("next;done;yes;no;flipped;repeat;say again;undo;go back;back one;scratch that;stop;start;pause;resume;cancel;"
            "quiet;louder;slower;hold on;carry on;go;on;off;turned the pan;turned the rack around;what's next;how long;"
            "how long is left;stop the timer;cancel the timer;left;right;up;down;swap left and right;out to the rack;"
            "oil in;heat to low;can't tell;basted").split(";")
    out += ["cat follow happy house marvin sheila tree visual wow bed bird dog learn forward backward five four".split()[i] for i in range(17)]
    return list(dict.fromkeys(out))
