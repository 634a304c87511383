"""Texts to synthesise, and phones for them.

A text is lower-case words separated by spaces, numbers written out. Phones are the 39 of the CMU
pronouncing dictionary without stress (`PHONES`); a word may have several pronunciations.
"""
import random
import re

PHONES = ["<b>"] + ("AA AE AH AO AW AY B CH D DH EH ER EY F G HH IH IY JH K L M N NG OW OY P R S SH "
                    "T TH UH UW V W Y Z ZH").split()
PHONE_ID = {p: i for i, p in enumerate(PHONES)}

ONES = ("zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen "
        "fifteen sixteen seventeen eighteen nineteen").split()
TENS = {20: "twenty", 30: "thirty", 40: "forty", 50: "fifty", 60: "sixty", 70: "seventy",
        80: "eighty", 90: "ninety"}


class Lexicon:
    """The pronouncing dictionary: word -> list of phone-id lists (Debian's pocketsphinx-en-us copy)."""

    def __init__(self, path):
        self.words = {}
        with open(path, encoding="latin-1") as f:
            for line in f:
                if line.startswith(";;;"):
                    continue
                parts = line.split()
                if len(parts) < 2:
                    continue
                word = re.sub(r"\(\d+\)$", "", parts[0]).lower()
                phones = [re.sub(r"\d", "", p) for p in parts[1:]]
                if all(p in PHONE_ID for p in phones):
                    ids = [PHONE_ID[p] for p in phones]
                    if ids not in self.words.setdefault(word, []):
                        self.words[word].append(ids)

    def __contains__(self, word):
        return word in self.words

    def variants(self, text, most=3, rng=random):
        """Up to `most` phone sequences for a text: the first pronunciations, then random choices."""
        words = text.split()
        if any(w not in self.words for w in words):
            return []
        out = [[p for w in words for p in self.words[w][0]]]
        if any(len(self.words[w]) > 1 for w in words):
            for _ in range(6):
                v = [p for w in words for p in rng.choice(self.words[w])]
                if v not in out:
                    out.append(v)
                if len(out) >= most:
                    break
        return out


def below_hundred(n):
    return ONES[n] if n < 20 else TENS[n // 10 * 10] + ("" if n % 10 == 0 else " " + ONES[n % 10])


def number_wordings(n):
    """Every way a cook may say a whole number from 0 to 999."""
    if n < 20:
        return [below_hundred(n)] + (["oh"] if n == 0 else [])
    if n < 100:
        return [below_hundred(n), " ".join(ONES[int(c)] for c in str(n))]
    h, r = divmod(n, 100)
    if r == 0:
        return [ONES[h] + " hundred"] + (["a hundred"] if h == 1 else [])
    out = [f"{ONES[h]} hundred {below_hundred(r)}", f"{ONES[h]} hundred and {below_hundred(r)}"]
    out.append(f"{ONES[h]} {below_hundred(r)}" if r >= 10 else f"{ONES[h]} oh {ONES[r]}")
    out.append(f"{ONES[h]} {below_hundred(r)}" if r >= 10 else f"{ONES[h]} oh {ONES[r]}")
    out.append(" ".join(ONES[int(c)] for c in str(n)))
    if h == 1:
        out.append(f"a hundred {below_hundred(r)}")
        out.append(f"a hundred and {below_hundred(r)}")
    return out


def number(rng):
    u = rng.random()
    if u < 0.18:
        n = rng.choice([13, 14, 15, 16, 17, 18, 19, 30, 40, 50, 60, 70, 80, 90])
    elif u < 0.42:
        n = rng.choice([1, 2, 3, 4]) * 100 + rng.choice([13, 14, 15, 16, 17, 18, 19, 30, 40, 50, 60, 70, 80, 90, 12, 20])
    elif u < 0.55:
        n = rng.randint(0, 30)
    else:
        n = rng.randint(0, 500)
    s = rng.choice(number_wordings(n))
    u = rng.random()
    if u < 0.07:
        s += " point " + rng.choice(ONES[:10])
    elif u < 0.09:
        s += rng.choice([" and a half", " and a quarter"])
    elif u < 0.11:
        s = rng.choice(["minus ", "about ", "around ", "almost ", "just over "]) + s
    return s


THINGS = ("chop,sample,piece,fillet,steak,caramel,syrup,custard,loaf,roll,onion,carrot,batch,tray,one,salmon,duck,"
          "lamb,pork,brisket,dough,sponge,meringue,tart,cod,trout,egg,potato,bean,sausage,turnip,leek,apple,pear,"
          "plum,fig,beet,cake,pie,bun,rib,loin,shank,jam,stock,sauce,glaze,crumb,slice,wedge,half,cube").split(",")
MARKS = ("test,marked,plain,control,first,second,third,last,other,brined,dry,salted,sugared,soaked,thick,thin,big,"
         "small,red,blue,green,black,white,yellow,notched,clipped,tagged,left,right,near,far,bottom,top,treated,"
         "untreated,cold,warm,rested,smoked,seared,raw,glazed,bare,odd,new,old").split(",")
VESSELS = ("pan,skillet,pot,rack,tray,oven,board,bowl,plate,sheet,dish,grill,griddle,fryer,kettle,cooler,fridge,"
           "freezer,steamer,saucepan,stock pot,wire rack,cooling rack,baking sheet,dutch oven,wok,tub,bag,bath,box,shelf,burner,hob").split(",")
PLACES = ("left,right,front,back,middle,centre,center,top,bottom,front left,front right,back left,back right,"
          "near side,far side,edge,rear,upper left,lower right,near left,far right,outside,inside,spot one,spot two,"
          "row two,slot three,corner").split(",")
NAMES = ("alder,birch,cedar,maple,juniper,sorrel,comet,otter,falcon,heron,badger,pepper,amber,cobalt,ivory,olive,"
         "scarlet,marble,anchor,beacon,candle,lantern,meadow,harbor,pebble,river,summit,willow,denver,boston,"
         "alpha,bravo,charlie,delta,echo,foxtrot,golf,hotel,india,juliet,kilo,lima,mike,november,oscar,papa,romeo,"
         "sierra,tango,victor,whiskey,zulu,a,b,c,d,e,f,x,y").split(",")
LETTERS = "abcdefghijklmnopqrstuvwxyz"
UNITS = "minutes,seconds,hours,minute,second,hour,degrees,grams,percent,pounds,ounces,litres,liters,milliliters,days".split(",")
SHORT = ("next,done,yes,no,go,stop,oh,on,off,one,flipped,undo,repeat,start,pause,resume,cancel,quiet,louder,slower,"
         "faster,softer,hold on,carry on,go on,go back,back one,say again,again,wait,okay,right,left,ready,finished,"
         "continue,scratch that,never mind,what's next,what is next,how long,how long left,how long is left,turned,"
         "basted,oil in,out,in,up,down,skip,help,status,mute,sleep,wake up,correct,wrong,that's right,that's wrong,"
         "not yet,hang on,one moment,what,where,when,time,timer,stop the timer,can't tell,same,different,none,all,both,"
         "more,less,two,three,four,five,six,seven,eight,nine,ten,now,then,here,there,off the heat,on the rack,"
         "heat to low,heat to high,lid on,lid off,door open,door closed,what did you hear,say that again,thank you").split(",")


def thing(rng):
    u = rng.random()
    if u < 0.5:
        return rng.choice(MARKS) + " " + rng.choice(THINGS)
    if u < 0.65:
        return rng.choice(THINGS)
    if u < 0.8:
        return rng.choice(NAMES) + " " + rng.choice(THINGS)
    if u < 0.9:
        return rng.choice(["sample ", "piece ", "number ", "batch "]) + rng.choice(ONES[1:10] + NAMES[-6:])
    return rng.choice(NAMES)


def vessel(rng):
    return (rng.choice(["left ", "right ", "near ", "far ", "big ", "small ", "top ", "", "", "", ""]) + rng.choice(VESSELS))


def duration(rng):
    u = rng.random()
    if u < 0.6:
        return rng.choice(number_wordings(rng.randint(1, 90))[:1]) + " " + rng.choice(["minutes", "seconds", "hours", "minutes", "minute", "second"])
    if u < 0.75:
        return f"{below_hundred(rng.randint(1, 12))} {rng.choice(['minutes', 'hours'])} {rng.choice(['and ', ''])}{below_hundred(rng.randint(1, 59))} {rng.choice(['seconds', 'minutes'])}"
    if u < 0.9:
        return rng.choice(["half an hour", "a minute", "an hour", "a quarter of an hour", "half a minute", "an hour and a half",
                           "two and a half minutes", "one and a half hours", "a minute and a half", "thirty seconds", "ninety seconds"])
    return f"{below_hundred(rng.randint(1, 30))} and a half {rng.choice(['minutes', 'hours'])}"


def call(rng):
    """A sentence of the kind a cook calls out; patterns are deliberately more various than any one grammar."""
    u = rng.random()
    n = lambda: number(rng)
    if u < 0.20:
        return rng.choice([
            lambda: "reading " + n(), lambda: f"{vessel(rng)} reading {n()}", lambda: f"{thing(rng)} {n()}",
            lambda: f"{vessel(rng)} {n()}", lambda: "oil " + n(), lambda: f"reading {n()} to {n()}",
            lambda: f"{thing(rng)} reading {n()}", lambda: f"{n()} degrees", lambda: f"probe {n()}",
            lambda: f"temperature {n()}", lambda: f"{thing(rng)} is at {n()}", lambda: f"it reads {n()}",
            lambda: f"{n()} in the {vessel(rng)}", lambda: f"between {n()} and {n()}", lambda: f"set oven to {n()}"])()
    if u < 0.30:
        return n()
    if u < 0.42:
        return rng.choice([
            lambda: "timer " + duration(rng), lambda: "start timer " + duration(rng), lambda: "start a timer for " + duration(rng),
            lambda: duration(rng), lambda: "set a timer for " + duration(rng), lambda: f"{duration(rng)} more",
            lambda: f"{below_hundred(rng.randint(1, 20))} more minutes", lambda: f"timer for the {thing(rng)} {duration(rng)}",
            lambda: rng.choice(["start", "stop", "pause", "resume", "cancel", "clear", "reset"]) + rng.choice([" the timer", " timer", " timer " + rng.choice(ONES[1:8]), " all timers", " the clock"]),
            lambda: f"add {duration(rng)}", lambda: f"remind me in {duration(rng)}"])()
    if u < 0.60:
        return rng.choice([
            lambda: f"moved the {thing(rng)} to the {rng.choice(PLACES)}", lambda: f"{thing(rng)} to the {rng.choice(PLACES)}",
            lambda: f"move the {thing(rng)} to the {vessel(rng)}", lambda: f"put the {thing(rng)} in the {vessel(rng)} on the {rng.choice(PLACES)}",
            lambda: f"flipped the {thing(rng)}", lambda: f"turned the {vessel(rng)}", lambda: f"turned the {vessel(rng)} around",
            lambda: f"out to the {vessel(rng)}", lambda: f"swap {rng.choice(PLACES)} and {rng.choice(PLACES)}",
            lambda: f"swapped the {thing(rng)} and the {thing(rng)}", lambda: f"{thing(rng)} out", lambda: f"{thing(rng)} in",
            lambda: f"basted the {thing(rng)}", lambda: f"took the {thing(rng)} out", lambda: f"lifted the {thing(rng)}",
            lambda: f"rotated the {vessel(rng)} {rng.choice(['left', 'right', 'half a turn', 'a quarter turn'])}",
            lambda: f"{thing(rng)} in the {vessel(rng)}", lambda: f"the {thing(rng)} is on the {rng.choice(PLACES)}",
            lambda: f"heat to {rng.choice(['low', 'medium', 'high', 'medium low', 'medium high'])}",
            lambda: f"{rng.choice(['flipped', 'turned', 'moved', 'salted', 'rested', 'drained', 'stirred', 'covered', 'seasoned', 'checked'])} {rng.choice(['all', 'both', 'them', 'it', 'everything', 'the rest'])}"])()
    if u < 0.72:
        return rng.choice([
            lambda: f"where is the {thing(rng)}", lambda: f"where's the {thing(rng)}", lambda: f"how long is left on the {thing(rng)}",
            lambda: f"how long for the {thing(rng)}", lambda: f"what is in the {vessel(rng)}", lambda: f"what's the {vessel(rng)} at",
            lambda: f"when is the {thing(rng)} done", lambda: f"which one is the {thing(rng)}", lambda: f"how hot is the {vessel(rng)}",
            lambda: f"is the {thing(rng)} done", lambda: f"what temperature is the {thing(rng)}", lambda: "what was the last reading"])()
    if u < 0.80:
        return rng.choice([
            lambda: "no " + n(), lambda: f"no i said {n()}", lambda: f"not {n()} {n()}", lambda: f"i meant {n()}", lambda: f"yes {n()}",
            lambda: f"scratch that {n()}", lambda: f"no the {thing(rng)}", lambda: f"{' '.join(rng.choice(ONES[:10]) for _ in range(3))} is the odd one",
            lambda: f"weigh in {n()} {rng.choice(UNITS)}", lambda: f"{n()} {rng.choice(UNITS)}", lambda: f"note the {thing(rng)} is {rng.choice(['brown', 'dark', 'pale', 'crisp', 'soft', 'firm'])}"])()
    return rng.choice(SHORT)


class Texts:
    """Draws texts: calls, lone words, general English. `words`: common words, most common first; `sentences`: free text."""

    def __init__(self, lexicon, words, sentences, seed):
        self.lex, self.rng = lexicon, random.Random(seed)
        self.words = [w for w in words if w in lexicon]
        self.sentences = [s.split() for s in sentences]

    def word(self):
        # A log-uniform rank: common words often, rare words still there.
        r = int(len(self.words) ** self.rng.random()) - 1
        return self.words[max(0, min(len(self.words) - 1, r))] if self.rng.random() < 0.5 else self.rng.choice(self.words)

    def draw(self):
        """-> (text, kind) with kind one of call, word, talk; every word is in the lexicon."""
        rng = self.rng
        while True:
            u = rng.random()
            if u < 0.46:
                t, kind = call(rng), "call"
            elif u < 0.48:
                t, kind = " ".join(rng.choice(LETTERS) for _ in range(rng.randint(1, 5))), "word"
            elif u < 0.64:
                t, kind = (rng.choice(SHORT) if rng.random() < 0.25 else self.word()), "word"
            elif u < 0.86 and self.sentences:
                s = rng.choice(self.sentences)
                k = rng.randint(2, 11)
                i = rng.randint(0, max(0, len(s) - k))
                t, kind = " ".join(s[i:i + k]), "talk"
            else:
                t, kind = " ".join(self.word() for _ in range(rng.randint(2, 5))), "talk"
            if t and all(w in self.lex for w in t.split()):
                return t, kind
