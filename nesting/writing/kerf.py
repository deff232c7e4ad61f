"""Allow for the width of a laser's cut: outlines half a kerf larger, holes half a kerf smaller.

The cut is centred on the line, so a contour is moved by half the kerf to its right:
away from the material for outlines (counter-clockwise) and holes (clockwise) alike.
Lines stay lines, arcs stay arcs, Bézier curves become Bézier curves. Outer corners
are mitred (rounded about the corner if sharper than 60°), inner ones trimmed. Where
that fails, because something is narrower than the kerf, the contour is made anew
from chords, and a finding says what was lost.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from shapely import LinearRing, Polygon, STRtree

from nesting.errors import Finding
from nesting.pattern.measure import clockwise, counter_clockwise
from nesting.pattern.path import Arc, Bezier, Line, Path, Point, Segment
from nesting.pattern.polygon import polygon
from nesting.pattern.segment import derivative, direction, part
from nesting.tolerance import TOLERANCE
from nesting.writing.contour import turning
from nesting.writing.drawing import Drawing, Operation, Stroke

__all__ = ["Widened", "allow_for_kerf", "moved_right"]

_MITRE = math.radians(120.0)
"""Outer corners that turn by more are rounded instead of mitred."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Widened:
    """A drawing with the kerf allowed for, and what is wrong with it."""

    drawing: Drawing
    findings: tuple[Finding, ...]


def allow_for_kerf(drawing: Drawing, *, kerf: float) -> Widened:
    """Move every closed contour that is cut by half the `kerf` (mm, full width of the cut).

    Drill holes that are drawn as circles count as contours. Open cuts, notches and
    marks stay on their lines. Parts that lie nearer to each other than the kerf are
    a fault.
    """
    if kerf <= 0.0:
        return Widened(drawing=drawing, findings=())
    strokes: list[Stroke] = []
    findings = _too_near(drawing, kerf)
    for stroke in drawing.strokes:
        if stroke.operation not in (Operation.CUT, Operation.DRILL) or not stroke.path.closed:
            strokes.append(stroke)
            continue
        hole = stroke.inner or stroke.operation is Operation.DRILL
        path = clockwise(stroke.path) if hole else counter_clockwise(stroke.path)
        moved = moved_right(path, kerf / 2.0)
        if moved is None:
            moved, lost = _from_chords(path, kerf, hole=hole)
            if lost:
                findings.append(_narrow(drawing, stroke, kerf, gone=moved is None))
        if moved is not None:
            strokes.append(replace(stroke, path=moved))
    return Widened(
        drawing=replace(drawing, strokes=tuple(strokes)),
        findings=tuple(findings),
    )


def _name(drawing: Drawing, index: int | None) -> str:
    if index is None:
        return ""
    return drawing.parts[index].name if index < len(drawing.parts) else f"part {index + 1}"


def _narrow(drawing: Drawing, stroke: Stroke, kerf: float, *, gone: bool) -> Finding:
    name = _name(drawing, stroke.part)
    what = ("a hole" if gone else "a slot or corner") + (f" of {name}" if name else "")
    return Finding(
        kind="kerf",
        text=f"{what} is narrower than the kerf of {kerf:g} mm and would be lost",
        amount=kerf,
        at=stroke.path.start,
        parts=(name,) if name else (),
    )


def _too_near(drawing: Drawing, kerf: float) -> list[Finding]:
    outlines = [
        s
        for s in drawing.strokes
        if s.operation is Operation.CUT and s.path.closed and not s.inner and s.part is not None
    ]
    holes: dict[int, list[Path]] = {}
    for s in drawing.strokes:
        if s.operation is Operation.CUT and s.inner and s.path.closed and s.part is not None:
            holes.setdefault(s.part, []).append(s.path)
    shapes = [polygon(s.path, tuple(holes.get(s.part or 0, ()))) for s in outlines]
    limit = kerf - 2.0 * TOLERANCE.chord
    found = []
    for i, j in STRtree(shapes).query(shapes, predicate="dwithin", distance=limit).T:
        if i < j and outlines[i].part != outlines[j].part:
            gap = shapes[i].distance(shapes[j])
            names = _name(drawing, outlines[i].part), _name(drawing, outlines[j].part)
            apart = f"lie {gap:.3g} mm apart, less than the kerf of {kerf:g} mm"
            found.append(
                Finding(
                    kind="kerf",
                    text=f"{names[0]} and {names[1]} {apart}",
                    amount=kerf - gap,
                    parts=names,
                    at=outlines[i].path.start,
                )
            )
    return found


def _from_chords(path: Path, kerf: float, *, hole: bool) -> tuple[Path | None, bool]:
    """Return the contour made of chords (None if nothing is left), and whether it lost anything."""
    side, shape = -kerf / 2.0 if hole else kerf / 2.0, Polygon(path.points(TOLERANCE.chord))
    moved = shape.buffer(side, join_style="mitre", mitre_limit=2.0)
    if moved.is_empty:
        return None, True
    back = moved.buffer(-side, join_style="mitre", mitre_limit=2.0)
    slack = 4.0 * TOLERANCE.chord
    lost = moved.geom_type != "Polygon" or bool(moved.interiors)
    lost = lost or not back.symmetric_difference(shape).buffer(-slack).is_empty
    if moved.geom_type != "Polygon":
        moved = max(moved.geoms, key=lambda g: g.area)
    ring = Path.polyline(((x, y) for x, y in moved.exterior.coords[:-1]), closed=True)
    return clockwise(ring) if hole else counter_clockwise(ring), lost


def moved_right(path: Path, by: float) -> Path | None:
    """Return a closed path moved by `by` (mm) to its right, or None if it can't be done so."""
    runs: list[list[Segment]] = []
    for segment in path.segments:
        run = _moved(segment, by)
        if run is None:
            return None
        runs.append(run)
    first, last = [0.0] * len(runs), [1.0] * len(runs)
    joins: list[list[Segment]] = [[] for _ in runs]
    for i, run in enumerate(runs):
        j = (i + 1) % len(runs)
        turn = turning(path.segments[i], path.segments[j])
        end, start = run[-1].end, runs[j][0].start
        if math.dist(end, start) <= 1e-9 * max(1.0, abs(end[0]), abs(end[1])):
            continue
        if turn > 0.0:
            joins[i] = _outer(path.segments[i].end, turn, by, ends=(run[-1], runs[j][0]))
            continue
        met = _meet(run[-1], runs[j][0])
        if met is None:
            return None
        last[i], first[j] = met
    out: list[Segment] = []
    for i, run in enumerate(runs):
        t0, t1 = first[i], last[i]
        if len(run) == 1:
            if t0 >= t1:
                return None
            out.append(part(run[0], t0, t1))
        else:
            out += [part(run[0], t0, 1.0), *run[1:-1], part(run[-1], 0.0, t1)]
        out += joins[i]
    moved = _sealed(out)
    return moved if _is_right(moved, path, by) else None


def _is_right(moved: Path, path: Path, by: float) -> bool:
    """Whether the moved contour doesn't cross itself and keeps its distance everywhere."""
    ring = LinearRing(moved.points(TOLERANCE.chord))
    old = LinearRing(path.points(TOLERANCE.chord))
    return bool(
        ring.is_simple
        and ring.is_ccw == old.is_ccw
        and ring.distance(old) >= by - 2.0 * TOLERANCE.chord
    )


def _sealed(segments: list[Segment]) -> Path:
    """Join lines that run on, and make ends and starts the same numbers."""
    out: list[Segment] = []
    for segment in segments:
        if isinstance(segment, Line) and out and isinstance(out[-1], Line):
            if segment.start == segment.end:
                continue
            if abs(turning(out[-1], segment)) < 1e-12:
                out[-1] = Line(out[-1].start, segment.end)
                continue
        out.append(segment)
    first, last = out[0], out[-1]
    both = len(out) > 1 and isinstance(first, Line) and isinstance(last, Line)
    if both and abs(turning(last, first)) < 1e-12:
        out[0] = Line(last.start, first.end)
        out.pop()
    for i, segment in enumerate(out):
        end = out[(i + 1) % len(out)].start
        if isinstance(segment, Line):
            out[i] = Line(segment.start, end)
        elif isinstance(segment, Bezier):
            out[i] = Bezier(segment.start, segment.first, segment.second, end)
    for i, segment in enumerate(out):
        if isinstance(segment, Line) and isinstance(out[i - 1], Arc):
            out[i] = Line(out[i - 1].end, segment.end)
    return Path(tuple(out))


def _right(of: Point, by: float) -> Point:
    return (of[1] * by, -of[0] * by)


def _plus(p: Point, v: Point) -> Point:
    return (p[0] + v[0], p[1] + v[1])


def _moved(segment: Segment, by: float) -> list[Segment] | None:
    if isinstance(segment, Line):
        v = _right(direction(segment, 0.0), by)
        return [Line(_plus(segment.start, v), _plus(segment.end, v))]
    if isinstance(segment, Arc):
        if segment.radius is None:
            return [m for b in _as_beziers(segment) for m in _moved_bezier(b, by)]
        (ux, uy), (vx, vy) = segment.u, segment.v
        left = segment.sweep * (ux * vy - uy * vx) > 0.0
        factor = (segment.radius + (by if left else -by)) / segment.radius
        if factor <= 0.0:
            return None
        u, v = (ux * factor, uy * factor), (vx * factor, vy * factor)
        return [Arc(segment.centre, u, v, segment.begin, segment.sweep)]
    return list(_moved_bezier(segment, by))


def _as_beziers(arc: Arc) -> list[Bezier]:
    """Return an elliptical arc as cubic curves of at most 22.5°, 1e-8 of its size away."""
    n = max(1, math.ceil(abs(arc.sweep) / (math.pi / 8)))
    out = []
    for i in range(n):
        piece = part(arc, i / n, (i + 1) / n)
        assert isinstance(piece, Arc)
        k = 4.0 / 3.0 * math.tan(piece.sweep / 4.0) / piece.sweep
        va, vb = derivative(piece, 0.0), derivative(piece, 1.0)
        a, b = piece.start, piece.end
        out.append(
            Bezier(a, _plus(a, (va[0] * k, va[1] * k)), _plus(b, (-vb[0] * k, -vb[1] * k)), b)
        )
    return out


def _moved_bezier(curve: Bezier, by: float, *, depth: int = 0) -> list[Segment]:
    """Return a Bézier curve moved to its right as Bézier curves, to a quarter of the chord."""
    d0, d1 = direction(curve, 0.0), direction(curve, 1.0)
    a, b = _plus(curve.start, _right(d0, by)), _plus(curve.end, _right(d1, by))
    chord = math.dist(curve.start, curve.end)
    factor = math.dist(a, b) / chord if chord > 0.0 else 1.0
    h0, h1 = math.dist(curve.start, curve.first), math.dist(curve.second, curve.end)
    made = Bezier(
        a,
        _plus(a, (d0[0] * h0 * factor, d0[1] * h0 * factor)),
        _plus(b, (-d1[0] * h1 * factor, -d1[1] * h1 * factor)),
        b,
    )
    wrong = max(
        abs(math.dist(_foot(curve, made.at(t), t), made.at(t)) - abs(by))
        for t in (0.25, 0.5, 0.75)
    )
    if (wrong <= TOLERANCE.chord / 4.0 and chord > 0.0) or depth >= 8:
        return [made]
    halves = part(curve, 0.0, 0.5), part(curve, 0.5, 1.0)
    return [
        m
        for half in halves
        if isinstance(half, Bezier)
        for m in _moved_bezier(half, by, depth=depth + 1)
    ]


def _foot(curve: Bezier, point: Point, t: float) -> Point:
    """Return the curve's point nearest to `point`, sought from t by projecting on the tangent."""
    for _ in range(6):
        (x, y), (vx, vy) = curve.at(t), derivative(curve, t)
        speed = vx * vx + vy * vy
        if speed == 0.0:
            break
        t = min(1.0, max(0.0, t + ((point[0] - x) * vx + (point[1] - y) * vy) / speed))
    return curve.at(t)


def _outer(
    corner: Point, turn: float, by: float, *, ends: tuple[Segment, Segment]
) -> list[Segment]:
    """Return what joins two moved segments around an outer corner."""
    before, after = direction(ends[0], 1.0), direction(ends[1], 0.0)
    if turn <= _MITRE:
        reach = by * math.tan(turn / 2.0)
        tip = _plus(ends[0].end, (before[0] * reach, before[1] * reach))
        return [Line(ends[0].end, tip), Line(tip, ends[1].start)]
    u = _right(before, by)
    return [Arc(corner, u, (-u[1], u[0]), 0.0, math.atan2(*_sin_cos(before, after)))]


def _sin_cos(a: Point, b: Point) -> tuple[float, float]:
    return (a[0] * b[1] - a[1] * b[0], a[0] * b[0] + a[1] * b[1])


def _meet(a: Segment, b: Segment) -> tuple[float, float] | None:
    """Return the parameters at which the end of one segment crosses the start of the next."""
    s, t = 1.0, 0.0
    for _ in range(30):
        (ax, ay), (bx, by) = a.at(s), b.at(t)
        (ux, uy), (vx, vy) = derivative(a, s), derivative(b, t)
        det = uy * vx - ux * vy
        if det == 0.0:
            return None
        fx, fy = bx - ax, by - ay
        ds, dt = (fy * vx - fx * vy) / det, (fy * ux - fx * uy) / det
        s, t = s + ds, t + dt
        if not (-1.0 < s < 2.0 and -1.0 < t < 2.0):
            return None
        if abs(ds) + abs(dt) < 1e-15:
            break
    if not (0.0 < s <= 1.0 and 0.0 <= t < 1.0) or math.dist(a.at(s), b.at(t)) > 1e-7:
        return None
    return s, t
