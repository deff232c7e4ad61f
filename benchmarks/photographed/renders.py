"""Pictures of known shapes: through a pinhole camera with distortion, or flat as a scanner sees.

The camera is OpenCV's own (`cv2.projectPoints`), the light and the shadows are made up, edges are
smoothed by drawing eight times as fine.
"""

from __future__ import annotations

import io
import math
from collections.abc import Sequence
from dataclasses import dataclass, field

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image
from shapely import (
    LinearRing,
    Polygon,
    distance,
    get_coordinates,
    line_interpolate_point,
    line_locate_point,
)
from shapely import points as shapely_points

FINE = 8
SHIFT = 6
Points = NDArray[np.float64]
Colour = tuple[int, int, int]


@dataclass
class Camera:
    """A pinhole camera that looks at the plane z = 0 (mm)."""

    size: tuple[int, int] = (1600, 1200)
    focal: float = 1400.0
    middle: tuple[float, float] | None = None
    lens: tuple[float, ...] = (0.0, 0.0, 0.0, 0.0)
    tilt: tuple[float, float, float] = (0.0, 0.0, 0.0)
    """Turns about the picture's x, y and z, degrees."""
    at: tuple[float, float] = (0.0, 0.0)
    """The place in the plane that is looked at."""
    far: float = 1000.0

    @property
    def matrix(self) -> Points:
        """The camera's matrix, as OpenCV has it."""
        cx, cy = self.middle or ((self.size[0] - 1) / 2.0, (self.size[1] - 1) / 2.0)
        return np.array([[self.focal, 0, cx], [0, self.focal, cy], [0, 0, 1.0]])

    def seen(self, points: Points) -> Points:
        """Return where points of the plane (mm, y up) lie in the picture."""
        a, b, c = (math.radians(angle) for angle in self.tilt)
        rx = np.array([[1, 0, 0], [0, math.cos(a), -math.sin(a)], [0, math.sin(a), math.cos(a)]])
        ry = np.array([[math.cos(b), 0, math.sin(b)], [0, 1, 0], [-math.sin(b), 0, math.cos(b)]])
        rz = np.array([[math.cos(c), -math.sin(c), 0], [math.sin(c), math.cos(c), 0], [0, 0, 1]])
        turn = rx @ ry @ rz @ np.diag([1.0, -1.0, -1.0])  # y up becomes rows down
        space = np.column_stack([points, np.zeros(len(points))]) - [*self.at, 0.0]
        rotation = cv2.Rodrigues(turn)[0]
        moved = np.array([0.0, 0.0, self.far])
        places, _ = cv2.projectPoints(space, rotation, moved, self.matrix, np.array(self.lens))
        return np.asarray(places, np.float64).reshape(-1, 2)


@dataclass
class Scanner:
    """A flat bed: so many pixels per inch, the paper a little askew."""

    size: tuple[int, int] = (1200, 1000)
    dpi: float = 150.0
    turn: float = 0.0
    corner: tuple[float, float] = (10.0, 10.0)
    """Where the plane's origin lies, mm from the lower left of the picture."""

    def seen(self, points: Points) -> Points:
        """Return where points of the paper (mm, y up) lie in the picture."""
        a, k = math.radians(self.turn), self.dpi / 25.4
        x = points[:, 0] * math.cos(a) - points[:, 1] * math.sin(a) + self.corner[0]
        y = points[:, 0] * math.sin(a) + points[:, 1] * math.cos(a) + self.corner[1]
        return np.column_stack([x * k - 0.5, self.size[1] - y * k - 0.5])


@dataclass
class Thing:
    """A flat thing in the plane: its outline (mm), its cut-outs, its colour."""

    outline: Points
    colour: Colour = (245, 244, 240)
    holes: list[Points] = field(default_factory=list)


def render(
    camera: Camera | Scanner,
    things: Sequence[Thing],
    *,
    ground: Colour = (96, 88, 80),
    light: float = 0.0,
    shadow: float = 0.0,
    reach: float = 0.006,
    noise: float = 0.0,
    seed: int = 1,
) -> NDArray[np.uint8]:
    """Return the picture.

    `light`: how much darker the lower right is than the upper left, as a share. `shadow`: how much
    of the light the soft shadows of things take; `reach`: how wide they are, as a share of the
    picture. `noise`: its standard deviation (0 to 255).
    """
    width, height = camera.size
    paint = np.empty((height, width, 3), np.float32)
    paint[:] = ground
    for thing in things:
        cover = _cover(camera, thing, (width, height))
        if shadow > 0.0:
            off = reach * width
            moved = cv2.warpAffine(
                cover, np.array([[1, 0, off], [0, 1, off]], np.float32), (width, height)
            )
            soft = cv2.GaussianBlur(moved, (0, 0), reach * width)
            paint *= (1.0 - shadow * soft * (1.0 - cover))[..., None]
        rows, columns = (np.flatnonzero(cover.any(axis=axis)) for axis in (1, 0))
        if not len(rows):
            continue
        part = np.s_[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1]
        paint[part] += cover[part][..., None] * (np.array(thing.colour, np.float32) - paint[part])
    across = np.linspace(0.0, 0.5, width, dtype=np.float32)[None, :]
    down = np.linspace(0.0, 0.5, height, dtype=np.float32)[:, None]
    paint *= (1.0 - light * (across + down))[..., None]
    if noise:
        paint += np.random.default_rng(seed).normal(0.0, noise, paint.shape).astype(np.float32)
    return np.clip(paint.round(), 0, 255).astype(np.uint8)


def _cover(camera: Camera | Scanner, thing: Thing, size: tuple[int, int]) -> NDArray[np.float32]:
    """Return how much of each pixel the thing covers."""
    width, height = size
    rings = [camera.seen(dense(ring)) for ring in (thing.outline, *thing.holes)]
    low = np.maximum(np.floor(rings[0].min(axis=0)) - 2, 0).astype(int)
    high = np.minimum(np.ceil(rings[0].max(axis=0)) + 3, [width, height]).astype(int)
    wide, tall = high - low
    cover = np.zeros((height, width), np.float32)
    if wide <= 0 or tall <= 0:
        return cover
    fine = np.zeros((tall * FINE, wide * FINE), np.uint8)
    for ring, value in zip(rings, [255] + [0] * len(thing.holes), strict=True):
        places = ((ring - low + 0.5) * FINE - 0.5) * (1 << SHIFT)
        cv2.fillPoly(fine, [places.round().astype(np.int32)], value, cv2.LINE_8, SHIFT)
    small = cv2.resize(fine, (wide, tall), interpolation=cv2.INTER_AREA)
    cover[low[1] : high[1], low[0] : high[0]] = small.astype(np.float32) / 255.0
    return cover


def dense(ring: Points, step: float = 2.0) -> Points:
    """Return a ring with points no farther apart than a step (mm), as lenses bend lines."""
    out = []
    for a, b in zip(ring, np.roll(ring, -1, axis=0), strict=True):
        count = max(int(math.dist(a, b) / step), 1)
        out.append(a + (b - a) * (np.arange(count) / count)[:, None])
    return np.asarray(np.vstack(out), np.float64)


def sheet(
    x: float, y: float, *, turn: float = 0.0, sides: tuple[float, float] = (297, 210)
) -> Thing:
    """Return a sheet of paper with its lower left corner there, turned by degrees."""
    return Thing(placed(box(*sides), x, y, turn), (250, 250, 250))


def box(width: float, height: float) -> Points:
    """Return a rectangle from the origin."""
    return np.array([[0, 0], [width, 0], [width, height], [0, height]], float)


def placed(ring: Points, x: float, y: float, turn: float = 0.0) -> Points:
    """Return a ring turned by degrees and moved."""
    c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    return np.asarray(ring @ np.array([[c, s], [-s, c]]) + [x, y], np.float64)


def stroke(ring: Points, width: float, colour: Colour = (30, 30, 30)) -> list[Thing]:
    """Return a closed line of some width as it is drawn with a pen, mitred."""
    shape = Polygon(ring)
    outer, inner = (
        shape.buffer(side * width / 2.0, join_style="mitre", mitre_limit=10.0) for side in (1, -1)
    )
    return [
        Thing(
            np.array(outer.exterior.coords[:-1]),
            colour,
            [np.array(inner.exterior.coords[:-1])],
        )
    ]


def saved(
    pixels: NDArray[np.uint8], *, kind: str = "PNG", quality: int = 92, **more: object
) -> bytes:
    """Return the bytes of a file."""
    out = io.BytesIO()
    options = {"quality": quality} if kind == "JPEG" else {}
    Image.fromarray(pixels).save(out, kind, **options, **more)
    return out.getvalue()


def apart(found: Points, true: Points) -> float:
    """Return how far two outlines are apart where they are farthest (mm), laid on each other.

    Both ways (Hausdorff), after the turn and the move that bring them together: where a piece
    lies in its picture is of no matter.
    """
    other = dense(true, 2.0)
    moved = laid_on(dense(found, 2.0), other)
    return max(_farthest(moved, other), _farthest(other, moved))


def laid_on(points: Points, ring: Points) -> Points:
    """Return points turned and moved so that they lie nearest to a ring.

    Only what they lie off across the ring counts, along it they may slide.
    """
    line = LinearRing(ring)
    moved = points - Polygon(points).centroid.coords[0] + np.array(Polygon(ring).centroid.coords[0])
    for _ in range(15):
        here = line_locate_point(line, shapely_points(moved))
        near, before, behind = (
            get_coordinates(line_interpolate_point(line, (here + step) % line.length))
            for step in (0.0, -0.05, 0.05)
        )
        way = behind - before
        normal = np.stack([-way[:, 1], way[:, 0]], axis=1)
        normal /= np.maximum(np.hypot(*normal.T), 1e-12)[:, None]
        middle = moved.mean(axis=0)
        arm = (moved - middle) @ np.array([[0.0, 1.0], [-1.0, 0.0]])
        slopes = np.column_stack([normal, (normal * arm).sum(axis=1)])
        off = ((moved - near) * normal).sum(axis=1)
        x, y, turn = np.linalg.lstsq(slopes, -off, rcond=None)[0]
        moved = placed(moved - middle, middle[0] + x, middle[1] + y, math.degrees(turn))
    return np.asarray(moved, np.float64)


def _farthest(points: Points, ring: Points) -> float:
    return float(distance(LinearRing(ring), shapely_points(points)).max())
