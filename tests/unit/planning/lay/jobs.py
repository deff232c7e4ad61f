"""A small job as text, and the lay of one of its materials."""

from __future__ import annotations

import shapely
from shapely.geometry.base import BaseGeometry

from nesting.job.file import parse_job
from nesting.marker.lay import Lay, Strip
from nesting.planning.lay.lays import lays

# A lopsided piece: no turn and no mirror image of it is itself.
LOPSIDED = 'outline = "M 0,0 L 200,0 L 200,60 C 150,60 120,90 100,100 L 0,40 Z"'

TEXT = """
[job]
name = "Test"
HEAD

[[piece]]
name = "side"
SHAPE
PIECE

[[cloth]]
name = "canvas"
width = 1400
selvedge = 0
CLOTH

[[cut]]
piece = "side"
material = "canvas"
CUT
"""


def lay(
    *,
    cut: str = "",
    cloth: str = "",
    piece: str = "",
    shape: str = LOPSIDED,
    head: str = "",
    more: str = "",
) -> Lay:
    """Return the lay of a job of one piece."""
    text = TEXT.replace("SHAPE", shape).replace("PIECE", piece).replace("CLOTH", cloth)
    (found,) = lays(parse_job(text.replace("HEAD", head).replace("CUT", cut) + more))
    return found


def alike(first: BaseGeometry, second: BaseGeometry) -> bool:
    return bool(shapely.symmetric_difference(first, second).area < 1e-3 * first.area)


def strip_width(found: Lay) -> float:
    assert isinstance(found.stock, Strip)
    return found.stock.width
