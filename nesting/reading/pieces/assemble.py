"""Outlines, and what lies in each: loose items become pieces."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from shapely import Point as ShapelyPoint
from shapely import Polygon, STRtree

from nesting.errors import Finding
from nesting.pattern.path import Point
from nesting.reading.items import Group, Item, Role
from nesting.reading.pieces.contours import CHORD, contours, single
from nesting.reading.pieces.lettered import places_of_text
from nesting.reading.pieces.open_lines import nearly, open_ones
from nesting.reading.pieces.told import note
from nesting.reading.pieces.within import Outline, nested
from nesting.reading.unit.speech import Speech

__all__ = ["outlines", "place_of"]

PLAIN = Speech()


def outlines(
    group: Group, *, close: float, say: Speech = PLAIN
) -> tuple[list[Outline], list[Finding]]:
    """Return the outlines of a group of items (mm), in the order in which they are drawn.

    Closed contours are outlines; those inside them cut-outs; those inside these outlines
    again (a piece cut from the waste of another). Everything else goes to the outline
    around it, or to the nearest.
    """
    findings: list[Finding] = []
    loose: list[Item] = []
    rings = single(contours(group, Role.CUT, close, findings, loose, say), group.name, findings)
    own_holes = single(
        contours(group, Role.HOLE, close, findings, loose, say), group.name, findings
    )
    found = nested(group, rings, own_holes, findings, say)
    others = [i for i in group.items if i.role not in (Role.CUT, Role.HOLE, Role.ANY)]
    others += open_ones(group.name, loose, rings, findings, close=close, say=say)
    if found:
        _shared_out(others, found, findings)
    else:
        findings += nearly(group.name, loose, say)
    return found, findings


def _shared_out(items: Iterable[Item], found: Sequence[Outline], findings: list[Finding]) -> None:
    """Give each item to the outline around it, the smallest; else to the nearest.

    A text beside all outlines is a title, and no piece's.
    """
    if len(found) == 1:
        found[0].items.extend(items)
        return
    polygons = [Polygon(outline.cut.points(CHORD)) for outline in found]
    tree = STRtree(polygons)
    for item in items:
        places = places_of_text(item) if item.role is Role.TEXT else [place_of(item)]
        points = [ShapelyPoint(at) for at in places if at is not None]
        if not points:
            continue
        every = ([int(j) for j in tree.query(at, predicate="intersects")] for at in points)
        around = next(filter(None, every), [])
        if not around and item.role is Role.TEXT:
            text = f"a text beside the pieces is left out: {item.text!r}"
            findings.append(note("text", text, "", item.at))
            continue
        best = (
            min(around, key=lambda j: polygons[j].area) if around else int(tree.nearest(points[0]))
        )
        found[best].items.append(item)


def place_of(item: Item) -> Point | None:
    """Return a point that tells where an item lies."""
    if item.at is not None:
        return item.at
    if item.path is None:
        return None
    middle = item.path.segments[len(item.path.segments) // 2]
    return middle.at(0.5)
