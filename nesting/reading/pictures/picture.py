"""A scan or a photograph, read within bounds."""

from __future__ import annotations

import io
import warnings
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageOps, UnidentifiedImageError
from PIL.Image import DecompressionBombError

from nesting.errors import PatternError
from nesting.limits import MOST_PIXELS

__all__ = ["Picture", "Pixels", "is_picture", "read_picture"]

Pixels = NDArray[np.uint8]
"""Colours, 0 to 255: rows × columns × (red, green, blue)."""

_PNG, _JPEG = b"\x89PNG\r\n\x1a\n", b"\xff\xd8\xff"
_OTHERS = {
    b"II*\x00": "TIFF",
    b"MM\x00*": "TIFF",
    b"GIF8": "GIF",
    b"BM": "BMP",
    b"\x00\x00\x01\x00": "ICO",
    b"8BPS": "PSD",
}
_SMALLEST = 100
"""Fewer pixels along a side show no pattern."""
_LONGEST = 32_000
"""Pixels along the longer side: what the library that looks for edges can address."""
_DPI = (40.0, 4800.0)
"""What scanners give; 72 and 96 are also written by programs that know nothing of it."""
_MAKER, _CAMERA_DATA, _FOCAL = 0x010F, 0x8769, 0x920A
"""EXIF: the camera's maker; where the data of the shot is; its focal length (CIPA DC-008)."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Picture:
    """A picture as one looks at it: `pixels`, and what its file says of them.

    `dpi`: pixels per inch along and across, if it says so. `camera`: whether it names a camera.
    """

    pixels: Pixels
    dpi: tuple[float, float] | None = None
    camera: bool = False

    @property
    def width(self) -> int:
        """Pixels along."""
        return int(self.pixels.shape[1])

    @property
    def height(self) -> int:
        """Pixels across."""
        return int(self.pixels.shape[0])


def is_picture(data: bytes) -> bool:
    """Tell whether a file is a picture, of the kinds that are read or of another."""
    return data.startswith((_PNG, _JPEG)) or _other(data) != ""


def read_picture(data: bytes) -> Picture:
    """Read a PNG or JPEG file: turned as its camera was held, on white where it is clear.

    Raises
    ------
    PatternError
        If it is another kind of picture, animated, broken, too small or too large.

    """
    if not data.startswith((_PNG, _JPEG)):
        kind = _other(data)
        raise PatternError(
            f"the file is a picture in {kind}" if kind else "the file is no picture",
            hint="save it as PNG or JPEG",
        )
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of odd headers, and of sizes, which are looked at
            with Image.open(io.BytesIO(data), formats=("PNG", "JPEG")) as image:
                return _decoded(image)
    except PatternError:
        raise
    except DecompressionBombError:
        raise _too_large("far more") from None
    except (
        UnidentifiedImageError,
        OSError,
        ValueError,
        SyntaxError,
        EOFError,
        KeyError,
    ) as trouble:
        raise _broken(trouble) from None
    except (TypeError, IndexError, OverflowError, MemoryError, AttributeError) as trouble:
        raise _broken(trouble) from None  # what a spoilt header does to its reader


def _decoded(image: Image.Image) -> Picture:
    width, height = image.size
    if width * height > MOST_PIXELS:
        raise _too_large(f"{width:,} × {height:,}")
    if max(width, height) > _LONGEST:
        raise _too_large(f"{width:,} × {height:,}")
    if min(width, height) < _SMALLEST:
        raise PatternError(
            f"the picture has {width} × {height} pixels, too few to show a pattern",
            hint="scan it at 150 dpi or more, or give the photograph as the camera made it",
        )
    if image.format == "PNG" and getattr(image, "n_frames", 1) > 1:
        raise PatternError("the picture is animated", hint="save the one that is meant as PNG")
    dpi, camera = _dpi(image), _camera(image)
    turned = ImageOps.exif_transpose(image)
    if dpi is not None and (turned.width, turned.height) != (width, height):
        dpi = (dpi[1], dpi[0])
    pixels = np.array(_coloured(turned), dtype=np.uint8)
    return Picture(pixels=pixels, dpi=dpi, camera=camera)


def _coloured(image: Image.Image) -> Image.Image:
    """Return the picture in red, green and blue of 8 bits."""
    if image.mode.startswith("I"):  # grey of 16 bits, which a plain conversion cuts off at 255
        grey = np.asarray(image, dtype=np.float64) / 257.0
        return Image.fromarray(np.clip(grey.round(), 0, 255).astype(np.uint8)).convert("RGB")
    if image.mode in ("LA", "PA", "RGBA") or "transparency" in image.info:
        seen = image.convert("RGBA")
        white = Image.new("RGBA", seen.size, "white")
        return Image.alpha_composite(white, seen).convert("RGB")
    return image.convert("RGB")


def _dpi(image: Image.Image) -> tuple[float, float] | None:
    try:
        along, across = (float(value) for value in image.info.get("dpi", ()))
    except (TypeError, ValueError, ZeroDivisionError):
        return None
    least, most = _DPI
    return (along, across) if least <= along <= most and least <= across <= most else None


def _camera(image: Image.Image) -> bool:
    exif = image.getexif()
    return _MAKER in exif or _FOCAL in exif.get_ifd(_CAMERA_DATA)


def _other(data: bytes) -> str:
    """Return the name of another kind of picture."""
    if data[4:8] == b"ftyp" and data[8:12] in (b"heic", b"heix", b"mif1", b"avif", b"msf1"):
        return "AVIF" if data[8:12] == b"avif" else "HEIC"
    if data[:4] == b"RIFF" and data[8:12] == b"WEBP":
        return "WebP"
    return next((kind for head, kind in _OTHERS.items() if data.startswith(head)), "")


def _too_large(size: str) -> PatternError:
    return PatternError(
        f"the picture has {size} pixels, and at most {MOST_PIXELS // 1_000_000} million are read",
        hint="scan it at 150 to 200 dpi, or save it smaller",
    )


def _broken(trouble: Exception) -> PatternError:
    cut = "truncated" in str(trouble).casefold()
    return PatternError(
        "the picture ends before it is whole" if cut else "the picture is broken",
        hint="copy it again from the camera or the scanner, or save it anew as PNG",
    )
