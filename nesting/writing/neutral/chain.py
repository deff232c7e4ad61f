"""What holds a marker's length, as lines from its one end to the other."""

from __future__ import annotations

from collections.abc import Iterator

from nesting.pattern.path import Path, Point
from nesting.pattern.polygon import piece_polygon
from nesting.search.squeezing.chain import Chain
from nesting.writing.neutral.drawing import Operation, Role, Stroke

__all__ = ["chain_strokes"]

_WEAK = 0.05
"""A force below this (mm of length for a mm) is not drawn."""


def chain_strokes(chain: Chain) -> tuple[Stroke, ...]:
    """Return a line through each part of a chain, from where it is pressed to its middle."""
    return tuple(
        Stroke(
            operation=Operation.EDGE,
            path=Path.polyline([start, end], closed=False),
            role=Role.CHAIN,
        )
        for start, end in _lines(chain)
        if start != end
    )


def _lines(chain: Chain) -> Iterator[tuple[Point, Point]]:
    middles: dict[int, Point] = {}
    for place in chain.marker.placements:
        piece = chain.marker.lay.parts[place.part].piece
        x0, y0, x1, y1 = piece_polygon(piece, by=place.affine).bounds
        middles[place.part] = (0.5 * (x0 + x1), 0.5 * (y0 + y1))
    for link in chain.links:
        if link.force < _WEAK:
            continue
        yield link.at, middles[link.part]
        if link.other is not None:
            yield link.at, middles[link.other]
