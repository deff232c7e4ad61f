"""Lines and edges to a fraction of a pixel, in pictures whose truth is drawn."""

from __future__ import annotations

import numpy as np
import pytest

from nesting.reading.pictures.edges import across, line_points


def drawn(middle: float, *, wide: int = 40) -> np.ndarray:
    """Return a white picture with an upright dark line about a column, two pixels wide."""
    share = np.clip(1.5 - np.abs(np.arange(wide) - middle), 0.0, 1.0)
    grey = np.rint(250.0 - 200.0 * share).astype(np.uint8)
    return np.ascontiguousarray(np.broadcast_to(grey[None, :, None], (30, wide, 3)))


def looked(pixels: np.ndarray, column: float) -> tuple[np.ndarray, np.ndarray]:
    at = np.column_stack([np.full(12, column), np.arange(12) + 8.0])
    lines = across(pixels, at, np.tile([1.0, 0.0], (12, 1)), reach=6.0)
    points, depth, _ = line_points(lines, 1)
    return points, depth


@pytest.mark.parametrize("middle", [20.0, 20.3, 18.6])
def test_the_middle_of_a_line(middle: float) -> None:
    points, depth = looked(drawn(middle), 19.5)
    assert points[:, 0] == pytest.approx(middle, abs=0.06)
    assert (depth > 100.0).all()


def test_a_profile_that_is_darkest_at_its_end_has_no_line() -> None:
    """Warnings are errors here: there is nothing to fit where no sample counts."""
    grey = np.rint(np.interp(np.arange(40), [12, 27], [250, 20])).astype(np.uint8)
    pixels = np.ascontiguousarray(np.broadcast_to(grey[None, :, None], (30, 40, 3)))
    _, depth = looked(pixels, 20.0)
    assert not depth.any()
