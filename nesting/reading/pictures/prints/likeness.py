"""How like a picture is to itself, moved by so much: its autocorrelation, by Fourier transforms.

Only what is cloth counts, on both pictures: sums, squares and numbers of points are correlated as
well as the values (masked normalised correlation: D. Padfield, "Masked object registration in the
Fourier domain", IEEE Transactions on Image Processing 21, 2012, from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

__all__ = ["REACH", "Likeness", "evened", "likeness", "prepared"]

Array = NDArray[np.float64]

_LONGEST = 800
"""Pixels of the longer side that are compared: a repeat is found far finer than a pixel."""

REACH = 0.62
"""Share of each side by which the picture is moved at most: beyond it too little lies upon it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Likeness:
    """Correlations (−1…1) of a picture with itself, by how far it is moved.

    `values`: [row, column] for moves up to `reach` (rows, columns) each way, none in the middle.
    `scale`: pixels of the whole picture to one of these (x, y).
    """

    values: NDArray[np.float32]
    reach: tuple[int, int]
    scale: tuple[float, float]

    def at(self, x: float | Array, y: float | Array) -> Array:
        """Return the likeness between pixels of the table, counted from its middle."""
        x, y = np.atleast_1d(np.asarray(x, float)), np.atleast_1d(np.asarray(y, float))
        return np.asarray(
            cv2.remap(
                self.values,
                (x + self.reach[1]).astype(np.float32).reshape(1, -1),
                (y + self.reach[0]).astype(np.float32).reshape(1, -1),
                cv2.INTER_LANCZOS4,
                borderMode=cv2.BORDER_CONSTANT,
                borderValue=-1.0,
            ).ravel(),
            dtype=np.float64,
        )

    def holds(self, x: float, y: float) -> bool:
        """Whether a move is within reach, with a pixel beside it."""
        return abs(x) <= self.reach[1] - 2 and abs(y) <= self.reach[0] - 2


def prepared(
    pixels: NDArray[np.uint8], mask: NDArray[np.bool_]
) -> tuple[Array, Array, tuple[float, float]]:
    """Return the colours (h×w×3, CIELAB) without uneven light, the mask as 0 and 1, the scale."""
    high, wide = mask.shape
    shrink = max(1.0, max(high, wide) / _LONGEST)
    size = (max(1, round(wide / shrink)), max(1, round(high / shrink)))
    small = cv2.resize(pixels, size, interpolation=cv2.INTER_AREA)
    share = cv2.resize(mask.astype(np.float32), size, interpolation=cv2.INTER_AREA)
    lab = cv2.cvtColor(small.astype(np.float32) / np.float32(255.0), cv2.COLOR_RGB2LAB)
    inside = (share > 0.99).astype(np.float64)
    smooth = cv2.GaussianBlur(lab, (0, 0), _SMOOTH).astype(np.float64)
    return evened(smooth, inside), inside, (wide / size[0], high / size[1])


def evened(colours: Array, mask: Array, moves: Sequence[tuple[float, float]] = ()) -> Array:
    """Return colours without light that falls off over the picture, 0 outside the cloth.

    That is a polynomial of the second degree in each channel. Of few large motifs it would take
    some away: where `moves` (x, y, pixels) are known by which the print falls upon itself, it is
    the polynomial by which the two differ.
    """
    high, wide = mask.shape
    y, x = np.mgrid[-1 : 1 : high * 1j, -1 : 1 : wide * 1j]
    terms = np.stack([x, y, x * x, x * y, y * y], axis=-1)
    within = mask > 0
    if not moves:
        chosen, wanted = (some[within][::_SOME] for some in (terms, colours))
        chosen, wanted = chosen - chosen.mean(axis=0), wanted - wanted.mean(axis=0)
    else:
        pairs = [_pair(terms, colours, within, move) for move in moves]
        chosen, wanted = (np.concatenate(some) for some in zip(*pairs, strict=True))
    fit = np.linalg.pinv(chosen.T @ chosen) @ (chosen.T @ wanted)
    flat = colours - terms @ fit
    flat -= flat[within].mean(axis=0)
    return np.asarray(flat * mask[..., None], dtype=np.float64)


def _pair(
    terms: Array, colours: Array, within: NDArray[np.bool_], move: tuple[float, float]
) -> tuple[Array, Array]:
    """Return by how much terms and colours differ between places and those they are moved to."""
    high, wide = within.shape
    a, b = round(move[0]), round(move[1])
    here = (slice(max(0, -b), high - max(0, b)), slice(max(0, -a), wide - max(0, a)))
    there = (slice(max(0, b), high - max(0, -b)), slice(max(0, a), wide - max(0, -a)))
    both = within[here] & within[there]
    rows, columns = (some[::_SOME] for some in np.nonzero(both))
    return terms[here][rows, columns] - terms[there][rows, columns], (
        colours[here][rows, columns] - colours[there][rows, columns]
    )


_SOME = 17
"""Of so many pixels one is enough to see how the light falls off."""


_SMOOTH = 1.2
"""Pixels by which noise is smoothed (own choice: motifs are far larger)."""


def likeness(colours: Array, mask: Array, scale: tuple[float, float]) -> Likeness:
    """Return how like a picture is to itself; `colours` and `mask` are those of `prepared`."""
    high, wide = mask.shape
    size = (cv2.getOptimalDFTSize(2 * high), cv2.getOptimalDFTSize(2 * wide))
    reach = (int(REACH * high), int(REACH * wide))

    def spectrum(values: Array) -> NDArray[np.complex128]:
        return np.fft.rfft2(values, size)

    def correlated(spectrum: NDArray[np.complex128]) -> Array:
        """Return correlations for moves up to the reach, none in the middle."""
        found = np.fft.irfft2(spectrum, size)
        rows = np.arange(-reach[0], reach[0] + 1) % size[0]
        columns = np.arange(-reach[1], reach[1] + 1) % size[1]
        return np.asarray(found[np.ix_(rows, columns)], dtype=np.float64)

    of_mask = np.conj(spectrum(mask))
    count = correlated(np.conj(of_mask) * of_mask)
    some = np.maximum(count, 1.0)
    squares = correlated(spectrum((colours**2).sum(axis=-1)) * of_mask)
    together, power = np.zeros_like(count), np.zeros((size[0], size[1] // 2 + 1))
    for channel in range(colours.shape[2]):
        of_values = spectrum(colours[..., channel])
        power += np.abs(of_values) ** 2
        sums = correlated(of_values * of_mask)
        squares -= sums * sums / some
        together -= sums * sums[::-1, ::-1] / some
    together += correlated(power.astype(np.complex128))
    whole = np.sqrt(np.maximum(squares * squares[::-1, ::-1], 1e-9))
    enough = count > _LEAST * mask.sum()
    values = np.where(enough, together / whole, -1.0)
    table = np.clip(values, -1.0, 1.0).astype(np.float32)
    return Likeness(values=table, reach=reach, scale=scale)


_LEAST = 0.15
"""Share of the cloth that must lie upon itself for a move to count."""
