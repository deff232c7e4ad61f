"""What is left of the last sheet, in one piece: its parts are laid across as well as along.

A search draws the parts of the last sheet together along it. Where that leaves less than
drawing them together across would, because parts are long and may not turn, they are laid the
other way, and the one is kept that leaves the larger piece beyond a straight cut.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from nesting.marker.check import is_good
from nesting.marker.lay import Lay, Part, Region, Sheet, Sheets, Turns
from nesting.marker.marker import Marker, Placement
from nesting.marker.measure import piece_area
from nesting.marker.rest import taken
from nesting.pattern.measure import area as path_area
from nesting.pattern.path import Affine
from nesting.search.result import Limits, Result, Stopped

__all__ = ["kept_for", "leaving"]

_SHARE = 0.05
"""Share of the time, and of the rounds beside those asked for, for laying across."""

_MOST = 50
"""So many rounds at most."""

_FULL = 0.75
"""A last sheet fuller than this leaves nothing worth the while."""

_GAIN = 0.03
"""The other way has to take so much less, as a share."""


def kept_for(lay: Lay, limits: Limits) -> Limits:
    """Return limits that keep some of the time for laying the last sheet across."""
    if limits.seconds is None or not _may_turn(lay):
        return limits
    return replace(limits, seconds=(1.0 - _SHARE) * limits.seconds)


def leaving(result: Result, run: Callable[[Lay, Limits], Result], limits: Limits) -> Result:
    """Return a result with the last sheet laid across, if that leaves a larger piece of it."""
    marker = result.marker
    ended = result.stopped in (Stopped.INTERRUPTED, Stopped.TARGET) or limits.rounds == 0
    if ended or result.unplaced or not marker.sheets or not _may_turn(marker.lay):
        return result
    last = len(marker.sheets) - 1
    here = [p.part for p in marker.placements if p.sheet == last]
    area = sum(piece_area(marker.lay.parts[i].piece) for i in here)
    before = taken(marker)
    if area > _FULL * path_area(marker.used[last].outline) or area > (1.0 - _GAIN) * before:
        return result
    got = run(_across(marker, here), _limits(limits))
    if got.unplaced:
        return result
    others = [p for p in marker.placements if p.sheet != last]
    moved = [_back(p, here[p.part], last) for p in got.marker.placements]
    both = tuple(sorted((*others, *moved), key=lambda p: p.part))
    other = replace(marker, placements=both)
    if taken(other) > (1.0 - _GAIN) * before or not is_good(other):
        return result
    return replace(result, marker=other)


def _may_turn(lay: Lay) -> bool:
    """Whether no rule says where on its sheet, or how beside others, a part lies."""
    rules = ((p.binding, p.held, p.turn_group, p.mates) for p in lay.parts)
    return not lay.stock.open_ended and all(rule is None for of in rules for rule in of)


def _limits(limits: Limits) -> Limits:
    seconds, rounds = limits.seconds, limits.rounds
    return Limits(
        seconds=None if seconds is None else _SHARE * seconds,
        rounds=_MOST if rounds is None else max(1, min(_MOST, round(_SHARE * rounds))),
    )


def _across(marker: Marker, parts: list[int]) -> Lay:
    """Return the lay of some parts on the last sheet turned by -90°: what was across is along."""
    lay, sheet = marker.lay, marker.used[-1]
    assert isinstance(lay.stock, Sheets)
    turn = Affine.turn(-90.0)

    def turned(region: Region) -> Region:
        outlines = tuple(path.transformed(turn) for path in region.outlines)
        return replace(region, outlines=outlines, turns=region.turns and _turned(region.turns))

    ground = Sheet(
        name=sheet.name,
        outline=sheet.outline.transformed(turn),
        holes=tuple(hole.transformed(turn) for hole in sheet.holes),
        regions=tuple(map(turned, sheet.regions)),
        count=1,
    )
    found: list[Part] = [replace(lay.parts[i], turns=_turned(lay.parts[i].turns)) for i in parts]
    stock = Sheets(sheets=(ground,), margin=lay.stock.margin)
    return replace(lay, parts=tuple(found), stock=stock)


def _turned(turns: Turns) -> Turns:
    return replace(turns, angles=tuple((angle - 90.0) % 360.0 for angle in turns.angles))


def _back(placement: Placement, part: int, sheet: int) -> Placement:
    """Return a placement on the turned sheet as one on the sheet itself."""
    x, y = -placement.y, placement.x
    angle = (placement.angle + 90.0) % 360.0
    return replace(placement, part=part, x=x, y=y, angle=angle, sheet=sheet)
