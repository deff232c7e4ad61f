"""A line of many places becomes few lines, arcs and curves between corners that are kept."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from shapely import LinearRing, distance
from shapely import points as shapely_points

from nesting.pattern.curves import Arc, Bezier, Line, Segment
from nesting.pattern.path import Path, Point
from nesting.reading.pictures.edges import Points

__all__ = ["Fitted", "blunted", "fitted"]

Floats = NDArray[np.float64]

_NEAR, _WIDE, _SKIP = 4, 9, 2
"""Places (pixels) over which the direction before and behind a corner is taken, near it and
farther; those right at it are skipped, as a picture's blur rounds them."""
_TURN = math.radians(24.0)
"""A smaller turn is no corner, or can't be told from noise."""
_ALIKE = 0.72
"""A corner turns as much near it as farther off; an arc turns by its length."""
_ENDS = 3
"""Places left out at both ends of what lies between two corners."""
_SHIFT = 4.0
"""A corner is put where its sides meet, if that is no farther (pixels) from where it was seen."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Fitted:
    """A closed path, how far (in its unit) the places lie off it at most, and its corners.

    Places right at a corner, which a picture makes blunt, don't count.
    """

    path: Path
    off: float
    corners: tuple[Point, ...]


def blunted(path: Path, *, pen: float) -> float:
    """Return by how much a corner at most may be cut off that a pen (its width, mm) makes blunt.

    A short curve between two straight lines may be one: how far it lies from where they would meet.
    """
    worst = 0.0
    segments = path.segments
    for before, curve, after in zip(
        (segments[-1], *segments[:-1]), segments, (*segments[1:], segments[0]), strict=True
    ):
        straight = isinstance(before, Line) and isinstance(after, Line)
        if isinstance(curve, Line) or not straight:
            continue
        if math.dist(curve.start, curve.end) > _BLUNT * pen:
            continue
        (ax, ay), (bx, by) = before.start, before.end
        (cx, cy), (dx, dy) = after.start, after.end
        turn = (bx - ax) * (dy - cy) - (by - ay) * (dx - cx)
        if turn == 0.0:
            continue
        along = ((cx - ax) * (dy - cy) - (cy - ay) * (dx - cx)) / turn
        meet = (ax + along * (bx - ax), ay + along * (by - ay))
        worst = max(worst, min(math.dist(meet, curve.at(k / 20.0)) for k in range(21)))
    return min(worst, _BLUNT * pen)


_BLUNT = 6.0
"""Longest curve, in widths of the pen, that may be nothing but a corner of its line."""


def fitted(ring: Points, *, pixel: float, within: float, blunt: float = 0.0) -> Fitted:
    """Return lines, arcs and Bézier curves along a closed line of places.

    `ring`: n × 2, about `pixel` apart, in the unit of the result. `within`: how far a curve may lie
    off the places that it stands for; one that lies off by chance is no reason for another curve.
    `blunt`: within how many places of a corner they tell nothing, as a pen's width makes them.
    """
    marks = _corner_indices(ring, pixel)
    if len(marks) < 2:
        circle = _circle(ring, within)
        if circle is not None:
            return Fitted(path=circle, off=_farthest(circle, ring), corners=())
    runs = _runs(ring, marks)
    ends = _ENDS + int(np.ceil(blunt)) if marks else 0
    pieces = [_cut(run, within, ends) for run in runs]
    parts = [part for run in pieces for part in run]
    if not marks and len(parts) > 2:
        parts = _closed(parts, within)
    room = (_SHIFT + 2.0 * blunt) * pixel
    counts = [len(run) for run in pieces]
    joints = _joints(parts, counts, room, cornered=bool(marks))
    segments: list[Segment] = []
    for part, start, end in zip(parts, joints, [*joints[1:], joints[0]], strict=True):
        segments += part.between(start, end)
    path = Path(tuple(segments))
    corners = tuple(_point(ring[i]) for i in marks)
    telling = np.ones(len(ring), bool)
    for shift in range(-ends, ends + 1):
        telling[(np.array(marks, int) + shift) % len(ring)] = False
    said = ring[telling] if telling.any() else ring
    return Fitted(path=path, off=_farthest(path, said), corners=corners)


def _corner_indices(ring: Points, pixel: float) -> list[int]:
    count = len(ring)
    if count < 4 * (_WIDE + _SKIP):
        return []
    near, wide = (_turn(ring, reach) for reach in (_NEAR, _WIDE))
    sharp = (near > _TURN) & (near > _ALIKE * wide)
    around = np.stack([np.roll(near, k) for k in range(-_NEAR - _SKIP, _NEAR + _SKIP + 1)])
    best = near >= around.max(axis=0)
    found = np.flatnonzero(sharp & best)
    return [
        int(i) for i in found if not (((found - i) % count > 0) & ((found - i) % count < 3)).any()
    ]


def _turn(ring: Points, reach: int) -> Floats:
    """Return by what angle the line turns at every place, from as far before it to behind it."""
    before = np.roll(ring, _SKIP, axis=0) - np.roll(ring, _SKIP + reach, axis=0)
    behind = np.roll(ring, -_SKIP - reach, axis=0) - np.roll(ring, -_SKIP, axis=0)
    cross = before[:, 0] * behind[:, 1] - before[:, 1] * behind[:, 0]
    return np.asarray(np.abs(np.arctan2(cross, (before * behind).sum(axis=1))), np.float64)


def _runs(ring: Points, marks: Sequence[int]) -> list[Points]:
    """Return the places between corners; without corners, all of them, the first one repeated."""
    if not marks:
        start = int(np.argmin(_turn(ring, _WIDE)))
        return [np.roll(np.vstack([ring]), -start, axis=0)]
    out = []
    for a, b in zip(marks, [*marks[1:], marks[0] + len(ring)], strict=True):
        out.append(ring[np.arange(a, b + 1) % len(ring)])
    return out


def _closed(parts: list[_Part], within: float) -> list[_Part]:
    """Return the curves of a ring without corners, its first and last made one if they are."""
    first, last = parts[0], parts[-1]
    whole = np.vstack([last.places, first.places])
    if first.kind == last.kind and _KINDS[first.kind](_thin(whole)) <= within:
        return [_Part(kind=first.kind, places=whole), *parts[1:-1]]
    return parts


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Part:
    """Places that one curve stands for: "line", "arc" or "curve"."""

    kind: str
    places: Points

    def between(self, start: Point, end: Point) -> list[Segment]:
        if self.kind == "arc" and (arc := _arc(self.places, start, end)):
            return [arc]
        if self.kind == "curve":
            return [_bezier(self.places, start, end)]
        return [Line(start, end)]

    def end_line(self, *, last: bool) -> tuple[Floats, Floats]:
        """Return a place and the direction in which the curve runs at one of its ends."""
        count = len(self.places)
        some = self.places if self.kind == "line" else _side(self.places, last, max(6, count // 6))
        middle = some.mean(axis=0)
        way = np.linalg.svd(some - middle, full_matrices=False)[2][0]
        if self.kind != "line" and count > 8:
            ends = self.places[[0, -1]]
            segment = self.between(_point(ends[0]), _point(ends[1]))[-1 if last else 0]
            a, b = (segment.at(t) for t in ((0.98, 1.0) if last else (0.0, 0.02)))
            middle, way = np.array(b if last else a), np.subtract(b, a)
            way = way / max(float(np.hypot(*way)), 1e-12)
        return middle, way


def _side(places: Points, last: bool, count: int) -> Points:
    return np.asarray(places[-count:] if last else places[:count], np.float64)


def _cut(run: Points, within: float, ends: int) -> list[_Part]:
    """Cut what lies between two corners into as few lines, arcs and curves as go."""
    ends = min(ends, len(run) // 4)
    places = run[ends : len(run) - ends]
    parts: list[_Part] = []
    start = 0
    while start < len(places) - 1:
        kind, stop = _longest(places, start, within)
        if len(places) - stop < 5:
            stop = len(places)
        parts.append(_Part(kind=kind, places=places[start:stop]))
        start = stop - 1 if stop < len(places) else stop
    return parts or [_Part(kind="line", places=run)]


def _longest(places: Points, start: int, within: float) -> tuple[str, int]:
    """Return the curve that reaches farthest from a place on, and how far; plain ones first."""
    reach = {kind: _reach(places, start, off, within) for kind, off in _KINDS.items()}
    left = len(places) - start
    line, arc, curve = (reach[kind] for kind in ("line", "arc", "curve"))
    if line >= min(left, max(0.7 * arc, 0.7 * curve)):
        return "line", start + line
    if arc >= min(left, 0.7 * curve):
        return "arc", start + arc
    return "curve", start + curve


def _reach(places: Points, start: int, off: Callable[[Points], float], within: float) -> int:
    """Return how many places from one on a curve stands for: all, or as many as doubling finds."""
    left = len(places) - start
    if off(_thin(places[start:])) <= within:
        return left
    good, step = min(4, left), 8
    while good + step < left and off(_thin(places[start : start + good + step])) <= within:
        good, step = good + step, step * 2
    low, high = good, min(good + step, left)
    while high - low > 1:
        middle = (low + high) // 2
        if off(_thin(places[start : start + middle])) <= within:
            low = middle
        else:
            high = middle
    return low


def _thin(places: Points) -> Points:
    """Return no more places than tell how a curve runs."""
    if len(places) <= 240:
        return places
    some = np.linspace(0, len(places) - 1, 240).round().astype(int)
    return np.asarray(places[some], np.float64)


def _line_off(places: Points) -> float:
    if len(places) < 3:
        return 0.0
    middle = places.mean(axis=0)
    way = np.linalg.svd(places - middle, full_matrices=False)[2][0]
    return _worst((places - middle) @ np.array([-way[1], way[0]]))


def _arc_off(places: Points) -> float:
    if len(places) < 5:
        return 0.0
    middle, radius = _round(places)
    far = places - middle
    turned = float(np.abs(np.diff(np.unwrap(np.arctan2(far[:, 1], far[:, 0])))).sum())
    if turned > 1.9 * math.pi:
        return math.inf
    return _worst(np.hypot(far[:, 0], far[:, 1]) - radius)


def _curve_off(places: Points) -> float:
    if len(places) < 6:
        return 0.0
    way = np.diff(places, axis=0)
    turn = np.unwrap(np.arctan2(way[:, 1], way[:, 0]))
    if float(np.ptp(np.convolve(turn, np.ones(5) / 5.0, "valid"))) > math.pi / 1.5:
        return math.inf
    control, share = _curve(places, places[0], places[-1], free=True)
    return _worst(np.hypot(*(_on(control, share) - places).T))


_KINDS: dict[str, Callable[[Points], float]] = {
    "line": _line_off,
    "arc": _arc_off,
    "curve": _curve_off,
}


def _worst(off: Floats) -> float:
    """Return how far places lie off, but for one in fifty, which is noise if it isn't far off."""
    far = np.sort(np.abs(off))
    return float(max(far[int(0.98 * (len(far) - 1))], far[-1] / 1.6))


def _round(places: Points) -> tuple[Floats, float]:
    """Return the middle and the radius of the circle through places, least squares (I. Kasa)."""
    shift = places.mean(axis=0)
    at = places - shift
    solved = np.linalg.lstsq(
        np.column_stack([2.0 * at, np.ones(len(at))]), (at * at).sum(axis=1), rcond=None
    )[0]
    radius = math.sqrt(max(float(solved[2] + solved[0] ** 2 + solved[1] ** 2), 0.0))
    return solved[:2] + shift, radius


def _circle(ring: Points, within: float) -> Path | None:
    """Return a ring as a circle, if it is one."""
    middle, radius = _round(ring)
    off = np.hypot(*(ring - middle).T) - radius
    if _worst(off) > within:
        return None
    x, y = ring.T
    sweep = math.copysign(math.pi, float(x @ np.roll(y, -1) - y @ np.roll(x, -1)))
    centre, u, v = _point(middle), (radius, 0.0), (0.0, radius)
    return Path((Arc(centre, u, v, 0.0, sweep), Arc(centre, u, v, sweep, sweep)))


def _joints(
    parts: Sequence[_Part], counts: Sequence[int], room: float, *, cornered: bool
) -> list[Point]:
    """Return where each curve begins: in corners where both sides meet, else on the way."""
    firsts = set(np.cumsum([0, *counts[:-1]]).tolist()) if cornered else set()
    out: list[Point] = []
    for i, part in enumerate(parts):
        before = parts[i - 1]
        a, b = before.places[-1], part.places[0]
        seen = 0.5 * (a + b)
        (pa, va), (pb, vb) = before.end_line(last=True), part.end_line(last=False)
        turn = float(va[0] * vb[1] - va[1] * vb[0])
        if i in firsts and abs(turn) > math.sin(math.radians(8.0)):
            gap = pb - pa
            met = pa + va * float(gap[0] * vb[1] - gap[1] * vb[0]) / turn
            forth = (before.places[-1] - before.places[0]) @ va > 0.0
            onward = (part.places[-1] - part.places[0]) @ vb > 0.0
            opening = 1.0 - float(va @ vb) * (1.0 if forth == onward else -1.0)
            narrow = max(math.sqrt(max(1.0 - opening / 2.0, 0.0)), 0.15)  # sine of half the angle
            far = room / narrow + 0.5 * float(np.hypot(*(b - a)))
            seen = met if float(np.hypot(*(met - seen))) < far else seen
        elif before.kind == "line" or part.kind == "line":  # a place on the line itself
            base, way = (pa, va) if before.kind == "line" else (pb, vb)
            seen = base + way * float((seen - base) @ way)
        out.append(_point(seen))
    return out


def _arc(places: Points, start: Point, end: Point) -> Arc | None:
    """Return the arc from one place to another that lies nearest to those between."""
    a, b = np.array(start), np.array(end)
    chord = float(np.hypot(*(b - a)))
    middle, _ = _round(np.vstack([places, [a, b]]))
    if chord < 1e-9:
        return None
    way = (b - a) / chord
    normal = np.array([-way[1], way[0]])
    half = 0.5 * (a + b)
    high = float((middle - half) @ normal)
    for _ in range(12):  # the middle lies on the chord's bisector: one number, by Gauss and Newton
        centre = half + normal * high
        radius = math.hypot(chord / 2.0, high)
        far = places - centre
        long = np.hypot(far[:, 0], far[:, 1])
        off = long - radius
        slope = -(far @ normal) / np.maximum(long, 1e-9) - high / radius
        step = float(slope @ off) / max(float(slope @ slope), 1e-12)
        high -= step
        if abs(step) < 1e-9:
            break
    centre = half + normal * high
    radius = math.hypot(chord / 2.0, high)
    if not math.isfinite(radius) or radius > 1e3 * chord:
        return None
    begin, stop = (math.atan2(*(p - centre)[::-1]) for p in (a, b))
    inner = places[len(places) // 2] - centre
    sweep = (stop - begin) % (2.0 * math.pi)
    passed = (math.atan2(inner[1], inner[0]) - begin) % (2.0 * math.pi)
    if passed > sweep:
        sweep -= 2.0 * math.pi
    return Arc(_point(centre), (radius, 0.0), (0.0, radius), begin, sweep)


def _bezier(places: Points, start: Point, end: Point) -> Bezier:
    control, _ = _curve(places, np.array(start), np.array(end), free=False)
    first, second = _point(control[1]), _point(control[2])
    return Bezier(start, first, second, end)


def _curve(places: Points, start: Floats, end: Floats, *, free: bool) -> tuple[Floats, Floats]:
    """Return the four points of a Bézier curve along places, and where on it each lies.

    Least squares, each place at the share of the way that it has, which is mended some times
    (P. J. Schneider, Graphics Gems, 1990). `free`: the ends are fitted, too.
    """
    gaps = np.hypot(*np.diff(np.vstack([start, places, end]), axis=0).T)
    share = (np.cumsum(gaps)[:-1]) / max(float(gaps.sum()), 1e-12)
    control = np.vstack([start, start, end, end])
    for again in range(4):
        basis = _bernstein(share)
        if free:
            control = np.asarray(np.linalg.lstsq(basis, places, rcond=None)[0], np.float64)
        else:
            left = places - basis[:, :1] * start - basis[:, 3:] * end
            inner = np.linalg.lstsq(basis[:, 1:3], left, rcond=None)[0]
            control = np.vstack([start, inner, end])
        if again < 3:
            share = _mended(control, places, share)
    return control, share


def _bernstein(t: Floats) -> Floats:
    s = 1.0 - t
    return np.stack([s**3, 3 * s * s * t, 3 * s * t * t, t**3], axis=1)


def _on(control: Floats, t: Floats) -> Points:
    return np.asarray(_bernstein(t) @ control, np.float64)


def _mended(control: Floats, places: Points, t: Floats) -> Floats:
    """Return the shares of the nearest places on the curve, one step of Newton's further."""
    s = 1.0 - t
    d = np.diff(control, axis=0)
    first = 3.0 * np.stack([s * s, 2 * s * t, t * t], axis=1) @ d
    second = 6.0 * np.stack([s, t], axis=1) @ np.diff(d, axis=0)
    off = _on(control, t) - places
    slope = (off * first).sum(axis=1)
    bend = (first * first).sum(axis=1) + (off * second).sum(axis=1)
    step = np.where(np.abs(bend) > 1e-12, slope / np.where(np.abs(bend) > 1e-12, bend, 1.0), 0.0)
    return np.asarray(np.clip(t - np.clip(step, -0.05, 0.05), 0.0, 1.0), np.float64)


def _farthest(path: Path, ring: Points) -> float:
    """Return how far the places lie off a path at most."""
    line = LinearRing(path.points(0.02))
    return float(distance(line, shapely_points(ring)).max())


def _point(place: Floats) -> Point:
    return (float(place[0]), float(place[1]))
