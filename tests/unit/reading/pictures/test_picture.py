"""Pictures as files have them: what is read, and what is refused in one line."""

from __future__ import annotations

import io
import struct
import tracemalloc
import zlib

import numpy as np
import pytest
from PIL import Image

from nesting.errors import PatternError
from nesting.limits import MOST_PIXELS
from nesting.reading.pictures.picture import is_picture, read_picture

GREY = np.tile(np.arange(160, dtype=np.uint8), (120, 1))


def file_of(image: Image.Image, kind: str = "PNG", **more: object) -> bytes:
    out = io.BytesIO()
    image.save(out, kind, **more)
    return out.getvalue()


def png(width: int, height: int, body: bytes = b"") -> bytes:
    """Return a PNG file with such a size in its header (ISO/IEC 15948)."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return (
            struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
        )

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    parts = chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(body)) + chunk(b"IEND", b"")
    return b"\x89PNG\r\n\x1a\n" + parts


def test_sixteen_bits_of_grey_are_not_cut_off():
    image = Image.fromarray((GREY.astype(np.uint16) * 257).astype(np.int32), "I").convert("I;16")
    assert np.abs(read_picture(file_of(image)).pixels[..., 1].astype(int) - GREY).max() <= 1


def test_cmyk_is_read_as_the_colours_that_it_prints():
    colour = Image.new("RGB", (160, 120), (200, 100, 40))
    read = read_picture(file_of(colour.convert("CMYK"), "JPEG", quality=98)).pixels
    assert np.abs(read[60, 80].astype(int) - [200, 100, 40]).max() <= 4


def test_what_is_clear_is_white():
    image = Image.new("RGBA", (160, 120), (0, 0, 0, 0))
    assert (read_picture(file_of(image)).pixels == 255).all()


@pytest.mark.parametrize(
    ("turn", "corner"), [(1, (0, 0)), (3, (-1, -1)), (6, (0, -1)), (8, (-1, 0))]
)
def test_a_picture_is_turned_as_its_camera_was_held(turn, corner):
    """Tag 274 of EXIF (CIPA DC-008): 6 is to be turned a quarter with the clock to be upright."""
    grey = np.full((120, 160), 200, np.uint8)
    grey[:20, :20] = 0
    exif = Image.Exif()
    exif[274], exif[271] = turn, "maker"
    picture = read_picture(file_of(Image.fromarray(grey), "JPEG", exif=exif, quality=95))
    assert picture.camera
    assert picture.pixels[corner][0] < 30
    assert (picture.width, picture.height) == ((160, 120) if turn < 5 else (120, 160))


def test_the_pixels_per_inch_are_read():
    picture = read_picture(file_of(Image.fromarray(GREY), dpi=(150, 150)))
    assert picture.dpi == pytest.approx((150, 150), abs=0.02)
    assert read_picture(file_of(Image.fromarray(GREY))).dpi is None


def animated() -> bytes:
    frames = [Image.new("RGB", (160, 120), (shade, 0, 0)) for shade in (0, 80, 160)]
    return file_of(frames[0], save_all=True, append_images=frames[1:])


WHOLE = file_of(Image.fromarray(np.random.default_rng(1).integers(0, 255, (200, 200, 3), np.uint8)))
SHOT = file_of(Image.fromarray(np.tile(GREY, (2, 2))), "JPEG")


@pytest.mark.parametrize(
    ("data", "told"),
    [
        (animated(), "animated"),
        (WHOLE[:5000], "ends before it is whole"),
        (SHOT[: len(SHOT) // 2], "ends before it is whole"),
        (WHOLE[:40] + b"\0" * 400 + WHOLE[440:], "broken"),
        (WHOLE[:8], "broken"),
        (b"\xff\xd8\xff\xe0" + b"\0" * 100, "broken"),
        (png(40_000, 40_000), "at most 80 million"),
        (png(60_000, 1_000), "at most 80 million"),
        (png(2**31 - 1, 2**31 - 1), "at most 80 million"),
        (png(60, 4000), "too few"),
        (b"\0\0\0\x18ftypheic" + b"\0" * 50, "HEIC"),
        (b"RIFF\0\0\0\0WEBPVP8 ", "WebP"),
        (b"II*\0" + b"\0" * 50, "TIFF"),
    ],
)
def test_a_picture_that_can_t_be_read_is_refused_in_one_line(data, told):
    assert is_picture(data)
    tracemalloc.start()
    with pytest.raises(PatternError) as refused:
        read_picture(data)
    most = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert told in str(refused.value)
    assert "\n" not in str(refused.value)
    assert refused.value.hint
    assert most < 50_000_000


def test_a_limit_is_that_of_a_large_scan():
    """ISO 216: A0 is 841 × 1189 mm; at 200 dpi."""
    assert MOST_PIXELS > (841 / 25.4 * 200) * (1189 / 25.4 * 200)


def test_other_files_are_no_pictures():
    assert not any(is_picture(data) for data in (b"", b"%PDF-1.4", b"<svg/>", b"0\nSECTION"))
