"""What texts on a pattern say: how many to cut of what, on the fold, in pairs."""

from __future__ import annotations

import re
from dataclasses import dataclass

__all__ = ["Said", "places", "said_by"]

_NUMBERS = {"one": 1, "two": 2, "three": 3, "four": 4, "five": 5, "six": 6, "eight": 8}
_CUT = re.compile(r"\bcut\b\s*(?:out\b)?\s*[:x×]?\s*(?P<rest>.*)", re.IGNORECASE)
_SHARE = re.compile(
    rf"^(?:cut\b)?\s*(?P<count>\d{{1,3}}|{'|'.join(_NUMBERS)})\s*[x×]?\s*(?:of\b|from\b|in\b)?\s*"
    r"(?P<of>.*)$",
    re.IGNORECASE,
)
_FOLD = re.compile(r"[(,]?\s*\b(?:(?:placed?|cut)\s+)?on\s+(?:the\s+)?fold\b\s*\)?", re.IGNORECASE)
_FOLD_ALONE = re.compile(
    r"\W*(?:(?:place|cut)\s+)?(?:on\s+)?(?:the\s+)?fold(?:\s*(?:line|edge|here))?\W*", re.IGNORECASE
)
_PAIR = re.compile(
    r"[(,]?\s*\b(?:\d+\s+)?(?:mirrored|reversed|mirror(?:ed)?\s+images?|(?:a\s+)?pairs?|opposite)\b\s*\)?",
    re.IGNORECASE,
)
_TOTAL = re.compile(r"^\s*\d{1,3}\s*:\s*(?=\d)")
_GRAIN = re.compile(r"\W*(?:straight\s+)?(?:of\s+)?grain\s*(?:line)?\W*", re.IGNORECASE)


_PLACED = re.compile(
    r"\b(?:placements?|positions?|(?:place|sew|stitch|attach|glue)\b.*\b(?:here|on))\b",
    re.IGNORECASE,
)


def places(text: str) -> bool:
    """Tell whether a text in a contour says that something else goes there: "pocket placement"."""
    return bool(_PLACED.search(text)) and not _FOLD.search(text)


@dataclass(frozen=True, slots=True, kw_only=True)
class Said:
    """What a text says. `quantity`, `material`: as a pattern file's text fields say them.

    `folded`: the piece is half, to be opened. `edge`: it stands at the very edge of the fold.
    `grain`: it stands at a grain line. `name`: what stands before it.
    """

    quantity: str = ""
    material: str = ""
    folded: bool = False
    edge: bool = False
    grain: bool = False
    name: str = ""


def said_by(text: str) -> Said | None:
    """Return what a text says of its piece, None if it is none of the known phrases.

    "cut 2 outer, 2 lining": two of each, whose count is the piece's if they agree; "mirrored" or
    "pair": half of them turned over; "on fold": the piece is drawn in half.
    """
    if _GRAIN.fullmatch(text):
        return Said(grain=True)
    if _FOLD_ALONE.fullmatch(text):
        return Said(folded=True, edge=True)
    match = _CUT.search(text)
    if match is None:
        return None
    folded = bool(_FOLD.search(text))
    rest = _TOTAL.sub("", _FOLD.sub(" ", match["rest"]))
    paired = bool(_PAIR.search(rest))
    pairs = bool(re.search(r"\bpairs?\b", rest, re.IGNORECASE))
    rest = _PAIR.sub(" ", rest) if not pairs else re.sub(r"\bpairs?\b", " ", rest, flags=re.I)
    shares = [_SHARE.match(one.strip()) for one in re.split(r"[,;&+/]|\band\b", rest)]
    counted = [(_number(one["count"]), one["of"].strip(" .:-")) for one in shares if one]
    name = text[: match.start()].strip(" .:,;–—-|")
    if not counted:
        return Said(folded=True, name=name) if folded else None
    if pairs:
        counted = [(2 * count, of) for count, of in counted]
    counts = {count for count, _ in counted}
    quantity = ""
    if len(counts) == 1:
        count = counts.pop()
        half = count // 2
        quantity = f"{count - half},{half}" if paired and count > 1 else f"{count}"
    named = [of for _, of in counted if of]
    if len(named) > 1 or not quantity:
        named = [f"{count} {of}".strip() for count, of in counted]
    return Said(quantity=quantity, material=", ".join(named), folded=folded, name=name)


def _number(text: str) -> int:
    return _NUMBERS.get(text.casefold()) or int(text)
