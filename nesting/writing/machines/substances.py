"""What the words for a material say of what it is made of: chlorinated, doubtful, or not known.

There is no list of safe materials here and there must be none. The few names of plain fibres
only raise no question of their own; every other word does. Words are compared without case,
accents, width and punctuation ("P.V.C.", "ＰＶＣ" and "p v c" are one), in the languages of the
trade. Which goods are, or often are, chlorinated is common practice, no complete source.
"""

from __future__ import annotations

import re
import unicodedata

__all__ = ["doubts", "may_be_chlorinated"]

# Found anywhere in what is said, also across words.
_CHLORINATED = (
    "pvc",
    "pvdc",
    "vinyl",
    "vinil",
    "vynil",
    "vynyl",
    "winyl",
    "chlor",
    "chloor",
    "clor",
    "klor",
    "neopren",
    "hypalon",
    "modacryl",
    "modakryl",
    "хлор",
    "винил",
    "пвх",
    "неопрен",
    "氯",
    "塩ビ",
    "塩化",
    "ビニル",
    "ビニール",
)
# Abbreviations, found as whole words only.
_SHORT = ("pcv", "pcw", "csm", "cr")

# Goods that often are: until their substance is named they may be.
_OFTEN = (
    *("leatherette", "pleather", "fauxleather", "fakeleather", "artificialleather"),
    *("imitationleather", "syntheticleather", "veganleather", "ecoleather", "manmadeleather"),
    *("oilcloth", "oilskin", "tarp", "awning"),
    *("kunstleder", "lederimitat", "lederersatz", "veganesleder", "wachstuch", "lkwplane"),
    *("simili", "fauxcuir", "cuirsynth", "cuirartificiel", "cuirvegan", "toileciree", "bache"),
    *("ecopelle", "ecopiel", "similpelle", "fintapelle", "pellesintetica", "telacerata"),
    *("cuerosintetico", "cueroartificial", "pielsintetica", "polipiel", "hule"),
    *("courosintetico", "couroecologico", "napasintetica", "oleado"),
    *("kunstleer", "imitatieleer", "tafelzeil", "konstlader", "vaxduk", "kunstskind"),
    *("kunstlaer", "voksdug", "voksduk", "keinonahka", "vahakangas"),
    *("sztucznaskora", "skorasztuczna", "ekoskora", "skaj", "cerata"),
    *("кожзам", "искусственнаякожа", "экокожа", "клеенк", "人造革", "人工皮革", "合成皮革", "合皮"),
)

_ASK = {
    "polyurethane (PU)": ("pu", "polyurethan", "poliuretan", "tpu"),
    "foam": ("foam", "schaum", "mousse", "espuma", "schiuma"),
    "leather whose tannage is not known, or chrome-tanned": (
        *("leather", "suede", "chrome", "leder", "cuir", "cuero", "couro", "pelle", "leer"),
        *("skin", "piel"),
    ),
    "coated, laminated or waterproofed cloth": (
        *("coated", "laminat", "waterproof", "waxed", "beschichtet", "enduit", "spalmat"),
        *("impermeab", "gewachst"),
    ),
    "flame-retardant cloth": ("flame", "retardant", "flammhemmend"),
    "nylon, polyester, elastane and other synthetics": (
        *("nylon", "polyester", "elasthan", "elastan", "spandex", "polyamid", "poliester"),
        *("poliammide", "acryl", "akryl"),
    ),
    "metallic or reflective cloth": ("metal", "reflect", "reflekt"),
    "self-adhesive goods": ("adhesive", "fusible", "klebe", "adhesif", "adesiv"),
    "wool": ("wool", "wolle", "laine", "lana"),
    "plastics and composites that burn, melt or give off poison": (
        *("abs", "polycarbonat", "ptfe", "pvb", "hdpe", "polystyr", "polyprop", "polyethyl"),
        *("carbon", "epoxy", "fibreglass", "fiberglass", "silicon", "rubber", "plastic"),
    ),
}
"""What has to be asked, and beginnings of the words that make it a question."""

# Plain fibres, in the languages of the trade.
# fmt: off
_FIBRES = frozenset((
    "cotton", "linen", "flax", "hemp", "jute", "ramie", "baumwolle", "baumwoll", "leinen",
    "flachs", "hanf", "coton", "lin", "chanvre", "cotone", "lino", "canapa", "iuta", "algodon",
    "canamo", "yute", "algodao", "linho", "canhamo", "juta", "katoen", "linnen", "vlas",
    "hennep", "bomull", "hampa", "bomuld", "hor", "bawelna", "len", "konopie", "puuvilla",
    "pellava", "хлопок", "лен", "棉", "麻", "綿",
))
# fmt: on
# What may stand beside them and says nothing of what they are.
# fmt: off
_BESIDE = frozenset((
    "and", "und", "et", "y", "e", "en", "och", "og", "i", "of", "aus", "de", "di", "100", "pure",
    "organic", "unbleached", "raw", "natural", "woven", "canvas", "duck", "twill", "denim",
    "calico", "muslin", "percale", "poplin", "cloth", "fabric", "stoff", "tissu", "tela",
))
# fmt: on

_OTHER_LETTERS = str.maketrans({"æ": "ae", "ø": "o", "ł": "l", "đ": "d", "œ": "oe", "ı": "i"})


def _folded(text: str) -> list[str]:
    """Return the words of a text without case, accents, width and punctuation."""
    text = unicodedata.normalize("NFKD", unicodedata.normalize("NFKC", text).casefold())
    text = "".join(c for c in text if not unicodedata.combining(c)).translate(_OTHER_LETTERS)
    words = re.findall(r"[^\W_]+", text)
    joined: list[str] = []
    letters = False
    for word in words:  # "p v c" is spelled out
        single = len(word) == 1 and word.isalpha()
        if single and letters:
            joined[-1] += word
        else:
            joined.append(word)
        letters = single
    return joined


def _chlorinated(words: list[str]) -> bool:
    run = "".join(words)
    return any(word in run for word in _CHLORINATED) or any(word in words for word in _SHORT)


def _often(words: list[str]) -> bool:
    run = "".join(words)
    return any(word in run for word in _OFTEN)


def may_be_chlorinated(name: str, substance: str) -> bool:
    """Whether the words for a material say that it is, or may be, chlorinated.

    Faux leather and the like may be until a substance is named that is known here. False
    means only that the words do not say so.
    """
    called, made_of = _folded(name), _folded(substance)
    if _chlorinated(called) or _chlorinated(made_of):
        return True
    known = bool(made_of) and not _often(made_of) and not _unknown(made_of)
    return (_often(called) or _often(made_of)) and not known


def doubts(name: str, substance: str) -> list[str]:
    """Return what about a material has to be asked before a laser goes near it."""
    called, made_of = _folded(name), _folded(substance)
    found = [what for what in _ASK if _is(what, [*called, *made_of])]
    if not made_of:
        found.append("its substance is not said")
    elif _unknown(made_of):
        said = " ".join(made_of)[:40]
        found.append(f'what "{said}" is made of is not known here')
    return found


def _is(what: str, words: list[str]) -> bool:
    return any(
        word == known if len(known) <= 3 else known in word
        for word in words
        for known in _ASK[what]
    )


def _unknown(made_of: list[str]) -> bool:
    """Whether some word for a substance is neither a plain fibre nor one that is asked about."""
    named = {word for word in made_of if word in _FIBRES or any(_is(w, [word]) for w in _ASK)}
    rest = [w for w in made_of if w not in named and w not in _BESIDE and not w.isdecimal()]
    return not named or bool(rest)
