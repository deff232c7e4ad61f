"""What lies in what: contours become outlines, their cut-outs and their sewing lines."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from shapely import LinearRing, LineString, STRtree
from shapely import Point as ShapelyPoint

from nesting.errors import Finding, PatternError
from nesting.pattern.measure import clockwise
from nesting.pattern.path import Path, Segment
from nesting.reading.items import Group, Item, Role
from nesting.reading.pieces.contours import Ring
from nesting.reading.pieces.told import count, fault, note
from nesting.reading.unit.speech import Speech
from nesting.reading.words import places
from nesting.tolerance import TOLERANCE

__all__ = ["Outline", "nested"]

WIDEST_ALLOWANCE = 40.0
"""Contours up to so far (mm) inside an outline can be its sewing line; wider than hems of
bags are: common practice, no source."""

_SEWN = 0.3
"""A smaller share of the outline's area is a cut-out: an eyelet's hole is no sewing line."""

_SAMPLES = 200


@dataclass(slots=True, kw_only=True)
class Outline:
    """A cutting line, its cut-outs, and everything that was drawn for it (mm)."""

    name: str
    cut: Path
    holes: list[Path] = field(default_factory=list)
    items: list[Item] = field(default_factory=list)
    source: Item
    alone: bool = True
    """Whether its group has no other outline."""

    def __str__(self) -> str:
        return self.name


def nested(
    group: Group,
    rings: list[Ring],
    own_holes: list[Ring],
    findings: list[Finding],
    say: Speech,
) -> list[Outline]:
    """Sort contours into outlines and cut-outs by what lies in what."""
    _placed(rings)
    sewn = _sewn(rings, say) if all(i.role is not Role.SEW for i in group.items) else []
    if sewn:
        rings = [ring for ring in rings if all(ring is not line for _, line, _ in sewn)]
        _placed(rings)
        if again := next((line for _, line, _ in _sewn(rings, say)), None):
            raise _doubtful(
                again, "one of several contours that run parallel inside an outline", say
            )
    drawn = _drawn(rings, group)
    if drawn:
        rings = [ring for ring in rings if all(ring is not line for _, line in drawn)]
        _placed(rings)
    tops = [i for i, ring in enumerate(rings) if ring.depth % 2 == 0]
    made = {
        i: Outline(name=group.name, cut=rings[i].path, source=rings[i].item, alone=len(tops) == 1)
        for i in tops
    }
    guessed = 0
    for ring in rings:
        if ring.depth % 2 and ring.parent is not None:
            if ring.parent not in made:  # it lies in a contour that sticks out of another
                raise _doubtful(ring, "inside a contour that overlaps another one", say)
            made[ring.parent].holes.append(clockwise(ring.path))
            guessed += 1
    for outer, line, rim in sewn:
        around = next(made[i] for i in tops if rings[i] is outer)
        around.items.append(replace(line.item, role=Role.SEW, path=line.path))
        low = outer.polygon.exterior.distance(line.polygon.exterior)
        even = rim - low <= max(0.5, 0.05 * rim)
        far = say.length(rim) if even else f"{say.length(low)} to {say.length(rim)}"
        text = (
            f"a contour that runs {far} inside the outline is taken as its sewing "
            'line; if it is to be cut out, draw it on a layer called "hole"'
        )
        findings.append(note("sew", text, group.name, line.path.start, rim))
    for outer, line in drawn:
        around = next(made[i] for i in tops if rings[i] is outer)
        around.items.append(replace(line.item, role=Role.LINE, path=line.path))
    if drawn:
        said = (
            count(len(drawn), "contour") + " inside an outline, dashed or with the word placement"
        )
        findings.append(note("placed", f"{said}: taken as a line to draw, not cut out", group.name))
    if guessed:
        said = count(guessed, "contour") + " inside an outline taken as a cut-out"
        findings.append(note("cut-out", said, group.name))
    if group.loose and _looks_like_a_frame(rings, tops):
        text = (
            "the rectangle around everything is taken as a piece with cut-outs; "
            'if it is only a frame, call it "ignore"'
        )
        findings.append(note("frame", text, group.name, rings[tops[0]].path.start))
    for hole in own_holes:
        within = [
            i for i in tops if rings[i].polygon.buffer(TOLERANCE.close).contains(hole.polygon)
        ]
        if not within:
            findings.append(
                fault("cut-out", "a cut-out lies outside the outline; left out", group.name)
            )
            continue
        smallest = min(within, key=lambda i: rings[i].polygon.area)
        made[smallest].holes.append(clockwise(hole.path))
    return list(made.values())


def _placed(rings: Sequence[Ring]) -> None:
    """Set what contour lies directly around each, and how many lie around it."""
    tree = STRtree([ring.polygon for ring in rings])
    for i, ring in enumerate(rings):
        inside = ring.polygon.representative_point()
        around = [
            j
            for j in map(int, tree.query(inside, predicate="within"))
            if j != i and rings[j].polygon.area > ring.polygon.area
        ]
        ring.depth = len(around)
        ring.parent = min(around, key=lambda j: rings[j].polygon.area, default=None)


def _sewn(rings: Sequence[Ring], say: Speech) -> list[tuple[Ring, Ring, float]]:
    """Return outlines, the sewing lines drawn inside them, and how far inside (mm).

    Two parallel contours look the same whether the inner one is sewn or cut. A sewing line
    taken for a cut-out leaves a hoop and loses the material; the other way round the opening
    is still to be cut. So the sewing line wins where it could be one.

    Raises
    ------
    PatternError
        If it is near the outline all round but not parallel, or what it is parallel to is a
        cut-out, or it is said to be cut as well: it could be either.

    """
    found = []
    for ring in rings:
        if ring.parent is None:
            continue
        outer = rings[ring.parent]
        if ring.polygon.area < _SEWN * outer.polygon.area:
            continue
        edge, line = outer.polygon.exterior, ring.polygon.exterior
        off = [
            edge.distance(line.interpolate(i / _SAMPLES, normalized=True)) for i in range(_SAMPLES)
        ]
        low, high = min(off), max(off)
        if high > WIDEST_ALLOWANCE:
            continue
        if ring.item.role is not Role.ANY:
            raise _doubtful(ring, f"{say.length(low)} inside another, and both are to be cut", say)
        if high - low > max(0.5, 0.05 * high):
            if _set_off(ring, outer):
                if _side_by_side(ring.path, edge, high):
                    found.append((outer, ring, high))
                continue
            raise _doubtful(ring, f"{say.length(low)} to {say.length(high)} inside another", say)
        if ring.depth % 2 == 0:
            raise _doubtful(ring, f"{say.length(high)} inside a cut-out", say)
        found.append((outer, ring, high))
    return found


def _set_off(ring: Ring, outer: Ring) -> bool:
    """Tell whether a contour is dashed and what lies around it is not: nobody cuts it out."""
    return ring.item.role is Role.ANY and bool(ring.item.dash) and not outer.item.dash


def _drawn(rings: Sequence[Ring], group: Group) -> list[tuple[Ring, Ring]]:
    """Return the outlines and the contours in them that say where something is sewn on."""
    words = [
        ShapelyPoint(item.at)
        for item in group.items
        if item.role is Role.TEXT and item.at and places(item.text)
    ]
    found = []
    for ring in rings:
        outer = None if ring.parent is None else rings[ring.parent]
        if outer is None or outer.depth % 2 or ring.item.role is not Role.ANY:
            continue
        if _set_off(ring, outer) or any(ring.polygon.contains(word) for word in words):
            found.append((outer, ring))
    return found


def _side_by_side(line: Path, edge: LinearRing, far: float) -> bool:
    """Tell whether the parts of a line are parallel to the edge, each at a distance of its own.

    So a seam line runs with a hem at one side, but a window off the middle does, too: only of what
    is no cut-out is this asked. Distances are measured square to the line, for near
    a corner the next side may be nearer; parts shorter than they are far off tell nothing.
    """
    told = whole = 0.0
    for segment in clockwise(line).segments:
        chord = math.dist(segment.start, segment.end)
        whole += chord
        if chord <= far:
            continue
        told += chord
        off = [_outwards(segment, share, edge, 2.0 * far) for share in (0.1, 0.3, 0.5, 0.7, 0.9)]
        if math.inf in off or max(off) - min(off) > max(0.5, 0.05 * max(off)):
            return False
    return told > 0.6 * whole


def _outwards(segment: Segment, share: float, edge: LinearRing, reach: float) -> float:
    """Return how far outwards of a place on a line, which runs clockwise, the edge is."""
    (x, y), (x0, y0), (x1, y1) = (segment.at(share + step) for step in (0.0, -0.01, 0.01))
    long = math.dist((x0, y0), (x1, y1)) or math.inf
    end = (x - (y1 - y0) * reach / long, y + (x1 - x0) * reach / long)
    met = LineString([(x, y), end]).intersection(edge)
    return math.inf if met.is_empty else float(met.distance(ShapelyPoint(x, y)))


def _doubtful(ring: Ring, where: str, say: Speech) -> PatternError:
    """Return the refusal of a contour that could be sewn or cut."""
    return PatternError(
        f"a contour at {say.place(ring.path.start)} is {where}: is it a sewing line or a cut-out?",
        line=ring.item.line,
        hint='draw it on a layer called "sew" or "hole" (14 or 11 where layers are numbers), '
        "or say the role of its layer",
    )


def _looks_like_a_frame(rings: Sequence[Ring], tops: Sequence[int]) -> bool:
    """Tell whether one upright rectangle holds several contours of some size."""
    if len(tops) != 1 or len(rings) < 3:
        return False
    top = rings[tops[0]].polygon
    upright = math.isclose(top.area, top.envelope.area, rel_tol=1e-9)
    inside = [ring for ring in rings if ring.depth == 1 and ring.polygon.area > 0.01 * top.area]
    return upright and len(inside) >= 2
