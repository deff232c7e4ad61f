"""Starter drawings: a small pattern of our own invention to draw on from.

Two pieces and a check square on one page: millimetres on A4 (ISO 216), inches on Letter
(ANSI/ASME Y14.1). Each reads without a single option. The SVG and the DXF say by layers what
is what, the PDF by shapes and words alone.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

__all__ = ["STARTERS", "Item", "Page", "drawn"]

Point = tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Page:
    """A page and the sizes of what is drawn on it, in the unit that its people write.

    `front`: width and height as sewn; `pocket`: of the half that lies on the fold, as cut.
    """

    unit: str
    size: Point
    margin: float
    allowance: float
    front: Point
    pocket: Point
    square: float
    hole: float
    letters: float


STARTERS = {
    "a4_mm": Page(
        unit="mm",
        size=(210.0, 297.0),
        margin=20.0,
        allowance=10.0,
        front=(150.0, 110.0),
        pocket=(60.0, 80.0),
        square=50.0,
        hole=3.0,
        letters=4.0,
    ),
    "letter_inch": Page(
        unit="in",
        size=(8.5, 11.0),
        margin=0.75,
        allowance=0.375,
        front=(6.0, 4.5),
        pocket=(2.5, 3.25),
        square=2.0,
        hole=0.125,
        letters=0.15625,
    ),
}
"""By the ends of their file names."""


@dataclass(frozen=True, slots=True)
class Item:
    """A thing drawn, y upwards: a line on a layer, a circle, or a text (angle in degrees)."""

    layer: str
    points: tuple[Point, ...]
    closed: bool = False
    radius: float = 0.0
    text: str = ""
    angle: float = 0.0


def _box(x: float, y: float, wide: float, high: float) -> tuple[Point, ...]:
    return ((x, y), (x + wide, y), (x + wide, y + high), (x, y + high))


def _grain(page: Page, x: float, y0: float, y1: float) -> Iterator[Item]:
    """Yield a grain line whose one arrowhead says which end is up."""
    head = page.letters
    yield Item("grain", ((x, y0), (x, y1)))
    yield Item("grain", ((x - 0.5 * head, y1 - head), (x, y1), (x + 0.5 * head, y1 - head)))


def drawn(page: Page) -> dict[str, list[Item]]:
    """Return what is drawn, by piece; the check square stands under no name."""
    m, a, t = page.margin, page.allowance, page.letters
    wide, high = page.front[0] + 2.0 * a, page.front[1] + 2.0 * a
    top = page.size[1] - m
    x, y = m, top - high
    middle = x + 0.5 * wide
    front = [
        Item("cut", _box(x, y, wide, high), closed=True),
        Item("sew", _box(x + a, y + a, *page.front), closed=True),
        *_grain(page, x + 0.75 * wide, y + 0.25 * high, y + 0.75 * high),
        Item("notch", ((middle, y + high), (middle, y + high - 0.5 * a))),
        Item("drill", ((middle, y + 0.6 * high),), radius=0.5 * page.hole),
        Item("text", ((x + 0.1 * wide, y + 0.5 * high),), text="Front"),
        Item("text", ((x + 0.1 * wide, y + 0.5 * high - 2.0 * t),), text="cut 2 outer, 2 lining"),
        Item("text", ((middle + t, y + 0.6 * high),), text="snap"),
    ]
    half, tall = page.pocket
    y -= m + tall
    pocket = [
        Item("cut", _box(x, y, half, tall), closed=True),
        Item("fold", ((x, y), (x, y + tall))),
        Item("text", ((x + 1.5 * t, y + 0.1 * tall),), text="fold", angle=90.0),
        *_grain(page, x + 0.85 * half, y + 0.2 * tall, y + 0.8 * tall),
        Item("text", ((x + 0.1 * half, y + 0.5 * tall),), text="Pocket"),
        Item("text", ((x + 0.1 * half, y + 0.5 * tall - 2.0 * t),), text="cut 1 outer on fold"),
    ]
    s = page.square
    at = (page.size[0] - m - s, y)
    said = f"{s / 10.0:g} cm" if page.unit == "mm" else f"{s:g} in"
    square = [
        Item("check-square", _box(*at, s, s), closed=True),
        Item("text", ((at[0] + 0.3 * s, at[1] + 0.5 * s),), text=said),
    ]
    return {"Front": front, "Pocket": pocket, "": square}
