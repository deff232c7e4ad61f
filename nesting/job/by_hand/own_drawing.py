"""A piece of a pattern file drawn in the job file itself, just as it is."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

from shapely import LineString

from nesting.errors import JobError
from nesting.job.by_hand.drawn import Drawn
from nesting.job.by_hand.marking import taken_over
from nesting.pattern.parallel.allowance import sewing_line
from nesting.pattern.path import Path, Point
from nesting.pattern.piece import Mark
from nesting.pattern.polygon import polygon
from nesting.pattern.svg_path import format_path

__all__ = ["OF_A_FILE", "drawn_here", "same_piece"]

Keys = dict[str, Any]
Segment = tuple[Point, Point]

OF_A_FILE = (
    *("from", "piece", "size", "sized", "file_unit", "file_reference", "file_line"),
    "marks_left_out",
)
"""The keys of a piece that only one from a pattern file has."""
_SAME = 0.01
"""What lies so near (mm) is the same: path data is written to less than that."""
_CHORD = 1e-3


def drawn_here(drawn: Drawn, table: Mapping[str, Any]) -> tuple[Keys, list[Keys]]:
    """Return the keys that draw a piece of a pattern file in the job, and its marks.

    A seam line that lies as far from every edge all along becomes seam allowances, which follow
    when points are moved; another one is drawn as it is.

    Raises
    ------
    JobError
        It has a shape in each of several sizes.

    """
    if table.get("sized") or table.get("in_size"):
        raise JobError(
            "the piece has another shape in each size, and the job would have one",
            hint="change it in its file",
        )
    piece = drawn.piece
    keys: Keys = {
        "outline": " ".join(map(format_path, (drawn.outline, *piece.holes))),
        "grain": round(piece.grain % 360.0, 6),
        "up_known": None if piece.up_known else False,
    }
    if piece.sew is not None and not ({"seam_allowance", "line"} & set(table)):
        widths = [width or 0.0 for width in drawn.allowances]
        if _follows(drawn.outline, piece.sew, widths):
            keys["seam_allowance"] = {str(n): f"{w:g} mm" for n, w in enumerate(widths, start=1)}
        else:
            keys["sewing_line"] = format_path(piece.sew)
    if piece.fold is not None and not ({"fold_edge", "fold_axis"} & set(table)):
        keys["fold_axis"] = [[f"{round(side, 6):.10g} mm" for side in at] for at in piece.fold]
    out = table.get("marks_left_out", [])
    marks = [taken_over(m) for n, m in enumerate(drawn.others, start=1) if n not in out]
    return keys, marks


def _follows(cut: Path, sew: Path, widths: list[float]) -> bool:
    try:
        made = sewing_line(cut, dict(enumerate(widths, start=1)))
    except ValueError:
        return False
    return polygon(made).hausdorff_distance(polygon(sew)) < _SAME


def same_piece(one: Drawn, other: Drawn) -> bool:
    """Tell whether two pieces are cut, sewn, marked and laid alike."""
    a, b = one.piece, other.piece
    if (a.up_known, len(a.holes), len(a.marks)) != (b.up_known, len(b.holes), len(b.marks)):
        return False
    if (a.sew is None, a.fold_back) != (b.sew is None, b.fold_back):
        return False
    if not _at_one_place(a.fold, b.fold):
        return False
    if (a.motif, a.points) != (b.motif, b.points):
        return False
    turned = (a.grain - b.grain + 180.0) % 360.0 - 180.0
    lines = [(a.cut, b.cut), *zip(a.holes, b.holes, strict=True)]
    if a.sew is not None and b.sew is not None:
        lines.append((a.sew, b.sew))
    near = (polygon(p).hausdorff_distance(polygon(q)) < _SAME for p, q in lines)
    marked = _marked_alike(a.marks, b.marks)
    return math.isclose(turned, 0.0, abs_tol=1e-3) and marked and all(near)


def _marked_alike(some: Sequence[Mark], others: Sequence[Mark]) -> bool:
    """Tell whether every mark of one piece stands on the other, too, for the same parts."""
    left = list(others)
    for mark in some:
        same = next((one for one in left if _same_mark(mark, one)), None)
        if same is None:
            return False
        left.remove(same)
    return not left


def _same_mark(one: Mark, other: Mark) -> bool:
    said = ("kind", "text", "copies", "hands", "materials", "face", "mirrored")
    if any(getattr(one, key) != getattr(other, key) for key in said):
        return False
    if (one.at is None, one.path is None) != (other.at is None, other.path is None):
        return False
    if one.at is not None and other.at is not None and math.dist(one.at, other.at) >= _SAME:
        return False
    return one.path is None or other.path is None or _line(one.path, other.path) < _SAME


def _line(one: Path, other: Path) -> float:
    """Return how far two lines lie apart at most (mm)."""
    a, b = (LineString(path.points(_CHORD)) for path in (one, other))
    return float(a.hausdorff_distance(b))


def _at_one_place(one: Segment | None, other: Segment | None) -> bool:
    if one is None or other is None:
        return one is other
    return all(math.dist(p, q) < _SAME for p, q in zip(one, other, strict=True))
