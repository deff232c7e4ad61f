"""How a flat ground came into a picture, reckoned from what is known in it; and how surely."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from nesting.reading.pictures.edges import Points
from nesting.reading.pictures.references.quads import Quad

__all__ = ["Camera", "Known", "Regular", "camera_of"]

Floats = NDArray[np.float64]

_LENS = np.array([0.05, 0.02, 0.0005, 0.0005, 0.02, 0.02])
"""What lenses do before anything is known (standard deviations, own choice): bending by the second
and the fourth power (at the picture's corner as a share: three times as much is 15 %, more than
any lens does but one that is made to bend), a lens out of square, its middle off the picture's
(shares of half of the diagonal). Where the sides of what is known tell more, they decide."""
_EDGE = 0.06
"""What a side as a whole may lie off where it is seen (pixels): light that spills over paper,
a thin shadow. Own measurement on renders; a photograph's own is in what its sides lie off."""
_LEAST_NOISE = 0.03


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Known:
    """A rectangle in the picture: `quad`, and the lengths (mm) of its first and second side."""

    quad: Quad
    sides: tuple[float, float]
    name: str


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Regular:
    """Places (`points`, n × 2, pixels) of what repeats evenly on the ground, as a print does.

    `steps`: how often it repeats from the first to each (n × 1 or 2). `group`: which of several
    things that repeat alike it is (n). `noise`: how far points lie off (pixels).
    """

    points: Points
    steps: Floats
    group: NDArray[np.intp]
    noise: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Camera:
    """The way between a flat ground (mm, y down) and the picture (pixels).

    `values`: the homography's eight numbers and the lens's six, in units of half of the picture's
    diagonal around its middle. `spread`: what they may be off together, a matrix whose columns are
    independent of one another and one standard deviation long. `misfit`: how far (pixels, root mean
    square) the sides of what is known lie off. `rectangles`: where each of it lies on the
    ground.
    """

    values: Floats
    spread: Floats
    middle: tuple[float, float]
    radius: float
    unit: float
    misfit: float = 0.0
    rectangles: tuple[Points, ...] = ()

    def to_ground(self, points: Points) -> Points:
        """Return where places of the picture lie on the ground (mm)."""
        straight = _straight((points - self.middle) / self.radius, self.values[8:])
        return _mapped(np.linalg.inv(_matrix(self.values)), straight) * self.unit

    def to_picture(self, points: Points) -> Points:
        """Return where places of the ground (mm) lie in the picture."""
        straight = _mapped(_matrix(self.values), points / self.unit)
        return _bent(straight, self.values[8:]) * self.radius + self.middle

    def shifts(self, points: Points) -> Floats:
        """Return what places of the picture may be off on the ground: n × 2 × modes, mm each."""
        base = self.to_ground(points)
        step = 1e-4
        columns = []
        for column in self.spread.T:
            size = float(np.abs(column).max())
            if size < 1e-14:
                continue
            moved = _with(self, self.values + column * (step / size))
            columns.append((moved.to_ground(points) - base) * (size / step))
        if not columns:
            return np.zeros((len(points), 2, 1))
        return np.stack(columns, axis=-1)

    def straight(self, points: Points) -> Points:
        """Return where places of the picture would be in it without the lens (pixels)."""
        straight = _straight((points - self.middle) / self.radius, self.values[8:])
        return straight * self.radius + self.middle

    def beyond(self, points: Points) -> NDArray[np.bool_]:
        """Tell which places of the ground lie behind the camera, or on its horizon."""
        matrix = _matrix(self.values)
        return np.asarray((points / self.unit) @ matrix[2, :2] + matrix[2, 2] < 0.05, bool)


def _with(camera: Camera, values: Floats) -> Camera:
    return Camera(
        values=values,
        spread=camera.spread,
        middle=camera.middle,
        radius=camera.radius,
        unit=camera.unit,
    )


def camera_of(
    known: Sequence[Known],
    size: tuple[int, int],
    *,
    flat: bool = False,
    regular: Regular | None = None,
) -> Camera:
    """Fit the camera to all that is known at once, by least squares.

    `flat`: a scan, without perspective or lens. `regular`: what repeats evenly, by an unknown
    step; it says nothing of the scale, and much of the lens. Points on the sides of rectangles are
    measured against where the sides would be seen; where each rectangle lies, and what a side as a
    whole may be off, are unknowns, too (bundle adjustment: B. Triggs and others, 2000,
    doi 10.1007/3-540-44480-7_21).
    """
    return _Fit(known, size, flat, regular).camera()


class _Fit:
    def __init__(
        self, known: Sequence[Known], size: tuple[int, int], flat: bool, regular: Regular | None
    ) -> None:
        self.known = known
        self.flat = flat
        self.middle = ((size[0] - 1) / 2.0, (size[1] - 1) / 2.0)
        self.radius = 0.5 * float(np.hypot(*size))
        first = known[0]
        spans = np.ptp(first.quad.corners, axis=0)
        self.unit = float(np.hypot(*first.sides)) * self.radius / float(np.hypot(*spans))
        sides = [side for one in known for side in one.quad.sides]
        self.side = np.repeat(np.arange(len(sides)), [len(side) for side in sides])
        self.points = (np.concatenate(sides) - self.middle) / self.radius
        noise = np.repeat([max(one.quad.noise, _LEAST_NOISE) for one in known], 4)
        self.weights = self.radius / noise[self.side]
        self._lens: tuple[bytes, Points] = (b"", self.points)
        self.places = 3 * (len(known) - 1)
        self.count = 14 + self.places + 4 * len(known)
        self.free = np.ones(self.count, bool)
        if flat:
            self.free[6:14] = False
        self.even = None if regular is None else _Even(regular, self.middle, self.radius)

    def camera(self) -> Camera:
        values = self._start()
        robust = np.ones(len(self.weights))
        for _ in range(4):
            values = self._solved(values, robust)
            off = np.abs(self._measured(values))
            bound = 2.5 * max(1.0, 1.4826 * float(np.median(off)))
            robust = np.sqrt(np.minimum(1.0, bound / np.maximum(off, 1e-12)))
        jacobian = self._jacobian(values, robust)
        off = self._measured(values) * robust
        excess = max(1.0, float(np.sqrt(np.mean(off**2))))
        normal = jacobian.T @ jacobian
        spread = np.zeros((self.count, int(self.free.sum())))
        low, vectors = np.linalg.eigh(normal)
        spread[self.free] = vectors / np.sqrt(np.maximum(low, 1e-12)) * excess
        bare = self._measured(values, edges=False) / self.weights * self.radius
        return Camera(
            values=values[:14],
            spread=spread[:14],
            middle=self.middle,
            radius=self.radius,
            unit=self.unit,
            misfit=float(np.sqrt(np.mean(bare**2))),
            rectangles=tuple(self._laid_out(values)),
        )

    def _start(self) -> Floats:
        values = np.zeros(self.count)
        first = _plane(self.known[0].sides) / self.unit
        seen = (self.known[0].quad.corners - self.middle) / self.radius
        if self.flat:
            ones = np.column_stack([first, np.ones(4)])
            affine = np.linalg.lstsq(ones, seen, rcond=None)[0].T
            matrix = np.vstack([affine, [0.0, 0.0, 1.0]])
        else:
            matrix = cv2.getPerspectiveTransform(first.astype(np.float32), seen.astype(np.float32))
        values[:8] = _flat_numbers(matrix)
        back = np.linalg.inv(matrix)
        for i, one in enumerate(self.known[1:]):
            there = _mapped(back, (one.quad.corners - self.middle) / self.radius)
            values[14 + 3 * i : 17 + 3 * i] = _laid(_plane(one.sides) / self.unit, there)
        return values

    def _residuals(self, values: Floats, robust: Floats) -> Floats:
        edges = values[14 + self.places :] * (self.radius / _EDGE)
        lens = values[8:14] / _LENS
        even = np.zeros(0) if self.even is None else self.even.off(values)
        return np.concatenate([self._measured(values) * robust, edges, lens, even])

    def _measured(self, values: Floats, *, edges: bool = True) -> Floats:
        """Return how far points lie off their sides, in standard deviations."""
        matrix = _matrix(values)
        starts = [_mapped(matrix, laid / self.unit) for laid in self._laid_out(values)]
        ends = [np.roll(corners, -1, axis=0) for corners in starts]
        a, way = np.concatenate(starts), np.concatenate(ends) - np.concatenate(starts)
        way /= np.hypot(way[:, 0], way[:, 1])[:, None]
        gap = self._straightened(values[8:14]) - a[self.side]
        off = gap[:, 1] * way[self.side, 0] - gap[:, 0] * way[self.side, 1]
        if edges:
            off = off - values[14 + self.places :][self.side]
        return np.asarray(off * self.weights, np.float64)

    def _laid_out(self, values: Floats) -> list[Points]:
        """Return where the rectangles lie on the ground (mm)."""
        places = [np.zeros(3), *values[14 : 14 + self.places].reshape(-1, 3)]
        return [
            _at(_plane(one.sides), x * self.unit, y * self.unit, turn)
            for one, (x, y, turn) in zip(self.known, places, strict=True)
        ]

    def _straightened(self, lens: Floats) -> Points:
        """Return the points without the lens; the last answer is kept, most questions repeat it."""
        key = lens.tobytes()
        if self._lens[0] != key:
            self._lens = (key, _straight(self.points, lens))
        return self._lens[1]

    def _jacobian(self, values: Floats, robust: Floats) -> Floats:
        base = self._residuals(values, robust)
        columns = []
        for i in np.flatnonzero(self.free):
            moved = values.copy()
            moved[i] += 1e-7
            columns.append((self._residuals(moved, robust) - base) / 1e-7)
        return np.stack(columns, axis=1)

    def _solved(self, values: Floats, robust: Floats) -> Floats:
        """Take steps after Levenberg and Marquardt until they are of no matter."""
        damp = 1e-6
        cost = float(np.sum(self._residuals(values, robust) ** 2))
        for _ in range(25):
            off = self._residuals(values, robust)
            jacobian = self._jacobian(values, robust)
            normal, right = jacobian.T @ jacobian, jacobian.T @ off
            for _ in range(8):
                step = np.linalg.solve(normal + damp * np.diag(np.diag(normal) + 1e-12), -right)
                tried = values.copy()
                tried[self.free] += step
                new = float(np.sum(self._residuals(tried, robust) ** 2))
                if np.isfinite(new) and new <= cost:
                    break
                damp *= 10.0
            else:
                return values
            done = cost - new < 1e-7 * cost
            values, cost, damp = tried, new, max(damp / 10.0, 1e-12)
            if done:
                return values
        return values


class _Even:
    """How far what repeats lies off an even lattice, the best one for each camera."""

    def __init__(self, regular: Regular, middle: tuple[float, float], radius: float) -> None:
        self.points = (regular.points - middle) / radius
        self.steps = regular.steps
        self.groups = np.eye(int(regular.group.max()) + 1)[regular.group]
        terms = np.column_stack([self.steps, self.groups])
        step = np.linalg.lstsq(terms, regular.points, rcond=None)[0][: self.steps.shape[1]]
        # Neighbours err alike, for cloth is not quite even: many are no surer than some.
        many = max(1.0, len(self.points) / _EVEN)
        self.weights = np.hypot(*step.T) / (regular.noise * many**0.5)

    def off(self, values: Floats) -> Floats:
        """Return by how many standard deviations each place lies off."""
        straight = _straight(self.points, values[8:14])
        ground = _mapped(np.linalg.inv(_matrix(values)), straight)
        basis = np.linalg.qr(np.column_stack([ground, self.groups]))[0]
        left = self.steps - basis @ (basis.T @ self.steps)
        return np.asarray((left * self.weights).ravel(), np.float64)


_EVEN = 60
"""So many places of a print at most are reckoned as independent of one another: own choice."""


def _plane(sides: tuple[float, float]) -> Points:
    w, h = sides
    return np.array([[0.0, 0.0], [w, 0.0], [w, h], [0.0, h]])


def _at(points: Points, x: float, y: float, turn: float) -> Points:
    c, s = np.cos(turn), np.sin(turn)
    return np.asarray(points @ np.array([[c, s], [-s, c]]) + [x, y], np.float64)


def _laid(points: Points, there: Points) -> Floats:
    """Return the place and the turn that bring points nearest to others."""
    a, b = points - points.mean(axis=0), there - there.mean(axis=0)
    turn = float(np.arctan2(np.sum(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]), np.sum(a * b)))
    x, y = there.mean(axis=0) - _at(points, 0.0, 0.0, turn).mean(axis=0)
    return np.array([x, y, turn])


def _flat_numbers(matrix: NDArray[Any]) -> Floats:
    """Return a homography's eight numbers: the affine six first, those of the horizon last."""
    m = matrix / matrix[2, 2]
    return np.array([m[0, 0], m[0, 1], m[0, 2], m[1, 0], m[1, 1], m[1, 2], m[2, 0], m[2, 1]])


def _matrix(values: Floats) -> Floats:
    return np.append(values[:8], 1.0).reshape(3, 3)


def _mapped(matrix: NDArray[Any], points: Points) -> Points:
    out = points @ matrix[:, :2].T + matrix[:, 2]
    return np.asarray(out[:, :2] / out[:, 2:], np.float64)


def _bent(points: Points, lens: Floats) -> Points:
    """Return places as a lens shows them (D. C. Brown's model, as OpenCV has it)."""
    k1, k2, p1, p2 = lens[:4]
    middle = lens[4:6]
    x, y = (points - middle).T
    square = x * x + y * y
    radial = 1.0 + square * (k1 + square * k2)
    out = np.stack(
        [
            x * radial + 2.0 * p1 * x * y + p2 * (square + 2.0 * x * x),
            y * radial + p1 * (square + 2.0 * y * y) + 2.0 * p2 * x * y,
        ],
        axis=1,
    )
    return np.asarray(out + middle, np.float64)


def _straight(points: Points, lens: Floats) -> Points:
    """Return where places would be seen without the lens: `_bent` undone step by step."""
    if not lens.any():
        return points
    guess = points.copy()
    for _ in range(30):
        off = points - _bent(guess, lens)
        guess = guess + np.clip(off, -0.3, 0.3)
        if float(np.abs(off).max(initial=0.0)) < 1e-11:
            break
    return np.clip(guess, -8.0, 8.0)
