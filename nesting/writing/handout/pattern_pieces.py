"""A pattern's pieces as they are cut: each shape once, with how often it is cut from what."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from nesting.job.job import Bag, Cut, Job
from nesting.marker.lay import Part
from nesting.pattern.measure import bounds
from nesting.pattern.path import Path
from nesting.pattern.piece import Piece
from nesting.planning.lay.variants import ready, variant_words
from nesting.writing.neutral.keys import Keys, job_keys
from nesting.writing.paper.templates import is_plain, template_part

__all__ = ["CutPiece", "all_parts", "cut_pieces", "is_same"]


@dataclass(frozen=True, slots=True, kw_only=True)
class CutPiece:
    """A shape to cut, its grain along x, and the lines of the cutting list that ask for it.

    `title`: its name, and its variant. `bag`: whose it is.
    """

    key: str
    title: str
    bag: str
    piece: Piece
    cuts: tuple[Cut, ...]

    @property
    def quantity(self) -> tuple[int, int]:
        """How many right and left ones."""
        right = sum(0 if cut.reversed else cut.copies for cut in self.cuts)
        left = sum(cut.copies for cut in self.cuts if cut.pairs or cut.reversed)
        return right, left

    @property
    def size(self) -> tuple[float, float]:
        """Along and across the grain (mm)."""
        x0, y0, x1, y1 = bounds(self.piece.cut)
        return x1 - x0, y1 - y0


def all_parts(job: Job) -> tuple[Part, ...]:
    """Return every piece that is cut as a template that says how, tops shown where known."""
    several = len(job.bags) > 1
    made = (
        template_part(piece, bag, job, several=several, only=None)
        for bag in job.bags
        for piece in bag.pieces
    )
    return tuple(
        replace(part, one_way=part.grain and part.piece.up_known)
        for part in made
        if part is not None
    )


def is_same(one: Part, other: Part) -> bool:
    """Whether two templates are of one piece, in whatever size."""
    return (one.design, one.piece.name) == (other.design, other.piece.name)


def cut_pieces(job: Job, *, plain: bool | None = None) -> tuple[CutPiece, ...]:
    """Return the shapes to cut, in the order of the pieces; `plain`: rectangles only, or none.

    Rectangles asked for alone lie along their own sides, though they are cut on the bias.
    """
    parts = {(part.design or job.bags[0].name, part.piece.name): part for part in all_parts(job)}
    keys = job_keys(job)
    found: list[CutPiece] = []
    for bag in job.bags:
        for piece in bag.pieces:
            part = parts.get((bag.name, piece.name))
            if part is None or (plain is not None and is_plain(part) != plain):
                continue
            found += _shapes(bag, piece, job, keys, straight=plain is True)
    return tuple(found)


def _shapes(bag: Bag, piece: Piece, job: Job, keys: Keys, *, straight: bool) -> Iterator[CutPiece]:
    groups: dict[tuple[str, Path], tuple[Piece, list[Cut]]] = {}
    for cut in bag.cuts:
        if cut.piece != piece.name:
            continue
        goods = job.material(cut.material)
        assert goods is not None
        lying = replace(cut, grain=0.0) if straight and cut.grain % 90.0 else cut
        shape = ready(piece, lying, replace(goods, wrong_side_up=False))
        words = variant_words(replace(cut, reversed=False))
        groups.setdefault((words, shape.cut), (shape, []))[1].append(cut)
    for (words, _), (shape, cuts) in groups.items():
        name = keys.titles[keys.place(piece.name, bag.name)]
        yield CutPiece(
            key=keys.key_of(piece.name, words, bag.name),
            title=f"{name}, {words}" if words else name,
            bag=bag.name,
            piece=shape,
            cuts=tuple(cuts),
        )
