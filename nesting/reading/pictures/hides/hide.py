"""A hide on a floor, measured in a photograph."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import affinity

from nesting.errors import Finding, Severity
from nesting.reading.pictures.edges import Points
from nesting.reading.pictures.flat import Flat
from nesting.reading.pictures.hides.backbone import Backbone, guessed_backbone
from nesting.reading.pictures.hides.chalk import Drawn, Ink, drawn_on
from nesting.reading.pictures.hides.cover import Cover, covered
from nesting.reading.pictures.hides.standing_out import standing_out

__all__ = ["TOLERANCE_DRAWN", "FoundHide", "measure_hide"]

TOLERANCE_DRAWN = 1.0
"""How far an outline may lie from the edge because it has few corners (mm)."""

_MOST_OFF = 5.0
"""An edge that may be off by more (mm) is told: the hide is hard to lay on then (own choice)."""
_UNCLEAR = 0.03
"""Share of the edge without a step of colour that is told."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FoundHide:
    """A hide, in mm, y upwards, from the lower left corner of its picture.

    `outline`: inside its edge. `flaws`: what is marked. `unsaid`: what else stands out.
    `off`: how far the outline may lie off anywhere (mm), in all. `box`: x0, y0, x1, y1 of the
    picture in the flat one (pixels, y down).
    """

    outline: shapely.Polygon
    flaws: tuple[shapely.Polygon, ...]
    unsaid: tuple[shapely.Polygon, ...]
    backbone: Backbone
    off: float
    box: tuple[int, int, int, int]
    said: str
    findings: tuple[Finding, ...]

    @property
    def area(self) -> float:
        """The area within its outline, flaws included (mm²)."""
        return float(self.outline.area)


def measure_hide(
    flat: Flat, *, inks: Sequence[Ink] = (), line: Ink | None = None, guess: bool = False
) -> FoundHide:
    """Measure a hide.

    Parameters
    ----------
    flat
        The picture, flat.
    inks
        What flaws are marked with.
    line
        What the backbone is drawn with, None if with the same, or not at all.
    guess
        Guess the backbone, whatever is drawn.

    Raises
    ------
    PatternError
        No hide is seen, it runs off the picture, or it can't be told from the floor.

    """
    mm = flat.mm_per_pixel
    lying = [corners for corners in flat.references if _small(corners, flat)]
    cover = covered(flat.pixels, flat.seen, references=lying)
    sheets = _sheets(flat, lying)
    drawn = [_drawn(flat, cover, ink, sheets) for ink in inks]
    lines = [] if guess else [one.line for one in drawn if one.line is not None]
    if line is not None:
        said = _drawn(flat, cover, line, sheets).line
        lines = [] if said is None else [said]
    box = _box(cover.outline, flat, room=_ROOM / mm)
    to = _Way(box, mm)
    edge = to.area(cover.outline)
    # What is narrower is a joint of the floor, or a shred that nothing is cut from.
    wide = edge.buffer(-_SHRED).buffer(_SHRED - TOLERANCE_DRAWN)
    outline = wide.simplify(TOLERANCE_DRAWN)
    outline = max(getattr(outline, "geoms", [outline]), key=lambda part: part.area)
    taken = [flaw for one in drawn for flaw in one.flaws]
    others = standing_out(flat.pixels, cover.outline, taken, mm=mm, without=sheets)
    unsaid = tuple(map(to.area, others))
    off = flat.off_of(shapely.get_coordinates(cover.outline.exterior)) + cover.scatter * mm
    return FoundHide(
        outline=outline,
        flaws=tuple(_larger(to.area(flaw)) for flaw in taken),
        unsaid=unsaid,
        backbone=_backbone(lines[0] if lines else None, to, edge),
        off=off + 2.0 * TOLERANCE_DRAWN,
        box=box,
        said=flat.said,
        findings=(*flat.findings, *_told(flat, cover, drawn, inks, off), *_asked(unsaid)),
    )


def _larger(area: shapely.Polygon) -> shapely.Polygon:
    """Return an area with few corners that has all of another."""
    larger = area.buffer(TOLERANCE_DRAWN).simplify(TOLERANCE_DRAWN)
    assert isinstance(larger, shapely.Polygon)
    return larger


_SHRED = 8.0
"""Half as wide as what is no hide (mm, own choice)."""

_ROOM = 30.0
"""Floor around the hide that its picture shows (mm)."""


def _small(corners: Points, flat: Flat) -> bool:
    """Whether a reference is a sheet that lies there, and no frame around all."""
    return bool(shapely.Polygon(corners).area < _FRAME * flat.pixels.size / 3.0)


_FRAME = 0.2
"""Share of the picture from which on a reference is taken for a frame."""


def _sheets(flat: Flat, lying: Sequence[Points]) -> NDArray[np.bool_]:
    mask = np.zeros(flat.pixels.shape[:2], np.uint8)
    for corners in lying:
        cv2.fillPoly(mask, [np.rint(corners).astype(np.int32)], 1)
    return cv2.dilate(mask, np.ones((9, 9))) > 0


def _drawn(flat: Flat, cover: Cover, ink: Ink, sheets: NDArray[np.bool_]) -> Drawn:
    return drawn_on(flat.pixels, cover.outline, ink, mm=flat.mm_per_pixel, without=sheets)


def _box(outline: shapely.Polygon, flat: Flat, *, room: float) -> tuple[int, int, int, int]:
    x0, y0, x1, y1 = outline.bounds
    high, wide = flat.pixels.shape[:2]
    return (
        max(0, int(x0 - room)),
        max(0, int(y0 - room)),
        min(wide, int(x1 + room) + 2),
        min(high, int(y1 + room) + 2),
    )


class _Way:
    """From pixels of the flat picture to mm from the lower left corner of a part of it."""

    def __init__(self, box: tuple[int, int, int, int], mm: float) -> None:
        # Places are counted from the middle of the first pixel, the picture ends at its edge.
        self._by = (mm, 0.0, 0.0, -mm, (0.5 - box[0]) * mm, (box[3] - 0.5) * mm)

    def area(self, area: shapely.Polygon) -> shapely.Polygon:
        return affinity.affine_transform(area, self._by)

    def point(self, at: tuple[float, float]) -> tuple[float, float]:
        a, _, _, d, e, f = self._by
        return a * at[0] + e, d * at[1] + f


def _backbone(
    line: tuple[tuple[float, float], tuple[float, float]] | None,
    to: _Way,
    edge: shapely.Polygon,
) -> Backbone:
    if line is None:
        return guessed_backbone(edge)
    (x0, y0), (x1, y1) = sorted(map(to.point, line))
    angle = float(np.degrees(np.arctan2(y1 - y0, x1 - x0)))
    return Backbone(angle=angle, why="the long line that is drawn on it", guess=False)


def _told(
    flat: Flat, cover: Cover, drawn: Sequence[Drawn], inks: Sequence[Ink], off: float
) -> list[Finding]:
    said = []
    if off > _MOST_OFF:
        text = f"its outline may be off by {off:.1f} mm: lay one more sheet where there is none yet"
        if not any(flat.lying):
            text = (
                "corners that are only said don't tell what the lens does, and the outline may be"
                f" off by {off:.1f} mm: lay a sheet of paper at both ends of the hide, and"
                " photograph it again"
            )
        elif len(flat.references) == 1:
            text = (
                f"one sheet tells the scale near it only, and the outline may be off by {off:.1f}"
                " mm: lay a second one at the hide's other end, and photograph it again"
            )
        said.append(("hide-off", text))
    if cover.unclear > _UNCLEAR:
        said.append(
            (
                "hide-edge",
                f"along {cover.unclear:.0%} of its edge hide and floor have the same colour: look"
                " at the picture of what was found",
            )
        )
    if rings := sum(one.open_ for one in drawn):
        said.append(
            (
                "hide-ring",
                f"{rings} of what is marked is no closed ring: all between its ends is taken"
                " as flaw",
            )
        )
    for one, ink in zip(drawn, inks, strict=True):
        if not one.flaws:
            said.append(("hide-flaws", f"no flaw is marked with {ink.name}"))
    return [Finding(kind=kind, text=text, severity=Severity.NOTE) for kind, text in said]


def _asked(unsaid: Sequence[shapely.Polygon]) -> list[Finding]:
    """Return the question what the patches are that were taken for nothing."""
    if not unsaid:
        return []
    what = "1 patch" if len(unsaid) == 1 else f"{len(unsaid)} patches"
    text = (
        f"{what} of another colour stand{'s' if len(unsaid) == 1 else ''} out and"
        f" {'is' if len(unsaid) == 1 else 'are'} taken for no flaw: say with what flaws are"
        ' marked (--flaws "red stickers"), or ring what is one'
    )
    return [Finding(kind="hide-patches", text=text, severity=Severity.NOTE)]
