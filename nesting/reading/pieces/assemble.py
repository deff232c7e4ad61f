"""Outlines, and what lies in each: loose items become pieces."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from shapely import LinearRing, LineString, Polygon, STRtree
from shapely import Point as ShapelyPoint

from nesting.errors import Finding, PatternError, Severity
from nesting.pattern.measure import clockwise
from nesting.pattern.outline import clean_outline
from nesting.pattern.path import Line, Path, Point
from nesting.reading.items import MOST_LOOSE, Group, Item, Role, too_many_loose
from nesting.reading.pieces.chain import Chains, chain
from nesting.reading.unit.speech import Speech
from nesting.tolerance import TOLERANCE

__all__ = ["Outline", "outlines"]

PLAIN = Speech()
SPECK = 1.0
"""A closed contour that holds less than this (mm²) is dirt, not a piece."""

MOST_CONTOURS = 10_000
"""No group may have more contours."""

WIDEST_ALLOWANCE = 40.0
"""Contours up to so far (mm) inside an outline can be its sewing line; wider than hems of
bags are: common practice, no source."""

_SEWN = 0.3
"""A smaller share of the outline's area is a cut-out: an eyelet's hole is no sewing line."""
_SAMPLES = 200
_APART = (
    'draw outlines on a layer called "cut" and other lines on one called "line", '
    "or say the roles of their layers"
)
_NEAR = 5.0
"""Times the gap that is closed: a line whose ends are so near to an outline may belong to it."""
_FEW = 8
"""At most so many contours at one point are looked at."""
_CHORD = TOLERANCE.search_chord


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
    rings = _single(_rings(group, Role.CUT, close, findings, loose, say), group.name, findings)
    own_holes = _single(_rings(group, Role.HOLE, close, findings, loose, say), group.name, findings)
    found = _nested(group, rings, own_holes, findings, say)
    others = [i for i in group.items if i.role not in (Role.CUT, Role.HOLE, Role.ANY)]
    others += _open_ones(group.name, loose, rings, findings, close=close, say=say)
    if found:
        _shared_out(others, found, findings)
    else:
        findings += _nearly(group.name, loose, say)
    return found, findings


@dataclass(slots=True, kw_only=True)
class _Ring:
    path: Path
    polygon: Polygon
    item: Item
    parent: int | None = None
    depth: int = 0


def _rings(
    group: Group,
    role: Role,
    close: float,
    findings: list[Finding],
    loose: list[Item],
    say: Speech,
) -> list[_Ring]:
    """Return the closed contours of a role, fit for use; tell of the others.

    What stays open is added to `loose`.
    """
    wanted = (role, Role.ANY) if role is Role.CUT else (role,)
    by_layer: dict[tuple[str, Role], list[Item]] = defaultdict(list)
    for item in group.items:
        if item.role in wanted and item.path:
            by_layer[item.layer, item.role].append(item)
    folds = [item.path for item in group.items if item.role is Role.FOLD and item.path]
    rings: list[_Ring] = []
    for items in by_layer.values():
        if sum(1 for i in items if i.path and not i.path.closed) > MOST_LOOSE:
            raise too_many_loose()
        chains = chain((i.path for i in items if i.path), close=close, branching=True)
        source = _Sources(items)
        _refuse_branches(chains, source, say)
        _tell(group.name, chains, findings, say)
        halves = [_shut(path, folds, close) for path in chains.open]
        closed = [path for path in halves if path.closed]
        loose += [replace(source.of(path), path=path) for path in halves if not path.closed]
        if len(rings) + len(chains.rings) > MOST_CONTOURS:
            raise PatternError(
                f"more than {MOST_CONTOURS:,} contours lie together", hint="no piece has so many"
            )
        for path in [*chains.rings, *closed]:
            ring = _ring(path, source.of(path), group.name, findings, say)
            rings += [ring] if ring else []
    return rings


def _nearly(name: str, loose: Sequence[Item], say: Speech) -> list[Finding]:
    """Tell of the longest line that is an outline but for a gap, where there is none."""
    paths = [(_extent(i.path), i.path) for i in loose if i.path and i.role is Role.ANY]
    size, path = max(paths, key=lambda one: one[0], default=(0.0, None))
    gap = math.dist(path.start, path.end) if path else 0.0
    if path is None or gap > 0.5 * size:
        return []
    text = f"an outline is open by {say.length(gap)}; left out"
    return [_fault("open", text, name, path.start, gap)]


def _shut(path: Path, folds: Sequence[Path], close: float) -> Path:
    """Close the outline of a half piece along its mirror line, if that is what is missing."""
    for fold in folds:
        for a, b in ((fold.start, fold.end), (fold.end, fold.start)):
            if math.dist(a, path.start) <= close and math.dist(b, path.end) <= close:
                return Path((*path.segments, Line(path.end, path.start)))
    return path


def _ring(path: Path, item: Item, name: str, findings: list[Finding], say: Speech) -> _Ring | None:
    try:
        tidy = clean_outline(path)
    except PatternError as trouble:
        if _extent(path) >= SPECK:
            text = f"{trouble.what}; left out"
            findings.append(_fault("outline", text, name, path.start))
        return None
    polygon = Polygon(tidy.points(_CHORD))
    if polygon.area < SPECK:
        text = f"a contour of {say.area(polygon.area)} is left out"
        findings.append(_note("speck", text, name, path.start))
        return None
    return _Ring(path=tidy, polygon=polygon, item=item)


def _extent(path: Path) -> float:
    points = path.points(_CHORD)
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    return max(max(xs) - min(xs), max(ys) - min(ys))


class _Sources:
    """Tells which item a contour was made from: the one it is, or the one it begins with."""

    def __init__(self, items: Sequence[Item]) -> None:
        self._first = items[0]
        self._same = {id(item.path): item for item in items}
        self._ends: dict[tuple[float, float], Item] = {}
        for item in items:
            if item.path:
                for point in (item.path.start, item.path.end):
                    self._ends.setdefault(_cell(point), item)

    def of(self, path: Path) -> Item:
        """Return the item."""
        at = _cell(path.start)
        return self._same.get(id(path)) or self._ends.get(at, self._first)


def _cell(point: Point) -> tuple[float, float]:
    return (round(point[0], 3), round(point[1], 3))


def _single(rings: list[_Ring], name: str, findings: list[Finding]) -> list[_Ring]:
    """Drop contours that are drawn twice, once perhaps with curves and once with chords."""
    tree = STRtree([ring.polygon for ring in rings])
    gone: set[int] = set()
    for i, ring in enumerate(rings):
        if i in gone:
            continue
        for j in map(int, tree.query(ring.polygon)):
            other = rings[j].polygon
            if j <= i or j in gone or not math.isclose(other.area, ring.polygon.area, rel_tol=0.02):
                continue
            sides = zip(other.bounds, ring.polygon.bounds, strict=True)
            if any(abs(a - b) > 0.1 for a, b in sides):
                continue
            apart = other.symmetric_difference(ring.polygon).area
            if apart <= TOLERANCE.close * ring.polygon.length:
                gone.add(j)
    if gone:
        findings.append(_note("doubled", _count(len(gone), "contour") + " drawn twice", name))
    return [ring for i, ring in enumerate(rings) if i not in gone]


def _nested(
    group: Group,
    rings: list[_Ring],
    own_holes: list[_Ring],
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
        findings.append(_note("sew", text, group.name, line.path.start, rim))
    if guessed:
        said = _count(guessed, "contour") + " inside an outline taken as a cut-out"
        findings.append(_note("cut-out", said, group.name))
    if group.loose and _looks_like_a_frame(rings, tops):
        text = (
            "the rectangle around everything is taken as a piece with cut-outs; "
            'if it is only a frame, call it "ignore"'
        )
        findings.append(_note("frame", text, group.name, rings[tops[0]].path.start))
    for hole in own_holes:
        within = [
            i for i in tops if rings[i].polygon.buffer(TOLERANCE.close).contains(hole.polygon)
        ]
        if not within:
            findings.append(
                _fault("cut-out", "a cut-out lies outside the outline; left out", group.name)
            )
            continue
        smallest = min(within, key=lambda i: rings[i].polygon.area)
        made[smallest].holes.append(clockwise(hole.path))
    return list(made.values())


def _placed(rings: Sequence[_Ring]) -> None:
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


def _sewn(rings: Sequence[_Ring], say: Speech) -> list[tuple[_Ring, _Ring, float]]:
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


def _doubtful(ring: _Ring, where: str, say: Speech) -> PatternError:
    """Return the refusal of a contour that could be sewn or cut."""
    return PatternError(
        f"a contour at {say.place(ring.path.start)} is {where}: is it a sewing line or a cut-out?",
        line=ring.item.line,
        hint='draw it on a layer called "sew" or "hole" (14 or 11 where layers are numbers), '
        "or say the role of its layer",
    )


def _looks_like_a_frame(rings: Sequence[_Ring], tops: Sequence[int]) -> bool:
    """Tell whether one upright rectangle holds several contours of some size."""
    if len(tops) != 1 or len(rings) < 3:
        return False
    top = rings[tops[0]].polygon
    upright = math.isclose(top.area, top.envelope.area, rel_tol=1e-9)
    inside = [ring for ring in rings if ring.depth == 1 and ring.polygon.area > 0.01 * top.area]
    return upright and len(inside) >= 2


def _open_ones(
    name: str,
    loose: Sequence[Item],
    rings: Sequence[_Ring],
    findings: list[Finding],
    *,
    close: float,
    say: Speech,
) -> list[Item]:
    """Return open contours as lines to draw, where the file did not say what they are."""
    out: list[Item] = []
    kept = 0
    areas = [ring.polygon for ring in rings]
    edges = [ring.polygon.exterior for ring in rings]
    tree = STRtree(edges)
    near: dict[str, Any] = {"predicate": "dwithin", "distance": TOLERANCE.close}
    for item in loose:
        path = item.path
        assert path is not None
        if _lies_on(path, [edges[int(j)] for j in tree.query(ShapelyPoint(path.start), **near)]):
            findings.append(_note("doubled", "a line of an outline drawn twice", name, path.start))
        elif _leans(path, areas, reach=_NEAR * close):
            raise PatternError(
                f"a line at {say.place(path.start)} leads from an outline, outside of it, back to "
                "it: is it a part of that piece, or of one that shares an edge with it?",
                line=item.line,
                hint="draw the outline of each piece whole",
            )
        elif item.role is Role.CUT:
            gap = math.dist(path.start, path.end)
            text = f"an outline is open by {say.length(gap)}; left out"
            findings.append(_fault("open", text, name, path.start, gap))
        else:
            out.append(replace(item, role=Role.LINE))
            kept += 1
    if kept:
        text = _count(kept, "open contour") + " taken as lines to draw"
        findings.append(_note("open", text, name))
    return out


def _lies_on(path: Path, edges: Sequence[LinearRing]) -> bool:
    """Tell whether a path runs along one of some contours."""
    points = path.points(_CHORD)
    if len(points) < 2:
        return True
    line = LineString(points)
    return any(edge.buffer(2 * TOLERANCE.close).covers(line) for edge in edges[:_FEW])


def _leans(path: Path, areas: Sequence[Polygon], *, reach: float) -> bool:
    """Tell whether a path leads from one contour, outside of it, back to it, around some area."""
    points = path.points(_CHORD)
    if len(points) < 3:
        return False
    line = LineString(points)
    held = LinearRing(points).convex_hull.area
    ends = [ShapelyPoint(end) for end in (path.start, path.end)]
    for area in areas:
        edge = area.exterior
        if held > SPECK and all(edge.distance(end) <= reach for end in ends):
            outside = line.difference(area.buffer(TOLERANCE.close))
            return bool(outside.length > 0.5 * line.length)
    return False


def _shared_out(items: Iterable[Item], found: Sequence[Outline], findings: list[Finding]) -> None:
    """Give each item to the outline around it, the smallest; else to the nearest.

    A text beside all outlines is a title, and no piece's.
    """
    if len(found) == 1:
        found[0].items.extend(items)
        return
    polygons = [Polygon(outline.cut.points(_CHORD)) for outline in found]
    tree = STRtree(polygons)
    for item in items:
        at = place_of(item)
        if at is None:
            continue
        point = ShapelyPoint(at)
        around = [int(j) for j in tree.query(point, predicate="intersects")]
        if not around and item.role is Role.TEXT:
            text = f"a text beside the pieces is left out: {item.text!r}"
            findings.append(_note("text", text, "", item.at))
            continue
        best = min(around, key=lambda j: polygons[j].area) if around else int(tree.nearest(point))
        found[best].items.append(item)


def place_of(item: Item) -> Point | None:
    """Return a point that tells where an item lies."""
    if item.at is not None:
        return item.at
    if item.path is None:
        return None
    middle = item.path.segments[len(item.path.segments) // 2]
    return middle.at(0.5)


def _tell(name: str, chains: Chains, findings: list[Finding], say: Speech) -> None:
    if chains.doubled:
        text = _count(chains.doubled, "line") + " drawn twice"
        findings.append(_note("doubled", text, name))
    for gap in chains.gaps:
        how = "where its sides meet" if gap.corner else "by a straight line"
        text = f"an outline was open by {say.length(gap.width)} and is closed {how}"
        findings.append(_note("gap", text, name, gap.at, gap.width))
    if chains.shared:
        at = chains.shared[0].start
        text = (
            f"{_count(len(chains.shared), 'line')} drawn once between two outlines, as at "
            f"{say.place(at)}, taken for both"
        )
        findings.append(_note("shared", text, name, at))


def _refuse_branches(chains: Chains, source: _Sources, say: Speech) -> None:
    """Refuse lines that branch if nobody can tell which areas are pieces."""
    if chains.tangled is not None:
        raise PatternError(
            f"lines branch and cross at {say.place(chains.tangled)}: which of them are outlines?",
            hint=_APART,
        )
    for path in chains.shared:
        item = source.of(path)
        if item.role is Role.ANY:
            raise PatternError(
                f"a line at {say.place(path.start)} divides an outline in two: is it an edge that "
                "two pieces share, or a line to draw on one?",
                line=item.line,
                hint=_APART,
            )


def _count(n: int, what: str) -> str:
    return f"{n} {what}" + ("s" if n != 1 else "")


def _note(
    kind: str, text: str, name: str, at: Point | None = None, amount: float | None = None
) -> Finding:
    said = f"{name}: {text}" if name else text
    parts = (name,) if name else ()
    return Finding(kind=kind, text=said, severity=Severity.NOTE, parts=parts, at=at, amount=amount)


def _fault(
    kind: str, text: str, name: str, at: Point | None = None, amount: float | None = None
) -> Finding:
    return replace(_note(kind, text, name, at, amount), severity=Severity.FAULT)
