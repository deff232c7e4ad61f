"""What lines of a PDF are for, told by their shape: arrows, brackets, circles, crosses, wedges.

A PDF names nothing, so these rules stand here in the open. Whatever has a role by its layer,
colour or dash keeps it.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from shapely import LinearRing, LineString, Polygon, STRtree
from shapely import Point as ShapelyPoint
from shapely.errors import GEOSException

from nesting.pattern.measure import bounds
from nesting.pattern.path import Bezier, Line, Path, Point
from nesting.reading.items import Item, Role
from nesting.reading.pieces.adopt import rings
from nesting.reading.pieces.grain import grain_line
from nesting.reading.words import Said

__all__ = ["Area", "areas_of", "marked"]

_SHAFT = 20.0
"""Shortest shaft (mm) of a grain line."""
_SMALL = 15.0
"""Longest side (mm) of a mark: circle, cross, wedge or head of an arrow."""
_BESIDE = 12.0
"""How far (mm) from a mark its word may begin."""
_HEAD = 0.3
"""Share of its shaft about its end in which an arrow's head lies."""
_FOLD = 25.0
"""How far (mm) from the edge that lies on the fold its bracket or word may stand."""
_FINE = 0.05


@dataclass(frozen=True, slots=True, kw_only=True)
class Area:
    """A closed line, and the area in it."""

    path: Path
    polygon: Polygon


def areas_of(items: Sequence[Item], *, close: float) -> list[Area]:
    """Return the closed lines that can be pieces, the smallest first."""
    out = []
    for ring in rings(items, close=close):
        x0, y0, x1, y1 = bounds(ring)
        if max(x1 - x0, y1 - y0) <= _SMALL:
            continue
        try:
            polygon = Polygon(ring.points(_FINE)).buffer(0.0)
        except (ValueError, GEOSException):
            continue
        if isinstance(polygon, Polygon) and not polygon.is_empty:
            out.append(Area(path=ring, polygon=polygon))
    return sorted(out, key=lambda area: area.polygon.area)


def marked(
    items: list[Item], areas: Sequence[Area], said: Sequence[tuple[Item, Said]]
) -> list[Item]:
    """Return the items with the roles that their shapes say, and fold lines added."""
    return _Shapes(items, areas, said).items()


class _Shapes:
    def __init__(
        self, items: list[Item], areas: Sequence[Area], said: Sequence[tuple[Item, Said]]
    ) -> None:
        self._items = list(items)
        self._areas = areas
        self._said = said
        self._tree = STRtree([_line(item) for item in self._items])
        self._around = STRtree([area.polygon for area in areas])

    def items(self) -> list[Item]:
        added = [*self._brackets(), *self._words_on_the_fold()]
        self._grains()
        self._wedges()
        self._named_marks()
        return [*self._items, *added]

    def _free(self) -> Iterator[tuple[int, Item, Path]]:
        for i, item in enumerate(self._items):
            if item.role is Role.ANY and item.path is not None:
                yield i, item, item.path

    def _set(self, i: int, role: Role, **more: object) -> None:
        self._items[i] = replace(self._items[i], role=role, **more)  # type: ignore[arg-type]

    def _area_at(self, at: Point) -> Area | None:
        """Return the smallest area around a point."""
        hits = self._around.query(ShapelyPoint(at), predicate="intersects")
        return self._areas[min(map(int, hits))] if len(hits) else None

    def _near(self, at: Point, reach: float) -> list[int]:
        hits = self._tree.query(ShapelyPoint(at), predicate="dwithin", distance=reach)
        return sorted(map(int, hits))

    def _grains(self) -> None:
        """Take straight lines with an arrow's head, or the word "grain" beside them."""
        words = [item.at for item, one in self._said if one.grain and item.at]
        for i, _, path in list(self._free()):
            ends = _shaft(path)
            if self._items[i].role is not Role.ANY or ends is None:
                continue
            long = math.dist(*ends)
            middle = ((ends[0][0] + ends[1][0]) / 2.0, (ends[0][1] + ends[1][1]) / 2.0)
            if self._area_at(middle) is None:
                continue
            head = [
                j
                for end in ends
                for j in self._near(end, _HEAD * long)
                if j != i and self._is_of_head(j, end, _HEAD * long)
            ]
            drawn = [path, *(p for j in dict.fromkeys(head) if (p := self._items[j].path))]
            line = LineString(ends)
            spoken = any(line.distance(ShapelyPoint(at)) <= _BESIDE for at in words)
            if grain_line(drawn).heads or spoken:
                for j in (i, *head):
                    self._set(j, Role.GRAIN)

    def _is_of_head(self, j: int, end: Point, reach: float) -> bool:
        item = self._items[j]
        if item.role is not Role.ANY or item.path is None:
            return False
        x0, y0, x1, y1 = bounds(item.path)
        small = max(x1 - x0, y1 - y0) <= min(_SMALL, reach)
        return small and math.dist(((x0 + x1) / 2.0, (y0 + y1) / 2.0), end) <= reach

    def _brackets(self) -> list[Item]:
        """Take lines that are bent to an edge at both ends: the edge lies on the fold."""
        out = []
        for i, _, path in list(self._free()):
            arms = _bracket(path)
            if arms is None:
                continue
            start, end = arms
            edge = self._straight_edge(((start[0] + end[0]) / 2, (start[1] + end[1]) / 2), arms)
            if edge is None:
                continue
            out.append(Item(role=Role.FOLD, path=Path((edge,))))
            self._set(i, Role.IGNORE)
            for tip in (path.start, path.end):
                for j in self._near(tip, 0.3 * _SMALL):
                    if self._is_of_head(j, tip, 0.6 * _SMALL):
                        self._set(j, Role.IGNORE)
        return out

    def _words_on_the_fold(self) -> list[Item]:
        """Take the edge along which "fold" is written."""
        out = []
        for item, one in self._said:
            if not one.edge or item.at is None:
                continue
            turn = math.radians(item.angle or 0.0)
            way = (item.at[0] + math.cos(turn), item.at[1] + math.sin(turn))
            edge = self._straight_edge(item.at, (item.at, way))
            if edge is not None:
                out.append(Item(role=Role.FOLD, path=Path((edge,))))
        return out

    def _straight_edge(self, at: Point, along: tuple[Point, Point]) -> Line | None:
        """Return the straight edge that runs along a direction, of the largest area it is of."""
        for k in sorted(map(int, self._around.query(ShapelyPoint(at), predicate="intersects")))[
            ::-1
        ]:
            beside = [
                (LineString([segment.start, segment.end]).distance(ShapelyPoint(at)), i)
                for i, segment in enumerate(self._areas[k].path.segments)
                if isinstance(segment, Line) and _turned(along, (segment.start, segment.end)) <= 2.0
            ]
            off, i = min(beside, default=(math.inf, -1))
            if off <= _FOLD:
                edge = self._areas[k].path.segments[i]
                return edge if isinstance(edge, Line) else None
        return None

    def _wedges(self) -> None:
        """Take small triangles, open or closed, with two corners on an edge: notches."""
        edges = STRtree([LinearRing(area.polygon.exterior) for area in self._areas])
        for i, _, path in list(self._free()):
            corners = _corners(path)
            if corners is None or self._items[i].role is not Role.ANY:
                continue
            for k in map(
                int, edges.query(_line(self._items[i]), predicate="dwithin", distance=0.5)
            ):
                edge = self._areas[k].polygon.exterior
                off = sorted(edge.distance(ShapelyPoint(corner)) for corner in corners)
                if off[1] <= 0.5 < off[2]:
                    self._set(i, Role.NOTCH)
                    break

    def _named_marks(self) -> None:
        """Take small circles and crosses with a word beside them."""
        words = [(j, item) for j, item in enumerate(self._items) if item.role is Role.TEXT]
        crossed: set[int] = set()
        for i, _, path in list(self._free()):
            if i in crossed:
                continue
            at, size, also = _circle(path), 0.0, -1
            if at is not None:
                size = bounds(path)[2] - bounds(path)[0]
            else:
                at, also = self._crossing(i, path)
            if at is None or self._area_at(at) is None:
                continue
            place = at
            near = [
                (math.dist(item.at, place), j)
                for j, item in words
                if item.at and math.dist(item.at, place) <= _BESIDE + size
            ]
            if not near:
                continue
            word = min(near)[1]
            self._items[i] = Item(role=Role.DRILL, at=at, size=size, text=self._items[word].text)
            self._set(word, Role.IGNORE)
            words = [(j, item) for j, item in words if j != word]
            if also >= 0:
                crossed.add(also)
                self._set(also, Role.IGNORE)

    def _crossing(self, i: int, path: Path) -> tuple[Point | None, int]:
        """Return where a short straight line is crossed in its middle, and by which."""
        ends = _short(path)
        if ends is None:
            return None, -1
        middle = ((ends[0][0] + ends[1][0]) / 2.0, (ends[0][1] + ends[1][1]) / 2.0)
        for j in self._near(middle, 0.3):
            other = self._items[j].path
            if j == i or other is None or self._items[j].role is not Role.ANY:
                continue
            across = _short(other)
            if across is None or _turned(ends, across) < 45.0:
                continue
            its = ((across[0][0] + across[1][0]) / 2.0, (across[0][1] + across[1][1]) / 2.0)
            if math.dist(its, middle) <= 0.3:
                return middle, j
        return None, -1


def _line(item: Item) -> LineString:
    if item.path is None:
        at = item.at or (0.0, 0.0)
        return LineString([at, at])
    points = list(item.path.points(_FINE))
    return LineString([*points, *points[:1]] if item.path.closed or len(points) < 2 else points)


def _shaft(path: Path) -> tuple[Point, Point] | None:
    """Return the ends of a line that can be a grain line's: open, straight and long enough."""
    if path.closed or not all(isinstance(s, Line) for s in path.segments) or len(path.segments) > 8:
        return None
    longest = max(path.segments, key=lambda s: math.dist(s.start, s.end))
    long = math.dist(longest.start, longest.end)
    rest = sum(math.dist(s.start, s.end) for s in path.segments) - long
    if long < _SHAFT or rest > 2.0 * long:
        return None
    return longest.start, longest.end


def _short(path: Path) -> tuple[Point, Point] | None:
    one = len(path.segments) == 1 and isinstance(path.segments[0], Line)
    return (path.start, path.end) if one and math.dist(path.start, path.end) <= _SMALL else None


def _bracket(path: Path) -> tuple[Point, Point] | None:
    """Return the ends of the long middle of a bracket: three lines, both arms to one side."""
    if path.closed or len(path.segments) != 3:
        return None
    if not all(isinstance(segment, Line) for segment in path.segments):
        return None
    one, middle, other = path.segments
    long = math.dist(middle.start, middle.end)
    arms = [math.dist(arm.start, arm.end) for arm in (one, other)]
    if long < _SHAFT or max(arms) > min(0.5 * long, _FOLD) or max(arms) > 2.0 * min(arms):
        return None
    (x0, y0), (x1, y1) = middle.start, middle.end
    sides = [
        ((x1 - x0) * (y - y0) - (y1 - y0) * (x - x0)) / long for x, y in (path.start, path.end)
    ]
    square = all(abs(side) >= 0.9 * arm for side, arm in zip(sides, arms, strict=True))
    return (middle.start, middle.end) if square and sides[0] * sides[1] > 0.0 else None


def _turned(one: tuple[Point, Point], other: tuple[Point, Point]) -> float:
    """Return the angle between two lines, 0 to 90 degrees."""
    angles = [math.degrees(math.atan2(b[1] - a[1], b[0] - a[0])) for a, b in (one, other)]
    off = abs(angles[0] - angles[1]) % 180.0
    return min(off, 180.0 - off)


def _corners(path: Path) -> list[Point] | None:
    """Return the three corners of a small wedge, open or closed."""
    lines = len(path.segments)
    if not all(isinstance(s, Line) for s in path.segments) or lines != (3 if path.closed else 2):
        return None
    corners = [segment.start for segment in path.segments]
    corners += [] if path.closed else [path.end]
    x0, y0, x1, y1 = bounds(path)
    return corners if 1.0 <= max(x1 - x0, y1 - y0) <= _SMALL else None


def _circle(path: Path) -> Point | None:
    """Return the middle of a small circle."""
    if not path.closed or not all(isinstance(segment, Bezier) for segment in path.segments):
        return None
    x0, y0, x1, y1 = bounds(path)
    size = max(x1 - x0, y1 - y0)
    middle = ((x0 + x1) / 2.0, (y0 + y1) / 2.0)
    if size > _SMALL or len(path.segments) < 3:
        return None
    off = [
        abs(math.dist(p, middle) - size / 2.0) for s in path.segments for p in (s.end, s.at(0.5))
    ]
    return middle if max(off) <= 0.03 * size else None
