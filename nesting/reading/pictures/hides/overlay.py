"""What was found of a hide, drawn over what was photographed."""

from __future__ import annotations

from pathlib import Path

import cv2
import numpy as np
import shapely

from nesting.reading.pictures.flat import Flat
from nesting.reading.pictures.ground_file import jpeg
from nesting.reading.pictures.hides.hide import FoundHide
from nesting.whole import whole_file

__all__ = ["write_found"]

_EDGE, _FLAW, _BACK, _ASKED = (0, 190, 60), (225, 30, 30), (30, 90, 230), (250, 200, 0)


def write_found(flat: Flat, found: FoundHide, file: Path, *, overwrite: bool = False) -> None:
    """Write a picture (JPEG) with the outline, flaws, other patches and backbone on it."""
    x0, y0, x1, y1 = found.box
    image = np.ascontiguousarray(flat.pixels[y0:y1, x0:x1])
    mm, high = flat.mm_per_pixel, y1 - y0
    thick = max(2, round(4.0 / mm))

    def places(points: object) -> np.ndarray[tuple[int, ...], np.dtype[np.int32]]:
        at = np.asarray(points, float) / mm
        return np.rint(np.column_stack([at[:, 0] - 0.5, high - 0.5 - at[:, 1]])).astype(np.int32)

    ring = places(shapely.get_coordinates(found.outline.exterior))
    cv2.polylines(image, [ring], True, _EDGE, thick, cv2.LINE_AA)
    for patches, colour in ((found.flaws, _FLAW), (found.unsaid, _ASKED)):
        for patch in patches:
            around = places(shapely.get_coordinates(patch.exterior))
            cv2.polylines(image, [around], True, colour, thick, cv2.LINE_AA)
    middle = np.array(found.outline.centroid.coords[0])
    turn = np.radians(found.backbone.angle)
    way = 0.4 * np.hypot(*np.ptp(ring, axis=0)) * mm * np.array([np.cos(turn), np.sin(turn)])
    ends = places([middle - way, middle + way])
    cv2.arrowedLine(image, ends[0].tolist(), ends[1].tolist(), _BACK, thick, cv2.LINE_AA, 0, 0.04)
    with whole_file(file, overwrite=overwrite) as temporary:
        temporary.write_bytes(jpeg(image, longest=2000))
