"""A print tells what the lens does: its rows are straight, and its repeats alike."""

from __future__ import annotations

import numpy as np
import pytest

from benchmarks.photographed.camera import Camera, photograph
from benchmarks.photographed.prints import PRINTS, cloth
from nesting.reading.pictures.flat import Flat, flatten
from nesting.reading.pictures.picture import Picture
from nesting.reading.pictures.prints.measure import measure_repeat
from nesting.reading.pictures.references.reference import parse_reference


def photographed(name: str, *, half: float = 200.0, close: float = 1.0) -> Flat:
    """Return a print through a lens that bends lines, with four corners on it that are named."""
    camera = Camera(
        size=(1000, 750),
        at=(400.0, 300.0),
        height=720.0 * close,
        back=110.0 * close,
        roll=-2.0,
        bend=(-0.05, 0.003),
    )
    colours = cloth(PRINTS[name], turn=1.0, origin=(410.0, 300.0))
    pixels = photograph(camera, colours, noise=4.0, shade=0.3, finer=1)
    sides = np.array([[-1.0, 0.75], [1.0, 0.75], [1.0, -0.75], [-1.0, -0.75]])
    seen = camera.seen(sides * half * close + [400.0, 300.0])
    corners = " ".join(f"{x:.2f},{y:.2f}" for x, y in seen)
    said = f"{2.0 * half * close:g} x {1.5 * half * close:g} mm at {corners}"
    return flatten(Picture(pixels=pixels), [parse_reference(said)])


@pytest.mark.parametrize(
    ("name", "close"), [("fine", 0.4), ("large motif, few seen", 1.0), ("stripes along", 1.0)]
)
def test_a_repeat_seen_through_a_bending_lens_is_true_and_sure(name: str, close: float) -> None:
    print_ = PRINTS[name]
    _, found, _ = measure_repeat(photographed(name, close=close))
    assert found.right == pytest.approx(print_.across, rel=0.002)
    if print_.along:
        assert found.up == pytest.approx(print_.along, rel=0.002)
    assert found.sure > 0.8
    assert found.error < 0.01 * max(print_.across or 0.0, print_.along or 0.0)


def test_corners_that_are_named_of_something_small_are_not_called_sure() -> None:
    """A pixel off in each corner of 120 mm is more than half a per cent of them."""
    flat = photographed("dots", half=30.0)
    _, found, _ = measure_repeat(flat)
    assert found.sure < 0.8
    assert found.error > abs((found.up or 0.0) - 40.0)
