"""The lines of the cutting list that are cut from a material, with what changes ask of them."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from nesting.job.job import Bag, Cut, Job
from nesting.material.material import Material
from nesting.pattern.measure import bounds
from nesting.pattern.piece import Piece
from nesting.planning.lay.variants import ready

__all__ = ["Line", "lines_of"]

_SQUARE = 0.5
"""Sides that differ by no more (mm) are alike."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """A line of the cutting list, the piece as drawn, and its `size` along the grain and across.

    `count`: how many are cut in all. `bound`: it is centred, matched, or lies on a fold.
    `slanted`: its grain runs along neither axis of its drawing; else `along_x`: along which.
    """

    bag: Bag
    cut: Cut
    piece: Piece
    size: tuple[float, float]
    count: int
    bound: bool
    slanted: bool
    along_x: bool

    @property
    def square(self) -> bool:
        """Whether a turn by 90° makes no difference to its box."""
        return abs(self.size[0] - self.size[1]) < _SQUARE


def lines_of(job: Job, material: Material) -> tuple[Line, ...]:
    """Return the lines of all bags that are cut from a material."""
    return tuple(_lines(job, material))


def _lines(job: Job, material: Material) -> Iterator[Line]:
    for bag in job.bags:
        pieces = {piece.name: piece for piece in bag.pieces}
        matched = {cut.matches[1] for cut in bag.cuts if cut.matches is not None}
        for cut in bag.cuts:
            if cut.material != material.name:
                continue
            piece = pieces[cut.piece]
            shape = ready(piece, cut, material, hand=cut.hands[0])
            x0, y0, x1, y1 = bounds(shape.cut)
            grain = piece.grain + cut.grain
            yield Line(
                bag=bag,
                cut=cut,
                piece=piece,
                size=(x1 - x0, y1 - y0),
                count=cut.copies * len(cut.hands) * bag.count,
                bound=cut.centred or cut.matches is not None or cut.piece in matched,
                slanted=abs(math.remainder(grain, 90.0)) > 1e-6,
                along_x=abs(math.remainder(grain, 180.0)) < 45.0,
            )
