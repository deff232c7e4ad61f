"""Places at which a print is the same, found one beside the other: they tell what the lens does.

A patch about the picture's middle is looked for where the repeat says that it is again, each time
from where its neighbour was found, so that bent rows of motifs are followed to the picture's edge.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator
from itertools import product

import cv2
import numpy as np
from numpy.typing import NDArray

from nesting.reading.pictures.camera import Regular

__all__ = ["regular"]

Array = NDArray[np.float64]

_SMALLEST, _LARGEST = 16.0, 0.16
"""Sides of a patch: pixels at least, and share of the picture's shorter side at most."""
_ALIKE = 0.6
"""Correlation from which on a patch is taken for the same."""
_AROUND = 0.14
"""Share of the repeat within which a patch is looked for about where it should be."""
_MOST = 400
"""Places that are looked at for each patch."""
_WANTED = 90
"""Where a print repeats so seldom that a patch is seen less often, several are followed."""
_FEW = 12
"""With fewer places nothing is told of the lens."""
_LEAST_NOISE = 0.05
"""Pixels that a place lies off at least: own measurement on renders."""


def regular(colours: Array, mask: Array, basis: Array) -> Regular | None:
    """Return the places of what repeats, in pixels of the table, None if there are too few.

    `colours`, `mask`: as `evened` gives them. `basis`: the lattice, two rows, or for stripes one:
    the way to the next stripe.
    """
    picture = colours.astype(np.float32)
    whole = cv2.integral((mask > 0).astype(np.uint8)).astype(np.float64)
    half = _half(basis, picture.shape[:2])
    points, steps, groups = [], [], []
    for group, seed in enumerate(_seeds(picture, whole, basis, half)):
        for step, place in _followed(picture, whole, basis, half, seed):
            points.append(place)
            steps.append(step)
            groups.append(group)
    if len(points) < _FEW:
        return None
    return _sound(np.array(points), np.array(steps, float), np.array(groups, dtype=np.intp))


def _half(basis: Array, size: tuple[int, ...]) -> int:
    side = max(_SMALLEST, float(np.hypot(*basis[-1])))
    return int(0.5 * min(side, _LARGEST * min(size)))


def _fits(whole: Array, x: float, y: float, reach: int) -> bool:
    """Tell whether all is cloth as far as `reach` about a place."""
    a, b = round(x), round(y)
    high, wide = whole.shape[0] - 1, whole.shape[1] - 1
    if not (reach <= a < wide - reach and reach <= b < high - reach):
        return False
    top, low, left, right = b - reach, b + reach + 1, a - reach, a + reach + 1
    count = whole[low, right] - whole[top, right] - whole[low, left] + whole[top, left]
    return bool(count == (2 * reach + 1) ** 2)


def _seeds(
    picture: NDArray[np.float32], whole: Array, basis: Array, half: int
) -> Iterator[tuple[int, int]]:
    """Yield places near the middle whose patches have corners in them, a cell's quarters apart."""
    grey = np.ascontiguousarray(picture.sum(axis=2))
    sharp = cv2.cornerMinEigenVal(grey, 3) if len(basis) == 2 else np.abs(cv2.Sobel(grey, 5, 1, 1))
    sharp = cv2.boxFilter(sharp, -1, (2 * half + 1, 2 * half + 1))
    second = basis[1] if len(basis) == 2 else basis[0][::-1] * [1.0, -1.0]
    middle = 0.5 * np.array([picture.shape[1], picture.shape[0]])
    cell = abs(float(np.linalg.det(np.stack([basis[0], second]))))
    seldom = picture.shape[0] * picture.shape[1] / cell < _WANTED
    for u, v in product((0.0, 0.25, 0.5, 0.75), repeat=2) if seldom else ((0.0, 0.0), (0.5, 0.5)):
        every = [
            tuple(np.rint(middle + (u + a) * basis[0] + (v + b) * second).astype(int))
            for a in np.arange(-2.25, 2.25, 0.25)
            for b in np.arange(-2.25, 2.25, 0.25)
            if abs(a % 1.0 - 0.5) >= 0.25 and abs(b % 1.0 - 0.5) >= 0.25
        ]
        inside = [(int(x), int(y)) for x, y in every if _fits(whole, x, y, half)]
        if inside:
            far = 0.5 * float(np.hypot(*middle))
            yield max(
                inside,
                key=lambda at: (
                    float(sharp[at[1], at[0]]) / (1.0 + float(np.hypot(*(middle - at))) / far)
                ),
            )


def _followed(
    picture: NDArray[np.float32],
    whole: Array,
    basis: Array,
    half: int,
    seed: tuple[int, int],
) -> Iterator[tuple[tuple[int, ...], Array]]:
    """Yield how many steps from the seed, and where, its patch is found again."""
    patch = _part(picture, *seed, half)
    reach = max(2, round(_AROUND * float(np.hypot(*basis[0]))))
    striped = len(basis) == 1
    moves = basis if not striped else np.array([basis[0], _beside(basis[0], 2.0 * half)])
    found: dict[tuple[int, int], Array] = {(0, 0): np.array(seed, float)}
    due = deque(found)
    while due and len(found) < _MOST:
        here = due.popleft()
        for axis, way in ((0, 1), (0, -1), (1, 1), (1, -1)):
            there = (here[0] + way * (axis == 0), here[1] + way * (axis == 1))
            if there in found:
                continue
            before = (2 * here[0] - there[0], 2 * here[1] - there[1])
            move = found[here] - found[before] if before in found else way * moves[axis]
            at = found[here] + (way * moves[axis] if striped and axis == 1 else move)
            if not _fits(whole, float(at[0]), float(at[1]), half + reach):
                continue
            place = _matched(picture, patch, at, half, reach, basis[0] if striped else None)
            if place is not None:
                found[there] = place
                due.append(there)
    for step, place in found.items():
        yield (step[:1] if striped else step), place


def _beside(step: Array, far: float) -> Array:
    return np.array([step[1], -step[0]]) * (far / float(np.hypot(*step)))


def _part(picture: NDArray[np.float32], x: int, y: int, reach: int) -> NDArray[np.float32]:
    part = picture[y - reach : y + reach + 1, x - reach : x + reach + 1]
    return np.ascontiguousarray(part)


def _matched(
    picture: NDArray[np.float32],
    patch: NDArray[np.float32],
    at: Array,
    half: int,
    reach: int,
    stripe: Array | None,
) -> Array | None:
    """Return where the patch is found about a place; of stripes only across them."""
    x, y = (round(float(value)) for value in at)
    alike = cv2.matchTemplate(_part(picture, x, y, half + reach), patch, cv2.TM_CCOEFF_NORMED)
    if stripe is not None:
        level = abs(stripe[0]) > abs(stripe[1])
        line = alike[reach] if level else alike[:, reach]
        top = _top(line.astype(np.float64))
        if top is None or line.max() < _ALIKE:
            return None
        return np.array([x + top - reach, y] if level else [x, y + top - reach], np.float64)
    row, column = np.unravel_index(int(np.argmax(alike)), alike.shape)
    if alike[row, column] < _ALIKE:
        return None
    across, down = (_top(line.astype(np.float64)) for line in (alike[row], alike[:, column]))
    if across is None or down is None:
        return None
    return np.array([x + across - reach, y + down - reach], np.float64)


def _top(line: Array) -> float | None:
    """Return where a line of values is highest, by a parabola; None at its ends."""
    i = int(np.argmax(line))
    if not 0 < i < len(line) - 1:
        return None
    a, b, c = line[i - 1 : i + 2]
    bend = a - 2.0 * b + c
    return i + 0.5 * float(a - c) / float(bend) if bend < 0.0 else float(i)


def _sound(points: Array, steps: Array, groups: NDArray[np.intp]) -> Regular | None:
    """Return the places without those that lie off a smooth bending of the lattice."""
    u = steps / np.maximum(np.abs(steps).max(axis=0), 1.0)
    if steps.shape[1] == 1:  # what lies beside along a stripe says how that bends
        away = points - points.mean(axis=0)
        u = away / np.abs(away).max(axis=0)
    terms = [u[:, 0] ** i * u[:, 1] ** j for i in range(4) for j in range(4 - i) if i + j]
    smooth = np.column_stack([np.eye(int(groups.max()) + 1)[groups], *terms])
    told = points if steps.shape[1] == 2 else steps
    if len(points) < 2 * smooth.shape[1]:
        return None
    kept = np.ones(len(points), bool)
    for _ in range(3):
        fit = np.linalg.lstsq(smooth[kept], told[kept], rcond=None)[0]
        left = np.abs(told - smooth @ fit).max(axis=1)
        kept = left <= 4.0 * 1.4826 * float(np.median(left[kept])) + 1e-9
    if kept.sum() < 2 * smooth.shape[1]:
        return None
    rough = float(np.sqrt(np.mean(left[kept] ** 2)))
    if steps.shape[1] == 1:
        fit = np.linalg.lstsq(np.column_stack([steps, np.ones(len(steps))]), points, rcond=None)[0]
        rough *= float(np.hypot(*fit[0]))
    groups = np.unique(groups[kept], return_inverse=True)[1]
    noise = max(rough, _LEAST_NOISE)
    return Regular(points=points[kept], steps=steps[kept], group=groups, noise=noise)
