"""A picture with what was found in it drawn over what was photographed."""

from __future__ import annotations

import io
from collections.abc import Callable, Sequence
from pathlib import Path as FilePath

import numpy as np
from PIL import Image, ImageDraw, ImageFont

from nesting.pattern.measure import bounds
from nesting.pattern.path import Path, Point
from nesting.reading.pattern_file import Found
from nesting.reading.pictures.shown import Shown
from nesting.whole import whole_file

__all__ = ["overlay_jpeg", "write_overlay"]

_SIDE, _SCREEN = 2400, 1400
"""Pixels of the longer side, of a picture that people look at, and on a page."""
_CUT, _REFERENCE, _WORDS = (230, 40, 40), (30, 110, 220), (255, 255, 255)
_UNREAD = (240, 150, 20)
_BEHIND = (20, 20, 20)
_CHORD = 0.1


def write_overlay(
    shown: Shown, found: Sequence[Found], path: FilePath, *, overwrite: bool = False
) -> None:
    """Write a PNG, whole or not at all: outlines red, references blue, unread orange, names."""
    with whole_file(path, overwrite=overwrite) as temporary:
        _overlay(shown, found, side=_SIDE).save(temporary, format="PNG")


def overlay_jpeg(shown: Shown, found: Sequence[Found]) -> bytes:
    """Return the same as a smaller JPEG, to be looked at on a screen."""
    held = io.BytesIO()
    _overlay(shown, found, side=_SCREEN).save(held, format="JPEG", quality=85)
    return held.getvalue()


def _overlay(shown: Shown, found: Sequence[Found], *, side: int) -> Image.Image:
    longest = max(shown.pixels.shape[:2])
    share = min(1.0, side / longest)
    image = Image.fromarray(np.ascontiguousarray(shown.pixels))
    if share < 1.0:
        image = image.resize((round(image.width * share), round(image.height * share)))
    draw = ImageDraw.Draw(image)
    wide = max(2, image.width // 700)
    for corners in shown.references:
        ring = [((x + 0.5) * share, (y + 0.5) * share) for x, y in corners]
        draw.line([*ring, ring[0]], fill=_REFERENCE, width=wide)
    for left, top, right, low in shown.unread:
        draw.rectangle([left * share, top * share, right * share, low * share], outline=_UNREAD)
    scale = share / shown.mm_per_pixel

    def placed(at: Point) -> Point:
        x, y = at[0] - shown.origin[0], shown.origin[1] - at[1]
        return (x * scale + 0.5 * share, y * scale + 0.5 * share)

    for outline in shown.outlines:
        draw.line(_ring(outline, placed), fill=_CUT, width=wide, joint="curve")
    font = ImageFont.load_default(size=max(12, image.width // 70))
    for one in found:
        x0, y0, x1, y1 = bounds(one.piece.cut)
        off = "" if one.uncertainty is None else f"\n±{one.uncertainty:.1f} mm"
        draw.multiline_text(
            placed(((x0 + x1) / 2.0, (y0 + y1) / 2.0)),
            f"{one.piece.name}{off}",
            fill=_WORDS,
            font=font,
            anchor="mm",
            align="center",
            stroke_width=max(1, wide // 2),
            stroke_fill=_BEHIND,
        )
    return image


def _ring(path: Path, placed: Callable[[Point], Point]) -> list[Point]:
    points = [placed(point) for point in path.points(_CHORD)]
    return [*points, points[0]] if path.closed else points
