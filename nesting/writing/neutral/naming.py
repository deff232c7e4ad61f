"""What a part is called on the cloth: its name in full, and a short key."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import takewhile

from nesting.job.job import Job
from nesting.marker.lay import Part
from nesting.pattern.path import Path
from nesting.pattern.piece import Hand
from nesting.planning.lay.variants import variant_words

__all__ = ["Keys", "Naming", "Texts", "job_keys", "keys_of", "naming", "shared_names"]

_LETTERS = "ABCDEFGHJKMNPTUVWXYZ"
"""Letters of keys: without I, O, Q and S, read as 1, 0 and 5, and L and R, the hands."""

Texts = tuple[tuple[str, ...], ...]
"""Ways to say something, each some lines."""


@dataclass(frozen=True, slots=True)
class Keys:
    """Which key means which piece, in which variant: the same on everything made from a job.

    `titles`: of each piece its name, and its bag's where others have that name too.
    `places`: of (bag, piece), and ("", piece) for the first of that name, the place in
    `titles`, from 0: pieces that several bags have in common are one. `variants`: of each.
    """

    titles: tuple[str, ...] = ()
    places: Mapping[tuple[str, str], int] = field(default_factory=dict)
    variants: tuple[tuple[str, ...], ...] = ()

    def place(self, piece: str, design: str = "") -> int:
        """Return a piece's place, which its colour follows, too."""
        found = self.places.get((design, piece))
        return self.places["", piece] if found is None else found

    def key(self, part: Part) -> str:
        """Return a part's key; see `key_of`."""
        return self.key_of(part.piece.name, part.variant, part.design)

    def key_of(self, piece: str, variant: str = "", design: str = "") -> str:
        """Return a piece's key: its place as A, B, … Z, AA and so on.

        Variants of a piece are told apart by a small letter: A, Ab, Ac. Bits of one that
        is put together are of its variant.
        """
        place = self.place(piece, design)
        number, key = place + 1, ""
        while number:
            number, letter = divmod(number - 1, len(_LETTERS))
            key = _LETTERS[letter] + key
        which = self._variant(place, variant)
        return key + (chr(ord("a") + which) if which else "")

    def _variant(self, place: int, variant: str) -> int:
        known = self.variants[place]
        if variant in known:
            return known.index(variant)
        begun = [v for v in known if not v or variant.startswith(f"{v}, ")]
        return known.index(max(begun, key=len)) if begun else 0

    def place_of(self, part: Part) -> int:
        """Return the place of a part's piece."""
        return self.place(part.piece.name, part.design)

    def title(self, part: Part) -> str:
        """Return a part's piece by name, and its bag's if that tells it from another."""
        return self.titles[self.place_of(part)]

    def meaning(self, part: Part) -> str:
        """Return what a part's key means: the piece, and the variant if it has several."""
        place = self.place_of(part)
        variant = self.variants[place][self._variant(place, part.variant)]
        several = len(self.variants[place]) > 1
        return f"{self.titles[place]}, {variant}" if several and variant else self.titles[place]


def job_keys(job: Job) -> Keys:
    """Return the keys of a job's pieces, all bags', in the order in which they are listed."""
    kinds: dict[tuple[str, Path, tuple[Path, ...]], int] = {}
    places: dict[tuple[str, str], int] = {}
    owners: list[str] = []
    variants: list[dict[str, None]] = []
    for bag in job.bags:
        for piece in bag.pieces:
            place = kinds.setdefault((piece.name, piece.cut, piece.holes), len(kinds))
            places[bag.name, piece.name] = place
            places.setdefault(("", piece.name), place)
            if place == len(owners):
                owners.append(bag.name)
                variants.append({})
        for cut in bag.cuts:
            if (bag.name, cut.piece) in places:
                variants[places[bag.name, cut.piece]].setdefault(variant_words(cut))
    names = [name for name, _, _ in kinds]
    return Keys(
        titles=tuple(
            f"{name} of {owner}" if names.count(name) > 1 else name
            for name, owner in zip(names, owners, strict=True)
        ),
        places=places,
        variants=tuple(tuple(said) or ("",) for said in variants),
    )


def keys_of(parts: Iterable[Part], keys: Keys | None = None) -> Keys:
    """Return keys for parts: those given, and of parts they don't know, in their order."""
    known = keys or Keys()
    more = {part.piece.name: None for part in parts if ("", part.piece.name) not in known.places}
    if not more:
        return known
    start = len(known.titles)
    said: dict[str, set[str]] = {name: set() for name in more}
    for part in parts:
        if part.piece.name in said:
            said[part.piece.name].add(part.variant)
    return Keys(
        titles=(*known.titles, *more),
        places={**known.places, **{("", name): start + i for i, name in enumerate(more)}},
        variants=(*known.variants, *(tuple(sorted(variants)) for variants in said.values())),
    )


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
