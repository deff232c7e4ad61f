"""How much a change promises before it is laid: by area, by its longest part, by the chain."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from nesting.advice.change import Change, Kind
from nesting.errors import JobError
from nesting.marker.lay import Lay
from nesting.marker.measure import piece_area
from nesting.material.material import Material, Width
from nesting.planning.lay.lays import lays
from nesting.planning.lay.reach import least_length
from nesting.planning.running.laying import likeness

__all__ = ["Before", "Promise", "promise"]

_DENSE = 0.8
"""What parts fill of the goods, where a part alone made the marker long: markers of our samples
fill 0.71 to 0.9."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Before:
    """The job as it is: its lays, the width they lie on, the least that they take (mm²).

    `gains`: what a mm less of a piece gives, by its name. `worth`: what a mm² of the goods costs.
    """

    lays: tuple[Lay, ...]
    width: Width | None
    taken: float
    gains: Mapping[str, tuple[float, float]]
    worth: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Promise:
    """How a change stands among others: the lower `rank` the more it promises.

    `why`: why it is not laid at all, if it isn't.
    """

    rank: tuple[float, ...] = ()
    why: str = ""


def promise(change: Change, before: Before) -> Promise:
    """Reckon what a change may save, and whether it can."""
    name, material = change.material, change.job.material(change.material)
    assert material is not None
    width = before.width
    if change.kind is Kind.WIDTH or width is None:
        width = material.widths[0] if material.widths else None
    try:
        found = lays(change.job, only=[name], widths={} if width is None else {name: width})
    except JobError as error:
        return Promise(why=f"can't be laid: {error.what}")
    if change.kind is Kind.LEFTOVER:
        found = tuple(_without_one(lay, change.pieces) for lay in found)
    elif width == before.width and [*map(likeness, found)] == [*map(likeness, before.lays)]:
        return Promise(why="changes nothing: its parts would be laid as they are")
    old = before.taken * change.share
    filled = _area(before.lays) / before.taken if before.taken else _DENSE
    least = _taken(found, material, width, dense=1.0)
    likely = _taken(found, material, width, dense=max(filled, _DENSE) if width else filled)
    if least >= old and not material.remnants:  # what lies on left-overs already is not known here
        return Promise(why="can't save anything: its parts need as much in any case")
    gain = sum(sum(before.gains.get(piece, ())) for piece in change.pieces)
    hope = (old - likely) * before.worth
    return Promise(rank=(change.asks, -round(hope, 6), -round(gain, 6), [*Kind].index(change.kind)))


def _without_one(lay: Lay, pieces: Sequence[str]) -> Lay:
    """Return a lay without one part of a piece."""
    one = next((i for i, part in enumerate(lay.parts) if part.piece.name in pieces), None)
    return replace(lay, parts=tuple(part for i, part in enumerate(lay.parts) if i != one))


def _area(of: Sequence[Lay]) -> float:
    return math.fsum(piece_area(part.piece) for lay in of for part in lay.parts)


def _taken(found: Sequence[Lay], material: Material, width: Width | None, *, dense: float) -> float:
    """Return what lays take (mm²) if parts fill so much, and no less than one alone needs."""
    if width is None:
        return _area(found) / dense
    length = 0.0
    for lay in found:
        assert lay.stock.open_ended
        wide = lay.stock.width
        kinds = {id(part.piece): part for part in lay.parts}.values()
        reach = max((least_length(p.piece, p.turns, width=wide) for p in kinds), default=0.0)
        length += max(reach, _area([lay]) / (dense * wide)) + 2.0 * material.ends
    return length * width.booked
