"""Which figure in a picture is the one that gives the scale."""

from __future__ import annotations

import numpy as np
import pytest

from nesting.errors import PatternError
from nesting.reading.pictures.picture import Picture
from nesting.reading.pictures.references.find import Finder
from nesting.reading.pictures.references.quads import Quad
from nesting.reading.pictures.references.reference import parse_reference


def quad(*corners: tuple[float, float], noise: float) -> Quad:
    at = np.array(corners, float)
    share = np.linspace(0.05, 0.95, 40)[:, None]
    a, b, c, d = (p + (q - p) * share for p, q in zip(at, np.roll(at, -1, axis=0), strict=True))
    return Quad(corners=at, sides=(a, b, c, d), noise=noise)


def finder(drawn: list[Quad], lying: list[Quad]) -> Finder:
    found = Finder(picture=Picture(pixels=np.zeros((1500, 2000, 3), np.uint8)))
    found.__dict__.update(drawn=drawn, lying=lying)  # what is seen stands in for a picture
    return found


SHARP = quad((500, 500), (600, 500), (600, 600), (500, 600), noise=0.04)
ROUGH = quad((498, 498), (603, 498), (606, 603), (495, 601), noise=0.9)
LARGE = quad((1000, 600), (1432, 600), (1432, 1032), (1000, 1032), noise=0.03)


def test_a_square_that_is_also_seen_roughly_is_not_passed_over() -> None:
    """A square piece beside it would be taken for the square, and all come out far too small."""
    with pytest.raises(PatternError, match="several squares could be the '5 cm square'") as refused:
        finder([ROUGH], [SHARP, LARGE]).known(parse_reference("5 cm square"))
    assert "corners in pixels" in str(refused.value.hint)


def test_of_a_square_found_twice_the_sharp_one_counts() -> None:
    rough = quad((500, 499), (601, 500), (600, 601), (499, 600), noise=0.9)
    (known,) = finder([rough], [SHARP]).known(parse_reference("5 cm square"))
    assert known.quad is SHARP


def test_pixels_per_inch_tell_a_scans_squares_apart_and_no_photographs() -> None:
    """5 cm are 295 pixels in a scan of 150 dpi; the other square is as large, but seen askew."""
    scan = quad((100, 100), (395, 100), (395, 395), (100, 395), noise=0.04)
    flat = np.array([(-50.0, -50.0), (50.0, -50.0), (50.0, 50.0), (-50.0, 50.0)])
    far = 508.5 + np.sin(np.radians(8.0)) * flat[:, 1]
    seen = 1500.0 * flat * [1.0, np.cos(np.radians(8.0))] / far[:, None] + [999.5, 749.5]
    askew = quad(*map(tuple, seen), noise=0.04)
    reference = parse_reference("5 cm square")
    (known,) = finder([], [scan, LARGE]).known(reference)
    assert known.quad is scan
    with pytest.raises(PatternError, match="several squares"):
        finder([], [askew, LARGE]).known(reference)
