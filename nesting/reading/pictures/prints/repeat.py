"""The repeat of a print, measured in a flat picture of it."""

from __future__ import annotations

from dataclasses import dataclass, replace

import cv2
import numpy as np
from numpy.typing import NDArray

from nesting.errors import PatternError
from nesting.reading.pictures.camera import Regular
from nesting.reading.pictures.prints.axes import Axes, axes_of
from nesting.reading.pictures.prints.lattice import Found, finest_moves, lattice, stripe
from nesting.reading.pictures.prints.likeness import Likeness, evened, likeness, prepared
from nesting.reading.pictures.prints.peaks import ridge, upon_ridge
from nesting.reading.pictures.prints.regular import regular
from nesting.reading.pictures.prints.tile import motif, same_both_ways, tiled

__all__ = ["Repeat", "repeat_of", "what_repeats"]

Array = NDArray[np.float64]
Pixels = NDArray[np.uint8]
Mask = NDArray[np.bool_]


@dataclass(frozen=True, slots=True, kw_only=True)
class Repeat:
    """A print's repeat as it stands upright in the picture (mm): None along a stripe.

    `up`, `right`: after how much it repeats; `drop`: by what share of `up` every other column is
    moved; `columns`: other than 1 or 2, over so many columns it is the same again, which `right`
    has all of. `error`: what both may be off (mm, standard error within the picture). `middle`:
    where a motif's middle lies, from the picture's lower left corner; `clear`: it stands on a
    ground. `turn`, `askew`: degrees by which it lies turned counter-clockwise, and is not square.
    `two_way`: it looks the same upside down. `sure`: 0…1. `seen`: how many repeats are there.
    `origin`: where the first motif's middle lies along and across the cloth, from the corner where
    it can first be cut, if that is known.
    """

    up: float | None
    right: float | None
    drop: float
    columns: int
    error: float
    middle: tuple[float, float]
    clear: bool
    turn: float
    askew: float
    two_way: bool
    sure: float
    seen: float
    origin: tuple[float, float] | None = None

    def origin_from(self, corner: tuple[float, float]) -> tuple[float, float]:
        """Return where the first motif's middle lies from a corner of the cloth (mm).

        The corner is said as `middle` is; along is the print's up, and across, which is to the left
        of that, the cloth's way across.
        """
        turn = np.radians(self.turn)
        gap = np.array(self.middle) - corner
        along = float(gap @ [-np.sin(turn), np.cos(turn)])
        across = -float(gap @ [np.cos(turn), np.sin(turn)])
        column = 0.0 if self.right is None else np.floor(across / self.right)
        across = 0.0 if self.right is None else across - column * self.right
        if self.up is None:
            return 0.0, across
        return (along + (column % 2) * self.drop * self.up) % self.up, across


def repeat_of(pixels: Pixels, mask: Mask, *, mm: float) -> Repeat:
    """Measure the repeat of a print.

    Parameters
    ----------
    pixels
        The flat picture, h×w×3, RGB.
    mask
        Where it shows cloth, h×w.
    mm
        Length of a pixel's side.

    Raises
    ------
    PatternError
        Nothing is printed there, nothing repeats, or less than one and a half repeats are seen.

    """
    colours, inside, scale = prepared(pixels, mask)
    _refuse_plain(colours, inside)
    like = likeness(evened(colours, inside), inside, scale)
    stripes = ridge(like)
    size = np.array(scale) * mm
    if stripes is not None:
        found = stripe(upon_ridge(like, stripes))
        _refuse_unlike(found, like)
        assert found is not None
        return _striped(found, stripes, evened(colours, inside), inside, size)
    moves = finest_moves(like)
    if moves:
        like = likeness(evened(colours, inside, moves), inside, scale)
    found = lattice(like)
    _refuse_unlike(found, like)
    assert found is not None
    if _fine(found, scale):
        part = _part(mask, found, scale)
        near = repeat_of(pixels[part], mask[part], mm=mm)
        x, y = near.middle
        aside = part[1].start * mm, (mask.shape[0] - part[0].stop) * mm
        return replace(near, middle=(x + aside[0], y + aside[1]))
    return _repeated(found, evened(colours, inside, moves), inside, size)


def what_repeats(pixels: Pixels, mask: Mask) -> Regular | None:
    """Return where in a picture a print is the same again, None if that is not seen.

    `pixels`, `mask` are those of `repeat_of`.
    """
    colours, inside, scale = prepared(pixels, mask)
    high, wide = inside.shape
    inner = np.s_[high // 4 : high - high // 4, wide // 4 : wide - wide // 4]
    for part in (np.s_[:, :], inner):  # in the middle a lens bends lines by an eighth as much
        basis = _basis(colours[part], inside[part], scale)
        told = None if basis is None else regular(evened(colours, inside), inside, basis)
        if told is not None:
            whole = (told.points + 0.5) * scale - 0.5
            return replace(told, points=whole, noise=told.noise * max(scale))
    return None


def _basis(colours: Array, mask: Array, scale: tuple[float, float]) -> Array | None:
    """Return the lattice of a print (pixels), one row for stripes, if there is any."""
    if mask.sum() < _LITTLE:
        return None
    even = evened(colours, mask)
    like = likeness(even, mask, scale)
    stripes = ridge(like)
    if stripes is not None:
        found = stripe(upon_ridge(like, stripes))
        if found is None or found.like < _LEAST:
            return None
        across = np.array([[-np.sin(stripes), np.cos(stripes)]], np.float64)
        return np.asarray(across * found.basis[0, 0], np.float64)
    moves = finest_moves(like)
    found = lattice(likeness(evened(colours, mask, moves) if moves else even, mask, scale))
    return None if found is None or found.like < _LEAST else found.basis


_FINE = 22.0
"""Pixels of a repeat below which it is looked at larger."""
_CROP = 12.0
"""Repeats along each side of what is looked at larger."""


def _fine(found: Found, scale: tuple[float, float]) -> bool:
    return float(np.hypot(*found.basis[0])) < _FINE and min(scale) > 1.3


def _part(mask: Mask, found: Found, scale: tuple[float, float]) -> tuple[slice, slice]:
    """Return a part of the picture with a dozen repeats: where most of it is cloth."""
    longest = float(np.hypot(*found.basis[-1])) * max(scale)
    high, wide = mask.shape
    size = max(300, round(_CROP * longest))
    size = min(size, round(min(high, wide) / 1.3))
    places = [
        (round(a * (high - size)), round(b * (wide - size)))
        for a in (0.5, 0.25, 0.75, 0.0, 1.0)
        for b in (0.5, 0.25, 0.75, 0.0, 1.0)
    ]
    y, x = max(places, key=lambda p: int(mask[p[0] : p[0] + size, p[1] : p[1] + size].sum()))
    return slice(y, y + size), slice(x, x + size)


_PLAIN = 1.0
"""CIELAB units by which a print differs from its ground at least, root mean square."""


_LITTLE = 2000
"""Pixels of cloth with which nothing is begun."""

_GRAIN = 3.0
"""Pixels over which the grain of cloth and noise even out."""


def _refuse_plain(colours: Array, mask: Array) -> None:
    if mask.sum() < _LITTLE:
        raise PatternError("too little of the cloth is seen", hint="photograph more of it")
    even = cv2.GaussianBlur(evened(colours, mask), (0, 0), _GRAIN)[mask > 0]
    if float(np.sqrt((even**2).sum(axis=-1).mean())) < _PLAIN:
        raise PatternError(
            "the cloth is plain: nothing on it can be measured", hint="it needs no print in the job"
        )


_LEAST = 0.3


def _refuse_unlike(found: Found | None, like: Likeness) -> None:
    if found is None or found.like < _LEAST:
        raise PatternError(
            "no repeat is found: what is on the cloth is not seen again",
            hint="photograph at least two whole repeats each way, flat and evenly lit",
        )


def _sure(found: Found, clear: float) -> float:
    """Return how sure a repeat is: by how like the repeats are, and unlike what lies between.

    Half of it is what the likeness is above that of what lies between the repeats; the rest what
    of the picture repeats, with a quarter off for each repeat less than four that are seen.
    """
    apart = (found.like - found.between) / max(1.0 - found.between, 1e-6)
    often = min(1.0, 0.25 * found.seen)
    return float(np.clip(apart, 0.0, 1.0) * (0.5 + 0.5 * often) * clear)


def _repeated(found: Found, colours: Array, mask: Array, size: Array) -> Repeat:
    basis = found.basis * size * [1.0, -1.0]
    axes = axes_of(basis)
    if axes is None:
        raise PatternError(
            "the repeats of this print are not square to each other",
            hint="see that the cloth lies flat and straight; a slanting print needs its own job",
        )
    up, right, columns = axes.up, axes.right, axes.columns
    whole = right * (columns if columns > 1 else 1)
    tile = tiled(colours, mask, up=_pixels(up, size), right=_pixels(whole, size))
    both, _, about = same_both_ways(tile)
    x, y, clear = motif(tile, about=about if both else None)
    shown = 1 if columns <= 2 else columns
    return Repeat(
        up=float(np.hypot(*up)),
        right=float(np.hypot(*right)) * shown,
        drop=axes.drop if shown == 1 else 0.0,
        columns=columns,
        error=found.error * float(size.max()) * _steps(axes),
        middle=_middle(x * whole + y * up, colours, size),
        clear=clear,
        turn=axes.turn,
        askew=axes.askew,
        two_way=both,
        sure=_sure(found, 1.0),
        seen=found.seen,
    )


def _steps(axes: Axes) -> float:
    return float(max(1, axes.columns))


def _pixels(way: Array, size: Array) -> Array:
    """Return a vector in mm, y upwards, in pixels, y down."""
    return np.asarray(way / size * [1.0, -1.0])


def _middle(at: Array, colours: Array, size: Array) -> tuple[float, float]:
    """Return the place of the motif that is nearest to the picture's corner, as it is (mm)."""
    return float(at[0]), float(at[1])


def _striped(found: Found, angle: float, colours: Array, mask: Array, size: Array) -> Repeat:
    square = np.array([-np.sin(angle), np.cos(angle)]) * size * [1.0, -1.0]
    step = square * found.basis[0, 0]
    level = abs(step[0]) > abs(step[1])
    step *= np.sign(step[0] if level else step[1])
    repeat = float(np.hypot(*step))
    beside = np.array([step[1], -step[0]])
    # The tile's rows run along its second way: for stripes that is the way that changes.
    tile = tiled(colours, mask, up=_pixels(step, size), right=_pixels(beside, size))
    both, _, about = same_both_ways(tile)
    _, y, clear = motif(tile, about=about if both else None, stripes=True)
    turn = np.degrees(np.arctan2(step[1], step[0]) if level else np.arctan2(-step[0], step[1]))
    return Repeat(
        up=None if level else repeat,
        right=repeat if level else None,
        drop=0.0,
        columns=1,
        error=found.error * float(size.max()),
        middle=_middle(y * step, colours, size),
        clear=clear,
        turn=float(turn),
        askew=0.0,
        two_way=both,
        sure=_sure(found, 1.0),
        seen=found.seen,
    )
