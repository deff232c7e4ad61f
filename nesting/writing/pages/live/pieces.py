"""Pieces of a pattern as plain data for a page: as they were drawn, each at true size (mm).

One on which one works (`live_drawn`) has its ``edges``, its ``points``, its ``marks``, the line at
which it is folded ``back`` and what turns its grain, too, each where it is (mm, y downwards) and in
words.
"""

from __future__ import annotations

import math
from functools import lru_cache
from typing import Any

from nesting.amounts import Amounts
from nesting.errors import PatternError
from nesting.job.by_hand.drawn import Drawn
from nesting.marker.lay import Lay, Part, Strip, Turns
from nesting.marker.marker import Marker, Placement
from nesting.pattern.affine import Affine
from nesting.pattern.by_hand.reshape import outline_points
from nesting.pattern.by_hand.snap import grain_way, turned_grain
from nesting.pattern.edges import edge_path, edges
from nesting.pattern.measure import bounds, length
from nesting.pattern.path import Path, Point
from nesting.pattern.piece import Mark, Piece
from nesting.pattern.sides import centre
from nesting.pattern.svg_path import format_path
from nesting.pattern.variants.fold import folded_back
from nesting.pattern.variants.transform import transformed
from nesting.writing.files import one_line
from nesting.writing.neutral.draw import draw
from nesting.writing.neutral.lettering import Lettering
from nesting.writing.neutral.mark_words import marks_in_words
from nesting.writing.pages.live.marker import drawn_of

__all__ = ["grain_meant", "grain_turned", "live_drawn", "live_line", "live_piece"]

Json = dict[str, Any]

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


_REACH = 0.36
"""How far the handle of the grain is from the middle, as a share of the shorter side."""


_OUT = 0.15
"""How long the arrow is to what a shorter version leaves out, as a share of its line."""


def live_drawn(drawn: Drawn, *, amounts: Amounts) -> Json:
    """Return a piece as `live_piece` does, with its edges, marks and the handle of its grain."""
    x0, y0, x1, y1 = bounds(drawn.outline)
    return {
        **live_piece(drawn.piece),
        "edges": [_edge(drawn, number, amounts) for number in _numbers(drawn.outline)],
        "points": [_point(at, amounts) for at in outline_points(drawn.outline)],
        "back": _back(drawn, amounts),
        "marks": [_mark(mark) for mark in drawn.marks],
        "others": [_mark(mark) for mark in drawn.others],
        "handle": {
            "at": list(_DOWN(centre(drawn.outline))),
            "reach": _REACH * min(x1 - x0, y1 - y0),
            "angle": drawn.piece.grain % 360.0,
        },
    }


def grain_meant(drawn: Drawn, towards: Point, *, free: bool = False) -> Json:
    """Return which way a grain is meant to run that is turned by hand to a point (mm, y up)."""
    way = grain_way(drawn.outline, towards, free=free)
    return {"angle": way.angle, "edge": way.edge}


def grain_turned(drawn: Drawn, *, left: bool | None = None, far: bool = False) -> float:
    """Return a grain turned by a key (see `turned_grain`), or if it is turned round."""
    grain = drawn.piece.grain
    return (grain + 180.0) % 360.0 if left is None else turned_grain(grain, left=left, far=far)


def _numbers(outline: Path) -> range:
    return range(1, len(edges(outline)) + 1)


def _edge(drawn: Drawn, number: int, amounts: Amounts) -> Json:
    run = edge_path(drawn.outline, number)
    wide = drawn.allowances[number - 1]
    return {
        "edge": number,
        "d": format_path(run.transformed(_DOWN)),
        "middle": list(_DOWN(run.segments[len(run.segments) // 2].at(0.5))),
        "long": amounts.size(length(run)),
        "fold": number == drawn.fold,
        "allowance": "" if wide is None else amounts.setting(wide),
    }


def _point(at: Point, amounts: Amounts) -> Json:
    x, y = (amounts.setting(side) for side in at)
    return {"at": list(_DOWN(at)), "place": f"{x} x {y}"}


def _back(drawn: Drawn, amounts: Amounts) -> Json | None:
    """Return the line of the shorter version, the way to what it leaves out, and what is left."""
    line = drawn.piece.fold_back
    if line is None:
        return None
    (ax, ay), (bx, by) = line
    mx, my, out = 0.5 * (ax + bx), 0.5 * (ay + by), _OUT * math.dist(*line)
    turn = math.atan2(by - ay, bx - ax) + 0.5 * math.pi
    tip = (mx + out * math.cos(turn), my + out * math.sin(turn))
    try:
        short, notes = folded_back(drawn.piece)
    except PatternError as error:
        left, said = "", [str(error)]
    else:
        left, said = format_path(short.cut, _DOWN), [one_line(note.text) for note in notes]
    return {
        "ends": [_point(at, amounts) for at in line],
        "out": [list(_DOWN((mx, my))), list(_DOWN(tip))],
        "d": left,
        "said": said,
    }


def _mark(mark: Mark) -> Json:
    place: Point = mark.at or (0.0, 0.0) if mark.path is None else centre(mark.path)
    return {
        "says": one_line(marks_in_words([mark])),
        "at": list(_DOWN(place)),
        "d": "" if mark.path is None else format_path(mark.path.transformed(_DOWN)),
    }
