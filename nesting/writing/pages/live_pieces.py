"""Pieces of a pattern as plain data for a page: as they were drawn, each at true size (mm)."""

from __future__ import annotations

import math
from functools import lru_cache

from nesting.marker.lay import Lay, Part, Strip, Turns
from nesting.marker.marker import Marker, Placement
from nesting.pattern.affine import Affine
from nesting.pattern.measure import bounds
from nesting.pattern.path import Path
from nesting.pattern.piece import Piece
from nesting.pattern.svg_path import format_path
from nesting.pattern.variants.transform import transformed
from nesting.writing.neutral.draw import draw
from nesting.writing.neutral.lettering import Lettering
from nesting.writing.pages.live import drawn_of

__all__ = ["live_line", "live_piece"]

_SHARE = 0.045
"""Height of capitals on a piece, as a share of its longer side."""


_DOWN = Affine.mirror()


def live_line(path: Path) -> dict[str, object]:
    """Return a line as SVG path data and the box around it, mm, y downwards."""
    x0, y0, x1, y1 = bounds(path)
    return {"d": format_path(path.transformed(_DOWN)), "box": [x0, -y1, x1 - x0, y1 - y0]}


@lru_cache(maxsize=512)
def live_piece(piece: Piece) -> dict[str, object]:
    """Return a piece as `live_marker` does a part; its arrow has one head where up is known.

    ``box`` is (x, y, width, height) around it; y is downwards.
    """
    along = transformed(piece, Affine.turn(-piece.grain))  # as it is laid: its grain along x
    part = Part(name=piece.name, piece=along, turns=Turns(), one_way=piece.up_known)
    lay = Lay(name=piece.name, parts=(part,), stock=Strip(width=1.0))
    back = Placement(part=0, x=0.0, y=0.0, angle=math.fmod(piece.grain, 360.0))
    x0, y0, x1, y1 = bounds(piece.cut)
    high = _SHARE * max(x1 - x0, y1 - y0)
    lettering = Lettering(tallest=high, readable=0.4 * high, clear=0.1 * high, leaders=False)
    drawing = draw(Marker(lay=lay, placements=(back,)), lettering=lettering)
    return {**drawn_of(drawing, 0), "box": [x0, -y1, x1 - x0, y1 - y0]}
