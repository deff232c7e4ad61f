"""Seam allowance: the cutting line from the sewing line, and the other way round.

Common practice: the allowance is square to the seam, corners are mitred, and an edge on the fold
has none. Between edges with different allowances, too, the cutting lines run on until they meet,
at inner corners as at outer ones; where one is too short to be met, there is a step.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from shapely import Polygon

from nesting.errors import Finding, PatternError, Severity
from nesting.pattern.edges import edge_widths
from nesting.pattern.measure import bounds, counter_clockwise
from nesting.pattern.parallel.bands import grown, rails, shrunk, unexplained
from nesting.pattern.parallel.corner import MITRE
from nesting.pattern.parallel.offset import parallel_path
from nesting.pattern.parallel.trace import traced
from nesting.pattern.path import Path

__all__ = ["Widths", "add_allowance", "inset", "sewing_line"]

Widths = float | Mapping[int, float] | Sequence[float]
"""One width (mm) all round, widths by edge number (from 1), or one for every segment."""

LOST = 0.5
"""Bits lost when an outline is trimmed are told from this area on (mm²; own choice)."""


def add_allowance(sew: Path, widths: Widths, *, mitre: float = MITRE) -> Path:
    """Return the cutting line outside a sewing line.

    Lines stay lines, circular arcs arcs, other curves Béziers within 0.5 µm of the true parallel.

    Parameters
    ----------
    sew
        The sewing line, closed and simple, either way round (mm).
    widths
        How far outside (mm): all round, by edge number (from 1), or for every segment. Edges
        left out of a mapping have no allowance.
    mitre
        Longest mitre of a corner, in widths; beyond it the corner is cut off.

    Returns
    -------
    Path
        The cutting line, counter-clockwise (mm).

    Raises
    ------
    PatternError
        If a width is negative, not finite, or larger than the piece.

    Examples
    --------
    >>> sew = rectangle(200, 140)
    >>> add_allowance(sew, 10).points(1.0)
    ((-10.0, -10.0), (210.0, -10.0), (210.0, 150.0), (-10.0, 150.0))
    >>> add_allowance(sew, {1: 10, 2: 10, 3: 25, 4: 10}).points(1.0)[2]
    (210.0, 165.0)

    """
    ring = counter_clockwise(sew)
    by = _checked(ring, widths)
    xmin, ymin, xmax, ymax = bounds(ring)
    size = max(xmax - xmin, ymax - ymin)
    if max(by) > size:
        raise PatternError(
            f"the seam allowance of {max(by):g} mm is larger than the piece ({size:.4g} mm)",
            hint="check its unit",
        )
    if not any(by):
        return ring
    direct = parallel_path(ring, by, mitre=mitre)
    if direct is not None:
        return direct
    return traced(grown(ring, by, mitre=mitre), rails=rails(ring, by), near=ring.start)


def sewing_line(cut: Path, widths: Widths, *, mitre: float = MITRE) -> Path:
    """Return the sewing line `widths` (mm) inside a cutting line: `inset` without its findings."""
    return inset(cut, widths, mitre=mitre)[0]


def inset(
    outline: Path, widths: Widths, *, mitre: float = MITRE
) -> tuple[Path, tuple[Finding, ...]]:
    """Return the outline `widths` (mm) inside another, and what was lost on the way.

    A bit that is narrower than twice the width disappears; each one that was joined
    to the rest, and each separate part that would be left beside the largest, is told
    with its area and place.

    Raises
    ------
    PatternError
        If a width is negative or not finite, or nothing is left.

    """
    ring = counter_clockwise(outline)
    by = _checked(ring, widths)
    if not any(by):
        return ring, ()
    direct = parallel_path(ring, [-w for w in by], mitre=mitre)
    if direct is not None:
        return direct, ()
    left = shrunk(ring, by, mitre=mitre)
    if not left:
        raise PatternError(
            f"nothing is left of the piece when {max(by):g} mm are taken off its edges",
            hint="the seam allowance or gap is larger than the piece",
        )
    path = traced(left[0], rails=rails(ring, [-w for w in by]), near=ring.start)
    return path, (*map(_apart, left[1:]), *_lost(ring, by, left, mitre=mitre))


def _checked(ring: Path, widths: Widths) -> tuple[float, ...]:
    if isinstance(widths, Sequence):
        by = tuple(float(w) for w in widths)
        if len(by) != len(ring.segments):
            raise PatternError(f"{len(by)} widths given for {len(ring.segments)} segments")
    else:
        by = edge_widths(ring, widths)
    for w in by:
        if not math.isfinite(w) or w < 0.0:
            raise PatternError(f"a seam allowance has to be 0 or more, got {w:g} mm")
    return by


def _apart(bit: Polygon) -> Finding:
    at = bit.representative_point()
    return Finding(
        kind="lost",
        text=f"trimming cuts the piece apart: a part of {bit.area:.4g} mm² "
        f"near ({at.x:.4g}, {at.y:.4g}) is left out",
        amount=bit.area,
        at=(at.x, at.y),
    )


def _lost(
    ring: Path, by: Sequence[float], left: Sequence[Polygon], *, mitre: float
) -> list[Finding]:
    """Return a note for each bit that the strips do not explain: it was too narrow."""
    bits = [bit for bit in unexplained(ring, by, left, mitre=mitre) if bit.area >= LOST]
    out = []
    for bit in bits:
        at = bit.representative_point()
        out.append(
            Finding(
                kind="lost",
                text=f"a narrow bit of {bit.area:.4g} mm² near ({at.x:.4g}, {at.y:.4g}) "
                "is lost in trimming",
                severity=Severity.NOTE,
                amount=bit.area,
                at=(at.x, at.y),
            )
        )
    return out
