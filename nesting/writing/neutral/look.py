"""How markers look on screen and paper: light colours for parts, dark ones for all upon them.

A colour for each piece: hues a golden angle apart, lightness in three steps. Colours only
help to find a piece again; in grey print, and to eyes that don't tell some hues apart, many
look alike, so every part also bears its name or key.

What is written on parts has a contrast of at least 4.5 to 1 on each of them, lines have 3
to 1 (WCAG 2.2, 1.4.3 and 1.4.11). The map from OKLCh to sRGB is Björn Ottosson's ("A
perceptual color space for image processing", 2020).
"""

from __future__ import annotations

from functools import lru_cache

from nesting.pattern.path import Affine

__all__ = [
    "CHAIN",
    "CLEAR",
    "CLOTH",
    "FLAW",
    "GRID",
    "INK",
    "LOST",
    "MARK",
    "SHOWN",
    "ZONE",
    "piece_colour",
]

INK = "#22262b"
CLOTH = "#f3efe6"
"""What is usable of the cloth, sheet or hide."""
LOST = "#d9d2c3"
"""Selvedges and ends."""
FLAW = "#8c3b2e"
CHAIN = "#8f0f3a"
"""What holds a marker's length, drawn across the parts."""
GRID = "#5f574a"
"""The print's repeat, drawn across the parts."""
MARK = "#0f4468"
"""What is transferred to the part."""
ZONE = "#34435c"
SHOWN, CLEAR = 0.55, 0.5
"""How opaque a picture of the goods is on the screen, and parts that lie on one: what is on the
goods is seen through them."""

_GOLDEN = 137.50776405003785  # degrees
_LIGHTNESS = (0.86, 0.78, 0.92)
_CHROMA = 0.075


@lru_cache(maxsize=512)
def piece_colour(number: int) -> str:
    """Return the colour of the piece with this number, from 0."""
    return _srgb(_LIGHTNESS[number % 3], _CHROMA, 75.0 + _GOLDEN * number)


def _srgb(lightness: float, chroma: float, hue: float) -> str:
    a, b = Affine.turn(hue).vector((chroma, 0.0))
    long = (lightness + 0.3963377774 * a + 0.2158037573 * b) ** 3
    medium = (lightness - 0.1055613458 * a - 0.0638541728 * b) ** 3
    short = (lightness - 0.0894841775 * a - 1.2914855480 * b) ** 3
    linear = (
        4.0767416621 * long - 3.3077115913 * medium + 0.2309699292 * short,
        -1.2684380046 * long + 2.6097574011 * medium - 0.3413193965 * short,
        -0.0041960863 * long - 0.7034186147 * medium + 1.7076147010 * short,
    )
    return "#" + "".join(f"{round(255.0 * _gamma(v)):02x}" for v in linear)


def _gamma(linear: float) -> float:
    """Return the sRGB value (IEC 61966-2-1) of a linear one, both 0…1."""
    v = min(1.0, max(0.0, linear))
    return 12.92 * v if v <= 0.0031308 else 1.055 * v ** (1.0 / 2.4) - 0.055
