"""What a part is called on the cloth: its name in full, and a short key."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from nesting.job.job import Job
from nesting.marker.lay import Part
from nesting.pattern.piece import Hand

__all__ = ["Naming", "Texts", "job_pieces", "naming"]

_LETTERS = "ABCDEFGHJKMNPTUVWXYZ"
"""Letters of keys: without I, O, Q and S, read as 1, 0 and 5, and L and R, the hands."""

Texts = tuple[tuple[str, ...], ...]
"""Ways to say something, each some lines."""


@dataclass(frozen=True, slots=True)
class Naming:
    """What has to be said to tell the parts of a lay apart.

    `pieces`: names in the order of the keys. `paired`: pieces that have a left one.
    `variants`: of each piece. `bags`: whether there is more than one.
    """

    pieces: tuple[str, ...]
    paired: frozenset[str]
    variants: Mapping[str, Sequence[str]]
    bags: bool

    def key(self, part: Part) -> str:
        """Return a short key: the piece's place as A, B, … Z, AA and so on.

        Variants of a piece are told apart by a small letter: A, Ab, Ac.
        """
        return self.key_of(part.piece.name, part.variant)

    def key_of(self, piece: str, variant: str) -> str:
        """Return the key of a piece in a variant."""
        number = self.pieces.index(piece) + 1
        key = ""
        while number:
            number, letter = divmod(number - 1, len(_LETTERS))
            key = _LETTERS[letter] + key
        place = self.variants[piece].index(variant)
        return key + (chr(ord("a") + place) if place else "")

    def texts(self, part: Part, *, flipped: bool = False) -> tuple[Texts, Texts]:
        """Return ways to name a part in full, and abbreviations; the best first."""
        name = part.piece.name
        number = f"{part.copy} of {part.copies}" if part.copies > 1 else ""
        hand = ("R" if part.hand is Hand.RIGHT else "L") if name in self.paired else ""
        number_of_bag = part.bag if part.other_bag is None else f"{part.bag}+{part.other_bag}"
        bag = f"bag {number_of_bag}" if self.bags else ""
        face = "face down" if flipped else ""
        detail = " ".join(word for word in (number, hand, part.variant, bag, face) if word)
        halves = _halves(name)
        if detail:
            full: list[tuple[str, ...]] = [(name, detail), (f"{name}  {detail}",)]
            if "; " in detail:
                full.insert(0, (name, *detail.split("; ")))
            full += [(*halves, detail)] if halves else []
        else:
            full = [(name,), *([halves] if halves else [])]
        key = self.key(part)
        # The bag stays in what is short: two bags' parts on one hide are not alike.
        tail = [word for word in (number, hand, bag) if word]
        if not tail:
            return tuple(full), ((key,),)
        return tuple(full), ((" ".join((key, *tail)),), (key, *tail), (key,))


def naming(parts: Sequence[Part], *, pieces: Sequence[str] = ()) -> Naming:
    """Look through a lay's parts; `pieces` are names that come first in the order of keys."""
    variants: dict[str, set[str]] = {}
    for part in parts:
        variants.setdefault(part.piece.name, set()).add(part.variant)
    return Naming(
        pieces=tuple(dict.fromkeys((*pieces, *variants))),
        paired=frozenset(p.piece.name for p in parts if p.hand is Hand.LEFT),
        variants={name: sorted(found) for name, found in variants.items()},
        bags=len({bag for part in parts for bag in (part.bag, part.other_bag) if bag}) > 1,
    )


def job_pieces(job: Job) -> tuple[str, ...]:
    """Return the names of all pieces of a job, each once: keys and colours follow them."""
    return tuple(dict.fromkeys(piece.name for bag in job.bags for piece in bag.pieces))


def _halves(name: str) -> tuple[str, str] | None:
    """Return a name broken between two words into lines of about one length."""
    words = name.split()
    if len(words) < 2:
        return None
    breaks = [(" ".join(words[:i]), " ".join(words[i:])) for i in range(1, len(words))]
    return min(breaks, key=lambda two: abs(len(two[0]) - len(two[1])))
