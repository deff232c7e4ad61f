"""The short keys of pieces: one for each, the same on everything made from a job."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from nesting.job.job import Job
from nesting.marker.lay import Part
from nesting.pattern.path import Path
from nesting.planning.lay.variants import variant_words

__all__ = ["Keys", "job_keys", "keys_of"]

_LETTERS = "ABCDEFGHJKMNPTUVWXYZ"
"""Letters of keys: without I, O, Q and S, read as 1, 0 and 5, and L and R, the hands."""


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
