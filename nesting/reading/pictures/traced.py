"""Shapes that somebody drew by hand over a picture, point by point: as they truly are, in mm."""

from __future__ import annotations

import math
from collections.abc import Sequence

from nesting.errors import PatternError
from nesting.material.picture import kind_and_size
from nesting.reading.pictures.picture import read_picture

__all__ = ["Scale", "lying_under", "traced", "upright"]

Point = tuple[float, float]
Scale = tuple[Point, Point, float]
"""Two points of a picture (pixels, y downwards), and how far apart they are in truth (mm)."""

_NEAR = 5.0
"""Points of a scale that are nearer (pixels) say nothing: a pixel more would be 20 %."""


def traced(
    shapes: Sequence[Sequence[Point]], *, scale: Scale | None
) -> tuple[tuple[Point, ...], ...]:
    """Return shapes in mm, y upwards, from the lower left corner of the first one.

    Parameters
    ----------
    shapes
        Corners of each, y downwards: in pixels, or in mm where there is no scale.
    scale
        How large a pixel is.

    Raises
    ------
    PatternError
        The scale says nothing, or a shape has too few corners or is nowhere.

    Examples
    --------
    >>> traced([[(100, 300), (300, 300), (300, 200)]], scale=((0, 0), (100, 0), 50.0))
    (((0.0, 0.0), (100.0, 0.0), (100.0, 50.0)),)

    """
    factor = 1.0
    if scale is not None:
        first, second, length = scale
        apart = math.dist(first, second)
        if not (apart >= _NEAR and 0.0 < length < math.inf):
            raise PatternError(
                "the two points of the scale are too near, or their distance is none",
                hint="take two points far apart, and measure between them",
            )
        factor = length / apart
    for shape in shapes:
        if len(shape) < 3:
            raise PatternError("a shape has fewer than three corners", hint="click more of them")
        if not all(math.isfinite(value) for point in shape for value in point):
            raise PatternError("a corner is nowhere", hint="draw it again")
    if not shapes:
        raise PatternError("nothing is drawn", hint="click along the edge of the hide")
    x0 = min(x for x, _ in shapes[0])
    y0 = max(y for _, y in shapes[0])
    return tuple(
        tuple((round((x - x0) * factor, 2), round((y0 - y) * factor, 2)) for x, y in shape)
        for shape in shapes
    )


def lying_under(picture: bytes, outline: Sequence[Point], *, scale: Scale) -> tuple[Point, Point]:
    """Return where the lower left corner of a picture lies from that of what was drawn, its size.

    In mm, y upwards; `picture`: its file, `outline` and `scale` as of `traced`.
    """
    wide, high = kind_and_size(picture)[1]
    box = [(0.0, float(high)), (float(wide), float(high)), (float(wide), 0.0)]
    _, (at, _, (x1, y1)) = traced([outline, box], scale=scale)
    return at, (x1 - at[0], y1 - at[1])


_LONGEST = 3000
"""Pixels of the longer side of what is drawn upon: not a millimetre each of a hide of 2.5 m."""


def upright(data: bytes) -> tuple[bytes, tuple[int, int]]:
    """Return a picture as one looks at it, as a JPEG small enough to lie under markers, its size.

    Raises
    ------
    PatternError
        It is no picture that is read.

    """
    from nesting.reading.pictures.ground_file import jpeg  # it loads OpenCV, and few trace a hide

    held = jpeg(read_picture(data).pixels, longest=_LONGEST)
    return held, kind_and_size(held)[1]
