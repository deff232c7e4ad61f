"""What a part is called on the cloth: its name in full, and a short key."""

from __future__ import annotations

from collections.abc import Sequence

from nesting.marker.lay import Lay, Part
from nesting.pattern.piece import Hand

__all__ = ["Texts", "part_key", "part_texts", "piece_names"]

Texts = tuple[tuple[str, ...], ...]
"""Ways to say something, each some lines."""


def piece_names(lay: Lay) -> tuple[str, ...]:
    """Return the names of a lay's pieces, each once, in the order of its parts."""
    return tuple(dict.fromkeys(part.piece.name for part in lay.parts))


def part_key(part: Part, *, parts: Sequence[Part], pieces: Sequence[str]) -> str:
    """Return a short key: the piece's place in `pieces` as A, B, … Z, AA and so on.

    Variants of a piece within `parts` are told apart by a small letter: A, Ab, Ac.
    """
    number = list(pieces).index(part.piece.name) + 1
    key = ""
    while number:
        number, letter = divmod(number - 1, 26)
        key = chr(ord("A") + letter) + key
    variants = sorted({p.variant for p in parts if p.piece.name == part.piece.name})
    place = variants.index(part.variant)
    return key + (chr(ord("a") + place) if place else "")


def part_texts(
    part: Part,
    *,
    parts: Sequence[Part],
    pieces: Sequence[str],
    flipped: bool = False,
) -> tuple[Texts, Texts]:
    """Return ways to name a part in full, and abbreviations; the best first."""
    pairs = any(p.hand is Hand.LEFT and p.piece.name == part.piece.name for p in parts)
    hand = ("R" if part.hand is Hand.RIGHT else "L") if pairs else ""
    bag = f"bag {part.bag}" if any(p.bag != part.bag for p in parts) else ""
    number = f"{part.copy}/{part.copies}"
    face = "face down" if flipped else ""
    detail = " ".join(word for word in (number, hand, part.variant, bag, face) if word)
    name = part.piece.name
    words = name.split()
    cut = min(
        range(1, len(words)),
        key=lambda i: abs(len(" ".join(words[:i])) - len(" ".join(words[i:]))),
        default=None,
    )
    texts = [(name, detail), (f"{name}  {detail}",)]
    if cut:
        texts.append((" ".join(words[:cut]), " ".join(words[cut:]), detail))
    key = part_key(part, parts=parts, pieces=pieces)
    short = " ".join(word for word in (number, hand) if word)
    return tuple(texts), ((f"{key} {short}",), (key, *short.split()), (key,))
