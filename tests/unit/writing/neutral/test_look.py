from __future__ import annotations

from itertools import combinations

import pytest

from nesting.writing.neutral.look import INK, _srgb, piece_colour


@pytest.mark.parametrize(
    ("lch", "rgb"),
    [
        ((1.0, 0.0, 0.0), "#ffffff"),
        ((0.0, 0.0, 0.0), "#000000"),
        # CSS Color 4 gives these for the sRGB primaries; values from memory.
        ((0.62796, 0.25768, 29.234), "#ff0000"),
        ((0.86644, 0.29483, 142.495), "#00ff00"),
        ((0.45201, 0.31321, 264.052), "#0000ff"),
    ],
)
def test_the_map_from_oklch(lch: tuple[float, float, float], rgb: str) -> None:
    assert channels(_srgb(*lch)) == pytest.approx(channels(rgb), abs=1)


def channels(colour: str) -> list[int]:
    return [int(colour[i : i + 2], 16) for i in (1, 3, 5)]


def luminance(colour: str) -> float:
    """Relative luminance (WCAG 2.2, from IEC 61966-2-1)."""
    linear = [
        v / 12.92 if v <= 0.04045 else ((v + 0.055) / 1.055) ** 2.4
        for v in (c / 255.0 for c in channels(colour))
    ]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def test_names_can_be_read_on_every_colour() -> None:
    """WCAG 2.2, success criterion 1.4.6 (level AAA): contrast of at least 7 to 1."""
    for number in range(100):
        contrast = (luminance(piece_colour(number)) + 0.05) / (luminance(INK) + 0.05)
        assert contrast >= 7.0, number


def test_pieces_of_one_bag_have_colours_of_their_own() -> None:
    for a, b in combinations(range(25), 2):
        apart = zip(channels(piece_colour(a)), channels(piece_colour(b)), strict=True)
        assert max(abs(p - q) for p, q in apart) >= 5, (a, b)
