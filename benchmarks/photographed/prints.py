"""Invented prints whose repeat is known: cloth as a colour for every point, and a sheet on it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["PRINTS", "Invented", "cloth"]

Array = NDArray[np.float64]
Ink = Callable[[Array, Array], tuple[Array, tuple[int, int, int]]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Invented:
    """A print: its repeat (mm; None along an axis without), and what stands in each cell.

    x runs to the right and y upwards as it is seen; `along` is the repeat of y, and every other
    column is moved by `drop` of it. `inks`: each gives how far a point, measured from the motif's
    middle, is inside it (mm, negative outside), and its colour. `two_way`: it looks the same
    upside down.
    """

    along: float | None
    across: float | None
    drop: float
    inks: tuple[Ink, ...]
    ground: tuple[int, int, int]
    two_way: bool


def cloth(
    print_: Invented,
    *,
    turn: float = 0.0,
    origin: tuple[float, float] = (0.0, 0.0),
    weave: float = 0.0,
) -> Callable[[Array, Array], Array]:
    """Return the colours of a print that is turned (degrees) about a motif's middle (mm)."""
    c, s = np.cos(np.radians(turn)), np.sin(np.radians(turn))

    def at(x: Array, y: Array) -> Array:
        dx, dy = x - origin[0], y - origin[1]
        u, v = c * dx + s * dy, -s * dx + c * dy
        colours = np.broadcast_to(np.array(print_.ground, float), (*x.shape, 3)).copy()
        columns = [0] if print_.across is None else [-1, 0, 1]
        near = np.zeros_like(u) if print_.across is None else np.rint(u / print_.across)
        for ink in print_.inks:
            for step in columns:
                column = near + step
                p = u - column * (print_.across or 0.0)
                q = v - (column % 2) * print_.drop * (print_.along or 0.0)
                rows = [0]
                if print_.along is not None:
                    q = q - np.rint(q / print_.along) * print_.along
                    rows = [-1, 0, 1]
                for row in rows:
                    inside, colour = ink(p, q - row * (print_.along or 0.0))
                    share = np.clip(inside / _SOFT + 0.5, 0.0, 1.0)[..., None]
                    colours += share * (np.array(colour, float) - colours)
        if weave:
            colours += weave * (np.sin(u * 9.1) + np.sin(v * 8.7))[..., None]
        return colours

    return at


_SOFT = 0.3  # mm over which an edge of ink fades


def _disc(x0: float, y0: float, r: float, colour: tuple[int, int, int]) -> Ink:
    return lambda x, y: (r - np.hypot(x - x0, y - y0), colour)


def _bar(x0: float, y0: float, x1: float, y1: float, colour: tuple[int, int, int]) -> Ink:
    def inside(x: Array, y: Array) -> tuple[Array, tuple[int, int, int]]:
        return np.minimum(np.minimum(x - x0, x1 - x), np.minimum(y - y0, y1 - y)), colour

    return inside


def _petals(r: float, n: int, colour: tuple[int, int, int], y0: float = 0.0) -> Ink:
    def inside(x: Array, y: Array) -> tuple[Array, tuple[int, int, int]]:
        turned = np.arctan2(x, y - y0)
        return r * (0.65 + 0.35 * np.cos(n * turned)) - np.hypot(x, y - y0), colour

    return inside


_FAR = 1e6
_RED, _BLUE, _SAND, _DARK = (190, 60, 50), (50, 80, 140), (225, 205, 170), (60, 50, 60)
_LEAF = (70, 120, 70)
PRINTS = {
    "dots": Invented(
        along=40.0, across=40.0, drop=0.0, inks=(_disc(0, 0, 9, _RED),), ground=_SAND, two_way=True
    ),
    "dots, half drop": Invented(
        along=64.0, across=32.0, drop=0.5, inks=(_disc(0, 0, 8, _BLUE),), ground=_SAND, two_way=True
    ),
    "flowers with stalks": Invented(
        along=81.5,
        across=63.0,
        drop=0.0,
        inks=(_bar(-1.5, -32, 1.5, 0, _LEAF), _petals(16, 5, _RED), _disc(0, 0, 4, _SAND)),
        ground=(235, 235, 228),
        two_way=False,
    ),
    "flowers, half drop": Invented(
        along=120.0,
        across=55.0,
        drop=0.5,
        inks=(_bar(-1.5, -38, 1.5, 0, _LEAF), _petals(20, 5, _BLUE), _disc(0, 0, 5, _SAND)),
        ground=(240, 232, 220),
        two_way=False,
    ),
    "two birds, nearly alike": Invented(
        along=90.0,
        across=70.0,
        drop=0.0,
        inks=(
            _petals(13, 3, _DARK),
            _disc(5, 6, 2.5, _RED),
            _petals(13, 3, _DARK, 45.0),
        ),
        ground=_SAND,
        two_way=False,
    ),
    "mirrored leaves": Invented(
        along=52.0,
        across=75.0,
        drop=0.0,
        inks=(
            _petals(12, 4, _LEAF),
            _disc(20, 0, 5, _RED),
            _disc(-20, 0, 5, _RED),
            _bar(-26, -1, 26, 1, _DARK),
        ),
        ground=(245, 240, 230),
        two_way=True,
    ),
    "stripes along": Invented(
        along=None,
        across=38.0,
        drop=0.0,
        inks=(_bar(-8, -_FAR, 8, _FAR, _BLUE), _bar(12, -_FAR, 14, _FAR, _RED)),
        ground=(240, 240, 240),
        two_way=False,
    ),
    "stripes across": Invented(
        along=24.5,
        across=None,
        drop=0.0,
        inks=(_bar(-_FAR, -5, _FAR, 5, _DARK),),
        ground=_SAND,
        two_way=True,
    ),
    "check": Invented(
        along=30.0,
        across=30.0,
        drop=0.0,
        inks=(_bar(-7, -_FAR, 7, _FAR, (200, 120, 110)), _bar(-_FAR, -7, _FAR, 7, _RED)),
        ground=(245, 245, 240),
        two_way=True,
    ),
    "large motif, few seen": Invented(
        along=240.0,
        across=180.0,
        drop=0.0,
        inks=(
            _petals(60, 5, _RED),
            _disc(10, 14, 12, _SAND),
            _bar(-4, -100, 4, -10, _LEAF),
            _disc(50, -70, 14, _BLUE),
        ),
        ground=(235, 235, 228),
        two_way=False,
    ),
    "fine": Invented(
        along=9.0, across=9.0, drop=0.0, inks=(_disc(0, 0, 2.4, _BLUE),), ground=_SAND, two_way=True
    ),
}
