"""A hide that was measured, as a file to include in a job, its picture beside it."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import shapely
import tomlkit

from nesting.reading.pictures.flat import Flat
from nesting.reading.pictures.ground_file import beside, jpeg
from nesting.reading.pictures.hides.hide import TOLERANCE_DRAWN, FoundHide
from nesting.whole import whole_file

__all__ = ["hide_toml", "save_hide"]


def save_hide(
    flat: Flat,
    found: FoundHide,
    file: Path,
    *,
    name: str,
    material: str,
    source: str,
    zones: str | None = None,
    overwrite: bool = False,
) -> Path:
    """Write the hide and its picture, both or none; return the picture's file.

    Raises
    ------
    WriteError
        One of them exists and `overwrite` is not set, or can't be written.

    """
    picture = beside(file, ".jpg")
    x0, y0, x1, y1 = found.box
    with (
        whole_file(picture, overwrite=overwrite) as image,
        whole_file(file, overwrite=overwrite) as text,
    ):
        image.write_bytes(jpeg(flat.pixels[y0:y1, x0:x1]))
        size = ((x1 - x0) * flat.mm_per_pixel, (y1 - y0) * flat.mm_per_pixel)
        told = hide_toml(
            found,
            name=name,
            material=material,
            source=source,
            zones=zones,
            picture=picture.name,
            size=size,
        )
        text.write_text(told, encoding="utf-8")
    return picture


def hide_toml(
    found: FoundHide,
    *,
    name: str,
    material: str,
    source: str,
    zones: str | None,
    picture: str,
    size: tuple[float, float],
) -> str:
    """Return the file: a [[hide]] of a leather, in mm from the lower left corner of its picture."""
    back = found.backbone
    lines = [
        f"# Measured in {_comment(source)}, by {_comment(found.said)}.",
        f"# Its outline lies inside the edge and is off by at most {found.off:.1f} mm, of which"
        f" {2.0 * TOLERANCE_DRAWN:g} mm are room for few corners.",
        *(f"# Note: {_comment(one.text)}" for one in found.findings),
        'unit = "mm"',
        "",
        "[[hide]]",
        f"name = {_text(name)}",
        f"material = {_text(material)}      # the [[leather]] of the job that it is of",
        f"outline = {_ring(found.outline)}",
        f"# The backbone is {_comment(back.why)}. It points to the neck: turn it by 180 if that is"
        " the tail.",
        f"backbone = {back.angle:.1f}",
    ]
    if zones is not None:
        lines.append(f"guess_zones = {_text(zones)}")
    lines.append(f"picture = {{ file = {_text(picture)}, size = [{size[0]:.2f}, {size[1]:.2f}] }}")
    for flaw in found.flaws:
        lines += ["", "[[hide.flaw]]", f"outline = {_ring(flaw)}"]
    return "\n".join(lines) + "\n"


def _ring(area: shapely.Polygon) -> str:
    points = np.round(shapely.get_coordinates(shapely.set_precision(area, 0.0).exterior), 2)[:-1]
    return json.dumps("M " + " L ".join(f"{x:g},{y:g}" for x, y in points.tolist()) + " Z")


def _text(text: str) -> str:
    return tomlkit.string(text).as_string()


def _comment(text: str) -> str:
    return " ".join("".join(c if c.isprintable() else " " for c in text).split())
