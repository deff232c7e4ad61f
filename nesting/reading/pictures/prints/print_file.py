"""A print that was measured, as a file to include in a job, a picture of one repeat beside it."""

from __future__ import annotations

from pathlib import Path

import cv2
import numpy as np
import tomlkit
from numpy.typing import NDArray

from nesting.reading.pictures.flat import Flat
from nesting.reading.pictures.ground_file import beside, jpeg
from nesting.reading.pictures.prints.repeat import Repeat
from nesting.whole import whole_file

__all__ = ["one_repeat", "print_toml", "repeat_jpeg", "repeat_pixels", "repeat_size", "save_print"]

_PLAIN = 100.0
"""How long a stripe is shown (mm)."""
_LONGEST = 600
"""Pixels of the longer side of one repeat."""


def save_print(
    flat: Flat,
    found: Repeat,
    file: Path,
    *,
    material: str,
    source: str,
    overwrite: bool = False,
) -> Path:
    """Write the print and a picture of one repeat, both or none; return the picture's file.

    Raises
    ------
    WriteError
        One of them exists and `overwrite` is not set, or can't be written.

    """
    picture = beside(file, ".jpg")
    with (
        whole_file(picture, overwrite=overwrite) as image,
        whole_file(file, overwrite=overwrite) as text,
    ):
        image.write_bytes(repeat_jpeg(flat, found))
        told = print_toml(
            found,
            material=material,
            source=source,
            said=flat.said,
            picture=picture.name,
            size=repeat_size(found),
        )
        text.write_text(told, encoding="utf-8")
    return picture


def repeat_size(found: Repeat) -> tuple[float, float]:
    """Return how long and how high the picture of one repeat is (mm)."""
    return found.up or _PLAIN, found.right or _PLAIN


def repeat_jpeg(flat: Flat, found: Repeat) -> bytes:
    """Return the picture of one repeat as a file, as it lies on cloth."""
    return jpeg(repeat_pixels(flat, found), longest=_LONGEST)


def one_repeat(pixels: NDArray[np.uint8], *, up: str) -> bytes:
    """Return a picture that shows one repeat (h×w×3) as a file, turned as it lies on cloth.

    `up`: which side of it points along the cloth, "top", "right", "bottom" or "left".
    """
    quarters = {"right": 0, "bottom": 1, "left": 2, "top": 3}[up]
    return jpeg(np.ascontiguousarray(np.rot90(pixels, quarters)), longest=_LONGEST)


def repeat_pixels(flat: Flat, found: Repeat) -> NDArray[np.uint8]:
    """Return one repeat (h×w×3) about a motif's middle, as it lies on cloth: its top on the right.

    Where the whole of a repeat about a motif is seen it is that nearest to the picture's middle.
    """
    along, across = repeat_size(found)
    mm = flat.mm_per_pixel
    high, wide = flat.pixels.shape[:2]
    turn = np.radians(found.turn)
    up, right = np.array([-np.sin(turn), np.cos(turn)]), np.array([np.cos(turn), np.sin(turn)])
    middle = _nearest(found, up, right, np.array([wide, high]) * mm / 2.0)
    step = max(mm, max(along, across) / _LONGEST)
    a = ((np.arange(max(2, round(along / step))) + 0.5) / max(2, round(along / step)) - 0.5) * along
    b = (np.arange(max(2, round(across / step))) + 0.5) / max(2, round(across / step)) - 0.5
    # The cloth's x is the print's up; its y, upwards, is to the left of that.
    across_at = b[:, None] * across  # rows go down, which is the print's right
    at = middle + a[None, :, None] * up + across_at[..., None] * right
    column = (at[..., 0] / mm - 0.5).astype(np.float32)
    row = (high - 0.5 - at[..., 1] / mm).astype(np.float32)
    return np.asarray(
        cv2.remap(flat.pixels, column, row, cv2.INTER_AREA, borderMode=cv2.BORDER_REFLECT),
        np.uint8,
    )


def _nearest(
    found: Repeat, up: NDArray[np.float64], right: NDArray[np.float64], to: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Return the motif's middle that is nearest to a place (mm)."""
    start = np.array(found.middle)
    column = 0 if found.right is None else round(float((to - start) @ right) / found.right)
    if found.right is not None:
        start = start + column * found.right * right
    if found.up is not None:
        start = start + (column % 2) * found.drop * found.up * up
        start = start + round(float((to - start) @ up) / found.up) * found.up * up
    return start


def print_toml(
    found: Repeat,
    *,
    material: str,
    source: str,
    said: str,
    picture: str,
    size: tuple[float, float],
) -> str:
    """Return the file: a [[print]] of a cloth; the print's up is along the cloth (mm)."""
    lines = [
        f"# Measured in {_comment(source)}, by {_comment(said)}: {found.sure:.0%} sure, about"
        f" {found.seen:.0f} repeats are seen.",
        "# The print stands upright in the picture, and its top points along the cloth (x).",
        'unit = "mm"',
        "",
        "[[print]]",
        f"material = {tomlkit.string(material).as_string()}      # the [[cloth]] of the job",
        f'nap = "{"none" if found.two_way else "one-way"}"',
    ]
    if found.up is not None:
        lines.append(f"along = {found.up:.2f}")
    if found.right is not None:
        lines.append(f"across = {found.right:.2f}")
    if found.drop:
        lines.append(f"drop = {found.drop:g}")
    if found.origin is not None:
        lines += [
            "# Where a motif's middle lies from the corner that was named in the photograph:",
            f"origin = [{found.origin[0]:.1f}, {found.origin[1]:.1f}]",
        ]
    else:
        lines += [
            "# Where a motif's middle lies from the corner where the cloth can first be cut: name"
            " the corner",
            "# in the photograph (--corner), or measure and write origin = [along, across]. Until"
            " then one",
            "# is taken to lie at the corner.",
        ]
    lines += [
        f"picture = {{ file = {tomlkit.string(picture).as_string()},"
        f" size = [{size[0]:.2f}, {size[1]:.2f}] }}",
    ]
    return "\n".join(lines) + "\n"


def _comment(text: str) -> str:
    return " ".join("".join(c if c.isprintable() else " " for c in text).split())
