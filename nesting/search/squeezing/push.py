"""A marker pushed together: as short as can be with neighbours as they are."""

from __future__ import annotations

from dataclasses import dataclass, replace

from nesting.errors import Severity
from nesting.marker.check import check
from nesting.marker.figures import figures
from nesting.marker.lay import Lay, Part, Turns
from nesting.marker.marker import Marker
from nesting.search.prepared.held_first import held_first
from nesting.search.prepared.state import Layout
from nesting.search.prepared.world import World
from nesting.search.problem import prepare
from nesting.search.squeezing import squeeze
from nesting.search.starting.given import given

__all__ = ["Pushed", "push_together", "pushed"]

_STEPS = 40
"""Programs solved at most: each moves every part a little."""


def push_together(marker: Marker) -> Marker:
    """Push the parts of a marker together, as far as they go without passing each other.

    All move at once, none turns, and what is held stays. On sheets it is the last one that
    gets shorter.

    Parameters
    ----------
    marker
        A marker, made by hand or found. Overlaps that a small push mends are mended.

    Returns
    -------
    Marker
        The shortest found; the same marker if it can't be made shorter.

    Examples
    --------
    >>> loose = tuple(replace(p, x=1.2 * p.x) for p in marker.placements)
    >>> pushed = push_together(replace(marker, placements=loose))
    >>> f"{figures(pushed).length:.3f}", check(pushed)
    ('400.000', ())

    """
    found = pushed(marker)
    if found is None:
        return marker
    before, after = _faults(marker), _faults(found.marker)
    shorter = figures(found.marker).last_length < figures(marker).last_length
    return found.marker if after < before or (after == before and shorter) else marker


@dataclass(frozen=True, slots=True, eq=False)
class Pushed:
    """A marker pushed together, and how the search sees it: `index`, an item's part."""

    marker: Marker
    world: World
    layout: Layout
    index: tuple[int, ...]


def pushed(marker: Marker) -> Pushed | None:
    """Push a marker together and return it with its world; None if overlaps are in the way."""
    order = held_first(_stiff(marker))
    inner = order.inward(replace(marker, lay=order.whole))
    problem, _ = prepare(order.lay)
    start = given(replace(problem, coarse=problem.fine), inner, gently=True)
    if start is None or start.left:
        return None
    world = start.world
    world.load(start.layout)
    world.set_length(world.used_length(start.layout))
    layout = squeeze.compact(world, steps=_STEPS, tight=True)
    numbers = list(dict.fromkeys(board.number for board in world.sheets))
    placements = tuple(
        replace(p, part=problem.index[p.part], sheet=numbers.index(world.sheets[p.sheet].number))
        for p in world.placements(layout)
    )
    done = replace(order.outward(replace(inner, placements=placements)), lay=marker.lay)
    return Pushed(done, world, layout, problem.index)


def _faults(marker: Marker) -> int:
    return sum(finding.severity is Severity.FAULT for finding in check(marker))


def _stiff(marker: Marker) -> Lay:
    """Return a marker's lay in which no part turns, nor any region turns it."""
    lay, parts = marker.lay, list(marker.lay.parts)
    for p in marker.placements:
        part: Part = parts[p.part]
        parts[p.part] = replace(part, turns=Turns(angles=(p.angle,)), flip=part.flip or p.flipped)
    stock = lay.stock
    if not stock.open_ended:
        sheets = tuple(
            replace(sheet, regions=tuple(replace(r, turns=None) for r in sheet.regions))
            for sheet in stock.sheets
        )
        stock = replace(stock, sheets=sheets)
    return replace(lay, parts=tuple(parts), stock=stock)
