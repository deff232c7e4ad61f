"""What a part is called on the cloth: its name in full, what tells it from others, its key."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import takewhile

from nesting.marker.lay import Part
from nesting.pattern.piece import Hand
from nesting.writing.neutral.keys import Keys, keys_of

__all__ = ["Naming", "Texts", "naming", "shared_names"]

Texts = tuple[tuple[str, ...], ...]
"""Ways to say something, each some lines."""


@dataclass(frozen=True, slots=True)
class Naming:
    """What has to be said to tell the parts of a lay apart.

    `paired`: pieces that have a left one. `numbered`: bags of which there are several;
    `bags`: whether there is more than one bag in all. `shared`: see `shared_names`.
    """

    keys: Keys
    shared: Mapping[str, str]
    paired: frozenset[tuple[str, str]]
    numbered: frozenset[str]
    bags: bool

    def texts(self, part: Part, *, flipped: bool = False) -> tuple[Texts, Texts]:
        """Return ways to name a part in full, and abbreviations; the best first.

        The last abbreviation is the key alone.
        """
        name = part.piece.name
        number = f"{part.copy} of {part.copies}" if part.copies > 1 else ""
        paired = (part.design, name) in self.paired
        hand = ("R" if part.hand is Hand.RIGHT else "L") if paired else ""
        bag = self.bag(part)
        face = "face down" if flipped else ""
        detail = " ".join(word for word in (number, hand, part.variant, bag, face) if word)
        halves = _halves(name)
        if detail:
            full: list[tuple[str, ...]] = [(name, detail), (f"{name}  {detail}",)]
            if "; " in detail:
                full.insert(0, (name, *detail.split("; ")))
            full += [(*halves, detail)] if halves else []
            if bag and detail != bag:
                rest = " ".join(word for word in (number, hand, part.variant, face) if word)
                full.append((*(halves or (name,)), rest, bag))
        else:
            full = [(name,), *([halves] if halves else [])]
        key = self.keys.key(part)
        # The bag stays in what is short: two bags' parts on one hide are not alike.
        tail = [word for word in (number, hand, bag) if word]
        if not tail:
            return tuple(full), ((key,),)
        return tuple(full), ((" ".join((key, *tail)),), (key, *tail), (key,))

    def bag(self, part: Part) -> str:
        """Return which bag a part is for, if there is another."""
        if not self.bags or not part.bag:
            return ""
        number = f"{part.bag}" if part.other_bag is None else f"{part.bag}+{part.other_bag}"
        name = self.shared.get(part.design, part.design)
        if not name:
            return f"bag {number}"
        return f"{name} {number}" if part.design in self.numbered else name


def shared_names(bags: Sequence[tuple[str, int]]) -> dict[str, str]:
    """Return what bags are called of which a marker's parts may be for others, too.

    `bags`: of a marker of an order, where "rucksack, moss / rucksack, rust" are laid as if
    all were the first: what the names begin with alike is said.
    """
    called = {}
    for said, _ in bags:
        first, *others = said.split(" / ")
        if others:
            words = [name.split() for name in (first, *others)]
            alike = takewhile(lambda one: len(set(one)) == 1, zip(*words, strict=False))
            called[first] = " ".join(word for word, *_ in alike).rstrip(",;:")
    return called


def naming(
    parts: Sequence[Part], *, keys: Keys | None = None, shared: Mapping[str, str] | None = None
) -> Naming:
    """Look through a lay's parts; `keys` are those of its job."""
    bags = {(p.design, bag) for p in parts for bag in (p.bag, p.other_bag) if bag}
    designs = [design for design, _ in bags]
    return Naming(
        keys=keys_of(parts, keys),
        shared=shared or {},
        paired=frozenset((p.design, p.piece.name) for p in parts if p.hand is Hand.LEFT),
        numbered=frozenset(design for design in designs if designs.count(design) > 1),
        bags=len(bags) > 1,
    )


def _halves(name: str) -> tuple[str, str] | None:
    """Return a name broken between two words into lines of about one length."""
    words = name.split()
    if len(words) < 2:
        return None
    breaks = [(" ".join(words[:i]), " ".join(words[i:])) for i in range(1, len(words))]
    return min(breaks, key=lambda two: abs(len(two[0]) - len(two[1])))
