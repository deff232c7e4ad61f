"""Blades: over-cut, and the offset of a blade that trails its axis.

A drag knife's tip follows its axis at a fixed distance, pointing away from where the
axis goes (a tractrix). The tip runs along a curve exactly if the axis keeps ahead of
it by the offset in the curve's direction: on a line the axis is moved forwards, on a
circle it runs on a larger one, and at a corner it turns about the tip.
"""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

from nesting.errors import Finding, Severity
from nesting.pattern.measure import segment_length
from nesting.pattern.path import Arc, Line, Path, Point, Segment
from nesting.pattern.segment import direction, part
from nesting.writing.machines.contour import is_dot, turning
from nesting.writing.machines.machine import Machine
from nesting.writing.neutral.drawing import Drawing, Operation

__all__ = ["axis_path", "for_blade", "over_cut", "starts_uncut"]


_WORST = math.radians(170.0)
"""How far off its way the tip may point where an outline starts (own choice: nearly back)."""


def for_blade(drawing: Drawing, machine: Machine) -> Drawing:
    """Return the drawing with the blade's strokes as the machine's axis has to run them.

    Every stroke of the tool that cuts is changed: closed ones by over-cut, all by the
    blade's offset if the machine's file has to compensate for it.
    """
    cutter = machine.tool(Operation.CUT)
    offset = machine.blade_offset if machine.compensates else 0.0
    if cutter is None or not (machine.over_cut or offset):
        return drawing
    strokes = []
    for stroke in drawing.strokes:
        tool, path = machine.tool(stroke.operation), stroke.path
        if tool is not None and tool.name == cutter.name and not is_dot(path):
            if path.closed and machine.over_cut:
                path = over_cut(path, by=machine.over_cut)
            if offset:
                path = axis_path(path, offset=offset, chord=machine.chord)
        strokes.append(replace(stroke, path=path))
    return replace(drawing, strokes=tuple(strokes))


def starts_uncut(drawing: Drawing, machine: Machine) -> tuple[Finding, ...]:
    """Warn if over-cut does not reach as far as a trailing tip takes to swing in.

    A tip at an angle a₀ to its way swings in by tan(a / 2) = tan(a₀ / 2) · exp(-s / offset)
    after s mm (the tractrix) and is then off · sin a beside the line. Over-cut has to run
    until that is within the machine's chord; a₀ is taken as `_WORST`.
    """
    offset = machine.blade_offset
    closed = any(s.operation is Operation.CUT and s.path.closed for s in drawing.strokes)
    if not offset or not closed:
        return ()
    near = math.tan(0.5 * math.asin(min(1.0, machine.chord / offset)))
    needed = offset * math.log(math.tan(0.5 * _WORST) / near)
    if machine.over_cut >= needed - 1e-9:
        return ()
    text = (
        f"over_cut is {machine.over_cut:g} mm: with the tip {offset:g} mm behind its axis the "
        f"starts of outlines may stay uncut; {math.ceil(10.0 * needed) / 10.0:g} mm closes them"
    )
    return (Finding(kind="machine", text=text, severity=Severity.NOTE, amount=needed),)


def over_cut(path: Path, *, by: float) -> Path:
    """Return a closed path that runs on past its start by a length (mm); at most once round."""
    more: list[Segment] = []
    left = by
    for segment in path.segments:
        size = segment_length(segment)
        if size >= left:
            more.append(part(segment, 0.0, left / size))
            break
        more.append(segment)
        left -= size
    return Path((*path.segments, *more))


def axis_path(path: Path, *, offset: float, chord: float) -> Path:
    """Return the way of the axis whose trailing tip runs along a path.

    Parameters
    ----------
    path
        What the tip has to follow, in mm.
    offset
        How far the tip trails the axis, in mm.
    chord
        How far the chords that stand for free curves may lie off, in mm.

    Notes
    -----
    The tip follows if it points along the path at the start; else it swings in within
    the first few offsets, which over-cut runs over again.

    """
    out: list[Segment] = []
    for i, segment in enumerate(path.segments):
        if i:
            turn = turning(path.segments[i - 1], segment)
            if abs(turn) > 1e-9:
                tx, ty = direction(path.segments[i - 1], 1.0)
                ahead = (tx * offset, ty * offset)
                out.append(Arc(segment.start, ahead, (-ahead[1], ahead[0]), 0.0, turn))
        out += _ahead(segment, offset, chord)
    return Path(tuple(out))


def _ahead(segment: Segment, offset: float, chord: float) -> list[Segment]:
    """Return the segment moved ahead by `offset` in its own direction."""

    def moved(t: float) -> Point:
        (x, y), (dx, dy) = segment.at(t), direction(segment, t)
        return (x + dx * offset, y + dy * offset)

    if isinstance(segment, Line):
        return [Line(moved(0.0), moved(1.0))]
    if isinstance(segment, Arc) and segment.radius is not None:
        k = math.copysign(offset / segment.radius, segment.sweep)
        (ux, uy), (vx, vy) = segment.u, segment.v
        u, v = (ux + k * vx, uy + k * vy), (vx - k * ux, vy - k * uy)
        return [Arc(segment.centre, u, v, segment.begin, segment.sweep)]
    # Where a curve bends more sharply than the offset the axis moves further than the tip.
    n = 4 * len(segment.points(chord))
    points = [moved(i / n) for i in range(n + 1)]
    return [Line(p, q) for p, q in pairwise(points) if p != q]
