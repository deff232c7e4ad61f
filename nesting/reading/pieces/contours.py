"""Closed contours of a group, fit for use, each once; what is wrong with the others is told."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace

from shapely import Polygon, STRtree

from nesting.errors import Finding, PatternError
from nesting.pattern.outline import clean_outline
from nesting.pattern.path import Line, Path, Point
from nesting.reading.items import MOST_LOOSE, Group, Item, Role, too_many_loose
from nesting.reading.pieces.chain import Chains, chain
from nesting.reading.pieces.told import count, fault, note
from nesting.reading.unit.speech import Speech
from nesting.tolerance import TOLERANCE

__all__ = ["CHORD", "SPECK", "Ring", "contours", "extent", "single"]

SPECK = 1.0
"""A closed contour that holds less than this (mm²) is dirt, not a piece."""

MOST_CONTOURS = 10_000
"""No group may have more contours."""

_MANY_GAPS = 12
"""More gaps than this are told together: dashes that are joined."""

_APART = (
    'draw outlines on a layer called "cut" and other lines on one called "line", '
    "or say the roles of their layers"
)

CHORD = TOLERANCE.search_chord


@dataclass(slots=True, kw_only=True)
class Ring:
    """A closed contour, the item it was drawn as, and what lies around it: which, how many."""

    path: Path
    polygon: Polygon
    item: Item
    parent: int | None = None
    depth: int = 0


def contours(
    group: Group,
    role: Role,
    close: float,
    findings: list[Finding],
    loose: list[Item],
    say: Speech,
) -> list[Ring]:
    """Return the closed contours of a role, fit for use; tell of the others.

    What stays open is added to `loose`.
    """
    wanted = (role, Role.ANY) if role is Role.CUT else (role,)
    by_layer: dict[tuple[str, Role], list[Item]] = defaultdict(list)
    for item in group.items:
        if item.role in wanted and item.path:
            by_layer[item.layer, item.role].append(item)
    folds = [item.path for item in group.items if item.role is Role.FOLD and item.path]
    rings: list[Ring] = []
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


def _shut(path: Path, folds: Sequence[Path], close: float) -> Path:
    """Close the outline of a half piece along its mirror line, if that is what is missing."""
    for fold in folds:
        for a, b in ((fold.start, fold.end), (fold.end, fold.start)):
            if math.dist(a, path.start) <= close and math.dist(b, path.end) <= close:
                return Path((*path.segments, Line(path.end, path.start)))
    return path


def _ring(path: Path, item: Item, name: str, findings: list[Finding], say: Speech) -> Ring | None:
    try:
        tidy = clean_outline(path)
    except PatternError as trouble:
        if extent(path) >= SPECK:
            text = f"{trouble.what}; left out"
            findings.append(fault("outline", text, name, path.start))
        return None
    polygon = Polygon(tidy.points(CHORD))
    if polygon.area < SPECK:
        text = f"a contour of {say.area(polygon.area)} is left out"
        findings.append(note("speck", text, name, path.start))
        return None
    return Ring(path=tidy, polygon=polygon, item=item)


def extent(path: Path) -> float:
    """Return the longer side of the box around a path (mm)."""
    points = path.points(CHORD)
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


def single(rings: list[Ring], name: str, findings: list[Finding]) -> list[Ring]:
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
        findings.append(note("doubled", count(len(gone), "contour") + " drawn twice", name))
    return [ring for i, ring in enumerate(rings) if i not in gone]


def _tell(name: str, chains: Chains, findings: list[Finding], say: Speech) -> None:
    if chains.doubled:
        text = count(chains.doubled, "line") + " drawn twice"
        findings.append(note("doubled", text, name))
    if len(chains.gaps) > _MANY_GAPS:
        wide = max(gap.width for gap in chains.gaps)
        text = f"{len(chains.gaps)} gaps of up to {say.length(wide)} in outlines are closed"
        findings.append(note("gap", text, name, chains.gaps[0].at, wide))
    for gap in chains.gaps if len(chains.gaps) <= _MANY_GAPS else ():
        how = "where its sides meet" if gap.corner else "by a straight line"
        text = f"an outline was open by {say.length(gap.width)} and is closed {how}"
        findings.append(note("gap", text, name, gap.at, gap.width))
    if chains.shared:
        at = chains.shared[0].start
        text = (
            f"{count(len(chains.shared), 'line')} drawn once between two outlines, as at "
            f"{say.place(at)}, taken for both"
        )
        findings.append(note("shared", text, name, at))


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
