"""What of a drawing a machine does, as strokes it can run."""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import dataclass, replace

from nesting.errors import Finding, Severity
from nesting.pattern.measure import bounds
from nesting.pattern.path import Affine, Arc, Line, Path, Segment
from nesting.tolerance import TOLERANCE
from nesting.writing.machines.contour import circle, corners
from nesting.writing.machines.machine import RUN, Machine
from nesting.writing.neutral.drawing import Drawing, Operation, Stroke

__all__ = ["Work", "extent", "moved", "narrow_corners", "work"]

_BLUNT = 0.3
"""Radians: an inner corner that turns by less is no trouble for any tool."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Work:
    """The strokes to run, the lines of text to write, and what is left out (findings)."""

    drawing: Drawing
    findings: tuple[Finding, ...]


def work(drawing: Drawing, machine: Machine) -> Work:
    """Return what a machine does of a drawing; drill holes become strokes.

    A hole is a circle, or a path of no length if it has no diameter. Left out: edges and
    sewing lines, what the machine has no tool for, and what belongs on the underside.
    """
    holes = [
        Stroke(
            operation=Operation.DRILL,
            path=circle(hole.at, hole.diameter)
            if hole.diameter > 0.0
            else Path((Line(hole.at, hole.at),)),
            part=hole.part,
            face=hole.face,
            under=hole.under,
        )
        for hole in drawing.holes
    ]
    strokes = [stroke for stroke in (*drawing.strokes, *holes) if stroke.operation in RUN]
    left = Counter(s.operation for s in strokes if machine.tool(s.operation) is None)
    under = sum(s.under for s in strokes if machine.tool(s.operation) is not None)
    kept = tuple(s for s in strokes if machine.tool(s.operation) is not None and not s.under)
    labels = tuple(
        label
        for label in drawing.labels
        if machine.tool(label.operation) is not None and not label.under
    )
    findings = [
        _note(f"{count} strokes to {operation} are left out: no tool does that", count)
        for operation, count in sorted(left.items())
        if operation is not Operation.TEXT
    ]
    texts = sum(
        label.operation in RUN and machine.tool(label.operation) is None for label in drawing.labels
    )
    if texts:
        findings.append(_note(f"{texts} lines of text are left out: no tool does that", texts))
    if under:
        findings.append(_note(f"{under} marks on the underside are to be made by hand", under))
    # The kerf itself rounds corners: that much is known.
    if machine.smallest_corner > machine.kerf:
        findings += narrow_corners(kept, drawing, smallest=machine.smallest_corner)
    return Work(
        drawing=replace(drawing, strokes=kept, holes=(), labels=labels), findings=tuple(findings)
    )


def _note(text: str, amount: float, *parts: str) -> Finding:
    return Finding(
        kind="machine", text=text, severity=Severity.NOTE, amount=float(amount), parts=parts
    )


def narrow_corners(
    strokes: tuple[Stroke, ...], drawing: Drawing, *, smallest: float
) -> list[Finding]:
    """Name the pieces with inner corners that a tool of that smallest radius (mm) can't do."""
    found: Counter[str] = Counter()
    for stroke in strokes:
        if stroke.operation is not Operation.CUT or not stroke.path.closed:
            continue
        tight = sum(turn < -_BLUNT for _, turn in corners(stroke.path))
        tight += sum(
            radius is not None and radius < smallest - TOLERANCE.chord
            for radius in (_hollow(segment) for segment in stroke.path.segments)
        )
        if tight:
            known = stroke.part is not None and stroke.part < len(drawing.parts)
            name = drawing.parts[stroke.part or 0].piece.name if known else "a contour"
            found[name] += tight
    return [
        _note(
            f"{name}: {count} inner corners are tighter than {smallest:g} mm, the least this "
            "machine cuts: finish them by hand",
            count,
            name,
        )
        for name, count in sorted(found.items())
    ]


def _hollow(segment: Segment) -> float | None:
    """Return the radius of an arc that bends to the right (inwards), else None."""
    if not isinstance(segment, Arc) or segment.radius is None:
        return None
    (ux, uy), (vx, vy) = segment.u, segment.v
    return segment.radius if segment.sweep * (ux * vy - uy * vx) < 0.0 else None


def moved(drawing: Drawing, by: Affine) -> Drawing:
    """Return a drawing mapped by a movement or turn; its length and width are the caller's."""
    dx, dy = by.vector((1.0, 0.0))
    turn = math.degrees(math.atan2(dy, dx))
    return replace(
        drawing,
        strokes=tuple(replace(s, path=s.path.transformed(by)) for s in drawing.strokes),
        holes=tuple(replace(h, at=by(h.at)) for h in drawing.holes),
        labels=tuple(
            replace(label, at=by(label.at), angle=label.angle + turn) for label in drawing.labels
        ),
    )


def extent(drawing: Drawing) -> tuple[float, float, float, float]:
    """Return the box (x0, y0, x1, y1) in mm around all strokes; zeros if there are none."""
    boxes = [bounds(stroke.path) for stroke in drawing.strokes]
    if not boxes:
        return (0.0, 0.0, 0.0, 0.0)
    x0, y0, x1, y1 = zip(*boxes, strict=True)
    return (min(x0), min(y0), max(x1), max(y1))
