"""Allow for the width of a laser's cut: outlines half a kerf larger, holes half a kerf smaller.

The cut is centred on the line, so a contour is moved by half the kerf away from the
part. Lines stay lines, arcs stay arcs, Bézier curves become Bézier curves; outer corners
are mitred, inner ones trimmed (see `nesting.pattern.parallel.offset`). Where that fails, because
something is narrower than the kerf, the contour is made anew from chords, and a finding
says what was lost.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
from shapely import LinearRing, Polygon, STRtree

from nesting.errors import Finding
from nesting.pattern.measure import clockwise, counter_clockwise
from nesting.pattern.parallel.offset import parallel_path
from nesting.pattern.parallel.segment import parallel_segment
from nesting.pattern.path import Affine, Arc, Bezier, Line, Path
from nesting.pattern.polygon import polygon, ring_path
from nesting.tolerance import TOLERANCE
from nesting.writing.machines.contour import is_dot
from nesting.writing.neutral.drawing import Drawing, Operation, Stroke

__all__ = ["Widened", "allow_for_kerf"]


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
    mover = _Mover(kerf)
    findings = _too_near(drawing, kerf)
    for stroke in drawing.strokes:
        cut = stroke.operation in (Operation.CUT, Operation.DRILL)
        if not cut or not stroke.path.closed or is_dot(stroke.path):
            strokes.append(stroke)
            continue
        hole = stroke.inner or stroke.operation is Operation.DRILL
        path = clockwise(stroke.path) if hole else counter_clockwise(stroke.path)
        moved = mover.moved(path, hole=hole)
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
    if len(outlines) < 2:
        return []
    holes: dict[int, list[Path]] = {}
    for s in drawing.strokes:
        if s.operation is Operation.CUT and s.inner and s.path.closed and s.part is not None:
            holes.setdefault(s.part, []).append(s.path)

    def shape(i: int, chord: float) -> Polygon:
        return polygon(outlines[i].path, tuple(holes.get(outlines[i].part or 0, ())), chord=chord)

    # Coarsely first: few parts, if any, lie that near.
    coarse = TOLERANCE.search_chord
    shapes = [shape(i, coarse) for i in range(len(outlines))]
    pairs = STRtree(shapes).query(shapes, predicate="dwithin", distance=kerf + 2.0 * coarse).T
    found = []
    for i, j in pairs.tolist():
        if i >= j or outlines[i].part == outlines[j].part:
            continue
        gap = shape(i, TOLERANCE.chord).distance(shape(j, TOLERANCE.chord))
        if gap < kerf - 2.0 * TOLERANCE.chord:
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
    side, shape = -kerf / 2.0 if hole else kerf / 2.0, polygon(path)
    moved = shape.buffer(side, join_style="mitre", mitre_limit=2.0)
    if moved.is_empty:
        return None, True
    back = moved.buffer(-side, join_style="mitre", mitre_limit=2.0)
    slack = 4.0 * TOLERANCE.chord
    lost = moved.geom_type != "Polygon" or bool(moved.interiors)
    lost = lost or not back.symmetric_difference(shape).buffer(-slack).is_empty
    if moved.geom_type != "Polygon":
        moved = max(moved.geoms, key=lambda g: g.area)
    ring = ring_path(moved.exterior)
    return clockwise(ring) if hole else counter_clockwise(ring), lost


class _Mover:
    """Moves contours by half the kerf; copies that lie alike are worked out once."""

    def __init__(self, kerf: float) -> None:
        self.kerf = kerf
        self._known: dict[tuple[tuple[float, ...], bool], Path | None] = {}

    def moved(self, path: Path, *, hole: bool) -> Path | None:
        """Return the contour moved segment by segment; None if that can't be done."""
        x, y = path.start
        local = path.transformed(Affine.move(-x, -y))
        key = (tuple(round(v, 7) for v in _numbers(local)), hole)
        if key not in self._known:
            self._known[key] = _moved(local, self.kerf, hole=hole)
        moved = self._known[key]
        return None if moved is None else moved.transformed(Affine.move(x, y))


def _numbers(path: Path) -> Iterator[float]:
    """Give all numbers of a path, those of each kind of segment told apart by their count."""
    for segment in path.segments:
        if isinstance(segment, Line):
            yield from segment.end
        elif isinstance(segment, Bezier):
            yield from (*segment.first, *segment.second, *segment.end)
        else:
            yield from (*segment.centre, *segment.u, *segment.v, segment.begin, segment.sweep)
        yield math.inf


def _moved(path: Path, kerf: float, *, hole: bool) -> Path | None:
    """Return a contour moved by half the kerf, segment by segment; None if that can't be done."""
    by = -kerf / 2.0 if hole else kerf / 2.0
    ring = counter_clockwise(path)
    if len(ring.segments) == 1 and isinstance(ring.segments[0], Arc) and ring.segments[0].radius:
        # A whole circle: nothing can get in its own way.
        circle = parallel_segment(ring.segments[0], by)
        moved = None if circle is None else Path(circle)
        return moved.reversed() if moved is not None and hole else moved
    moved = parallel_path(ring, [by] * len(ring.segments))
    if moved is None or not _keeps_off(moved, ring, abs(by)):
        return None
    return moved.reversed() if hole else moved


def _keeps_off(moved: Path, path: Path, by: float) -> bool:
    """Whether the moved contour keeps its distance from the old one everywhere."""
    ring, old = (LinearRing(np.array(p.points(TOLERANCE.chord))) for p in (moved, path))
    return bool(ring.distance(old) >= by - 2.0 * TOLERANCE.chord)
