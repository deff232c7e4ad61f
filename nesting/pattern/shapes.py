"""Plain shapes as closed paths, counter-clockwise, starting lower left (mm)."""

from __future__ import annotations

import math
from collections.abc import Sequence

from nesting.errors import PatternError
from nesting.pattern.path import Arc, Line, Path, Point, Segment

__all__ = ["RECTANGLE_SIDES", "circle", "ellipse", "polygon_path", "rectangle"]

RECTANGLE_SIDES = ("bottom", "right", "top", "left")
"""Names of a rectangle's sides in the order of its edges 1 to 4 (corner arcs apart)."""


def rectangle(length: float, width: float, *, radius: float = 0.0, at: Point = (0.0, 0.0)) -> Path:
    """Return a rectangle, counter-clockwise from its lower left corner.

    With a corner `radius` the corners are true quarter circles, and the path starts
    at the end of the lower left one. Sides of no length are left out.

    Parameters
    ----------
    length, width
        Along x and along y (mm).
    radius
        Of the corners (mm).
    at
        The lower left corner (mm).

    Returns
    -------
    Path
        Four lines, or lines and arcs by turns.

    Raises
    ------
    PatternError
        A length isn't more than 0, or the radius doesn't fit.

    Examples
    --------
    >>> rectangle(220, 160).segments[0]
    Line(start=(0.0, 0.0), end=(220.0, 0.0))
    >>> len(rectangle(220, 160, radius=20).segments)
    8

    """
    _positive(length, "a rectangle's length")
    _positive(width, "a rectangle's width")
    if not 0.0 <= radius <= min(length, width) / 2 * (1 + 1e-12):
        raise PatternError(
            f"corner radius {radius:g} mm doesn't fit a rectangle of {length:g} × {width:g} mm",
            hint="at most half the shorter side",
        )
    x, y = at
    if radius == 0.0:
        corners = [(x, y), (x + length, y), (x + length, y + width), (x, y + width)]
        return Path.polyline(corners, closed=True)
    r, right, top = radius, x + length, y + width
    ends = [
        ((x + r, y), (right - r, y), (right - r, y + r)),
        ((right, y + r), (right, top - r), (right - r, top - r)),
        ((right - r, top), (x + r, top), (x + r, top - r)),
        ((x, top - r), (x, y + r), (x + r, y + r)),
    ]
    segments: list[Segment] = []
    for i, (start, end, centre) in enumerate(ends):
        if math.dist(start, end) > 1e-9:
            segments.append(Line(start, end))
        begin = (i - 1) * math.pi / 2
        segments.append(Arc(centre, (r, 0.0), (0.0, r), begin, math.pi / 2))
    return Path(tuple(segments))


def circle(diameter: float, *, centre: Point | None = None) -> Path:
    """Return a circle in its bounding box's lower left corner, or about `centre`.

    Parameters
    ----------
    diameter
        In mm.
    centre
        (x, y) in mm.

    Returns
    -------
    Path
        Two half circles, counter-clockwise from the left.

    Examples
    --------
    >>> circle(60).segments[0].radius
    30.0
    >>> circle(60, centre=(100, 50)).segments[0].centre
    (100, 50)

    """
    return ellipse(diameter, diameter, centre=centre)


def ellipse(length: float, width: float, *, centre: Point | None = None) -> Path:
    """Return an ellipse with its axes along x and y.

    Parameters
    ----------
    length, width
        Along x and along y (mm).
    centre
        (x, y) in mm; without it the bounding box's lower left corner is at the origin.

    Returns
    -------
    Path
        Two half arcs, counter-clockwise from the left end.

    Raises
    ------
    PatternError
        A length isn't more than 0.

    Examples
    --------
    >>> ellipse(120, 60).closed, ellipse(120, 60).segments[0].centre
    (True, (60.0, 30.0))

    """
    _positive(length, "an ellipse's length")
    _positive(width, "an ellipse's width")
    middle = centre or (length / 2, width / 2)
    u, v = (length / 2, 0.0), (0.0, width / 2)
    halves = (Arc(middle, u, v, math.pi, math.pi), Arc(middle, u, v, 0.0, math.pi))
    return Path(halves)


def polygon_path(points: Sequence[Point]) -> Path:
    """Return straight segments through the points and back to the first, as drawn."""
    ring = [(float(x), float(y)) for x, y in points]
    if ring and ring[0] == ring[-1]:
        ring.pop()
    if len(ring) < 3:
        raise PatternError(f"an outline needs at least 3 points, got {len(ring)}")
    return Path.polyline(ring, closed=True)


def _positive(value: float, what: str) -> None:
    if not (math.isfinite(value) and value > 0.0):
        raise PatternError(f"{what} has to be more than 0, got {value:g} mm")
