"""Drawings for a print on several sheets: each name is whole on one of them."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

from nesting.amounts import METRIC, Amounts
from nesting.writing.neutral.drawing import Drawing
from nesting.writing.neutral.lettering import Lettering
from nesting.writing.paper.papers import Paper
from nesting.writing.paper.tiles import tiled

__all__ = ["lettered"]

_TRIES = 3
"""A name that is written beside its part may make a drawing larger, and then move the joins."""


def lettered(
    make: Callable[[Sequence[Lettering]], Sequence[Drawing]],
    *,
    count: int,
    paper: Paper,
    overlap: float,
    lettering: Lettering | None = None,
    amounts: Amounts = METRIC,
) -> tuple[Drawing, ...]:
    """Return drawings whose names lie across no join of their sheets.

    Parameters
    ----------
    make
        Draws all of them, as they are lettered.
    count
        How many drawings it makes.
    paper, overlap, amounts
        As for `tiled`.
    lettering
        How large to write.

    Raises
    ------
    WriteError
        The overlap can't be, or there is nothing to print.

    """
    wanted = [lettering or Lettering()] * count
    drawings = tuple(make(wanted))
    for _ in range(_TRIES):
        tilings = [tiled(one, paper, overlap=overlap, amounts=amounts) for one in drawings]
        clear = [
            replace(one, joins_x=tiling.joins_x, joins_y=tiling.joins_y)
            for one, tiling in zip(wanted, tilings, strict=True)
        ]
        if clear == wanted:
            break
        wanted, drawings = clear, tuple(make(clear))
    return drawings
