"""What lies in what: contours become outlines, their cut-outs and their sewing lines."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from shapely import STRtree

from nesting.errors import Finding, PatternError
from nesting.pattern.measure import clockwise
from nesting.pattern.path import Path
from nesting.reading.items import Group, Item, Role
from nesting.reading.pieces.contours import Ring
from nesting.reading.pieces.told import count, fault, note
from nesting.reading.unit.speech import Speech
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
        text = (
            f"a contour that runs {say.length(rim)} inside the outline is taken as its sewing "
            'line; if it is to be cut out, draw it on a layer called "hole"'
        )
        findings.append(note("sew", text, group.name, line.path.start, rim))
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
            raise _doubtful(ring, f"{say.length(low)} to {say.length(high)} inside another", say)
        if ring.depth % 2 == 0:
            raise _doubtful(ring, f"{say.length(high)} inside a cut-out", say)
        found.append((outer, ring, high))
    return found


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
