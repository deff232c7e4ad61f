from __future__ import annotations

import io
import math

import numpy as np
import pytest
from PIL import Image

from nesting.errors import PatternError
from nesting.limits import LARGEST_GROUND
from nesting.reading.pictures.traced import traced, upright

SQUARE = [(100.0, 300.0), (300.0, 300.0), (300.0, 100.0), (100.0, 100.0)]
FLAW = [(150.0, 250.0), (200.0, 250.0), (200.0, 200.0)]


def test_shapes_are_as_large_as_the_scale_says_and_begin_at_the_first_ones_corner() -> None:
    scale = ((10.0, 10.0), (40.0, 50.0), 25.0)  # 3-4-5: 50 pixels are 25 mm
    square, flaw = traced([SQUARE, FLAW], scale=scale)
    assert square == ((0.0, 0.0), (100.0, 0.0), (100.0, 100.0), (0.0, 100.0))
    assert flaw == ((25.0, 25.0), (50.0, 25.0), (50.0, 50.0))
    assert traced([SQUARE], scale=None)[0][2] == (200.0, 200.0)


@pytest.mark.parametrize(
    ("shapes", "scale"),
    [
        ([], None),
        ([SQUARE[:2]], None),
        ([SQUARE, FLAW[:1]], None),
        ([[(0.0, 0.0), (1.0, math.nan), (2.0, 2.0)]], None),
        ([SQUARE], ((0.0, 0.0), (1.0, 1.0), 50.0)),
        ([SQUARE], ((0.0, 0.0), (100.0, 0.0), 0.0)),
        ([SQUARE], ((0.0, 0.0), (100.0, 0.0), math.inf)),
    ],
)
def test_what_says_nothing_is_refused(shapes: list, scale: tuple | None) -> None:  # type: ignore[type-arg]
    with pytest.raises(PatternError):
        traced(shapes, scale=scale)


def test_a_picture_stands_as_its_camera_was_held() -> None:
    pixels = np.full((200, 300, 3), 200, dtype=np.uint8)
    pixels[:100, :150] = 0  # the upper left corner is dark
    image, held = Image.fromarray(pixels), io.BytesIO()
    exif = Image.Exif()
    exif[0x0112] = 6  # EXIF 2.3, orientation: to be turned by 90 degrees clockwise
    image.save(held, "JPEG", exif=exif)
    data, size = upright(held.getvalue())
    assert size == (200, 300)
    again = np.asarray(Image.open(io.BytesIO(data)).convert("L"))
    assert again[50, 150] < 60 < again[50, 50]
    with pytest.raises(PatternError):
        upright(b"GIF89a")


def test_a_large_picture_is_made_small_enough_to_lie_under_a_marker() -> None:
    noise = np.random.default_rng(0).integers(0, 255, (2400, 3600, 3), dtype=np.uint8)
    held = io.BytesIO()
    Image.fromarray(noise).save(held, "PNG")
    assert len(held.getvalue()) > LARGEST_GROUND
    data, (wide, high) = upright(held.getvalue())
    assert len(data) <= LARGEST_GROUND
    assert wide / high == pytest.approx(3600 / 2400, rel=0.01)
