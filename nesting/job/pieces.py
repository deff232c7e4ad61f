"""From the tables of a job file to pieces."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from nesting.errors import PatternError
from nesting.job.desk import Desk, Request
from nesting.job.locate import Place
from nesting.job.piece_table import MarkTable, PieceTable, Shape, given
from nesting.pattern.allowance import add_allowance, sewing_line
from nesting.pattern.edges import edge_at, edges
from nesting.pattern.fold import fold_axis, opened
from nesting.pattern.notch import settled_notches
from nesting.pattern.outline import clean_outline, clean_path
from nesting.pattern.path import Affine, Path, Point
from nesting.pattern.piece import Face, Hand, Mark, MarkKind, NotchStyle, Piece
from nesting.pattern.polygon import polygon
from nesting.pattern.shapes import circle, ellipse, polygon_path, rectangle
from nesting.pattern.svg_path import parse_path

__all__ = ["ALLOWANCE", "closed_shape", "holes_of", "piece_from"]

ALLOWANCE = 10.0
"""Seam allowance (mm) where the outline is the sewing line and none is given: the ⅜ in that is
common in bag patterns (kitdunsmore.com, 2026; common practice)."""

_TEXT_HEIGHT = 6.0
"""Height of text that states none (mm; own choice)."""


def closed_shape(shape: Shape, place: Place, desk: Desk, *, hole: bool = False) -> Path:
    """Return the closed outline that a shape gives, clean and counter-clockwise (a hole not)."""
    paths = _paths(shape, place, desk)
    with desk.at((*place, given(shape)[0])):
        if len(paths) != 1:
            raise PatternError(
                f"the path data holds {len(paths)} outlines instead of one",
                hint="give cut-outs as [[piece.hole]]",
            )
        return clean_outline(paths[0], hole=hole)


def _paths(shape: Shape, place: Place, desk: Desk) -> tuple[Path, ...]:
    """Return the paths of a shape as drawn."""
    ways = given(shape)
    if len(ways) != 1:
        told = f"gives {' and '.join(ways)}" if ways else "has no shape"
        raise desk.error(
            f"it {told}", place, hint="give one of outline, points, rectangle, circle, ellipse"
        )
    way = ways[0]
    if shape.corner_radius and way != "rectangle":
        raise desk.error("only a rectangle has a corner radius", (*place, "corner_radius"))
    with desk.at((*place, way)):
        if shape.rectangle is not None:
            return (
                rectangle(*shape.rectangle, radius=shape.corner_radius, at=shape.at or (0.0, 0.0)),
            )
        if shape.circle is not None:
            return (circle(shape.circle, centre=shape.at),)
        if shape.ellipse is not None:
            return (ellipse(*shape.ellipse, centre=shape.at),)
        if shape.points is not None:
            found: tuple[Path, ...] = (polygon_path(shape.points),)
        else:
            found = parse_path(shape.outline or "")
        by = Affine.move(*(shape.at or (0.0, 0.0)))
        return tuple(path.transformed(by) for path in found)


def holes_of(shapes: Sequence[Shape], place: Place, desk: Desk) -> tuple[Path, ...]:
    """Return cut-outs, clockwise."""
    return tuple(
        closed_shape(shape, (*place, i), desk, hole=True) for i, shape in enumerate(shapes)
    )


def piece_from(table: PieceTable, place: Place, desk: Desk) -> Piece:
    """Return the piece that a table describes, or that it takes from a pattern file."""
    if table.from_ is not None:
        return _from_file(table, place, desk)
    drawn = closed_shape(table, place, desk)
    cut, sew = _lines(table, drawn, place, desk)
    if table.grain is None:
        desk.assume(f"{table.name}: no grain given, it runs along the drawing's x axis")
    piece = Piece(
        name=table.name,
        cut=cut,
        sew=sew,
        holes=holes_of(table.hole, (*place, "hole"), desk),
        grain=table.grain or 0.0,
        fold_back=_segment(table.fold_back),
        motif=table.motif,
        points=tuple(table.named_points.items()),
    )
    _refuse_holes_outside(piece, place, desk)
    piece = _marked(table, piece, place, desk)
    if table.fold_edge is None:
        return piece
    with desk.at((*place, "fold_edge")):
        return opened(piece, axis=_fold_line(table, drawn))


def _refuse_holes_outside(piece: Piece, place: Place, desk: Desk) -> None:
    whole = polygon(piece.cut)
    for i, hole in enumerate(piece.holes):
        if not whole.contains_properly(polygon(hole)):
            raise desk.error(
                "the cut-out is not inside the outline", (*place, "hole", i), hint="move it"
            )


def _lines(table: PieceTable, drawn: Path, place: Place, desk: Desk) -> tuple[Path, Path | None]:
    """Return the cutting and the sewing line."""
    if table.line is None:
        desk.assume(f"{table.name}: its outline is taken for the cutting line")
    sewn = table.line == "sewing"
    widths = table.seam_allowance
    if widths is None:
        if not sewn:
            return drawn, None
        desk.assume(f"{table.name}: seam allowance {ALLOWANCE:g} mm all round")
        widths = {0: ALLOWANCE}
    with desk.at((*place, "seam_allowance")):
        width = _edge_widths(table, drawn, widths)
        if not sewn:
            return drawn, sewing_line(drawn, width)
        return add_allowance(drawn, width), drawn


def _marked(table: PieceTable, piece: Piece, place: Place, desk: Desk) -> Piece:
    """Return the piece with the table's marks, notches moved onto the cutting line."""
    for i, mark in enumerate(table.mark):
        here = (*place, "mark", i)
        piece = replace(piece, marks=(*piece.marks, _mark(mark, here, desk)))
        with desk.at((*here, "at")):
            piece = settled_notches(piece)
    return piece


def _from_file(table: PieceTable, place: Place, desk: Desk) -> Piece:
    """Return a piece from a pattern file; what the table says besides counts."""
    for key, there in (("hole", table.hole), ("fold_edge", table.fold_edge), *_shapes(table)):
        if there:
            raise desk.error(
                f"{key} can't be added to a piece from a pattern file",
                (*place, key),
                hint="draw it in the pattern file",
            )
    request = Request(
        file=desk.path(table.from_ or "", (*place, "from")),
        piece=table.piece or table.name,
        size=table.size_name,
        unit=table.file_unit,
    )
    piece = replace(desk.fetch(request, (*place, "from")), name=table.name)
    if table.grain is not None:
        piece = replace(piece, grain=table.grain)
    if table.fold_back is not None:
        piece = replace(piece, fold_back=_segment(table.fold_back))
    if table.motif is not None:
        piece = replace(piece, motif=table.motif)
    piece = replace(piece, points=(*piece.points, *table.named_points.items()))
    if table.seam_allowance is not None or table.line is not None:
        cut, sew = _lines(table, piece.cut, place, desk)
        piece = replace(piece, cut=cut, sew=sew)
    return _marked(table, piece, place, desk)


def _shapes(table: PieceTable) -> list[tuple[str, bool]]:
    return [(way, True) for way in given(table)]


def _edge_widths(
    table: PieceTable, drawn: Path, widths: dict[int, float]
) -> float | dict[int, float]:
    """Return the allowance all round, or by edge; the edge on the fold has none."""
    for_all = widths.get(0, 0.0)
    special = {edge: width for edge, width in widths.items() if edge}
    if table.fold_edge is not None:
        special[_fold_edge(table, drawn)] = 0.0
    if not special:
        return for_all
    count = len(edges(drawn))
    return {**dict.fromkeys(range(1, count + 1), for_all), **special}


def _fold_edge(table: PieceTable, drawn: Path) -> int:
    """Return the number of the edge on the fold."""
    assert table.fold_edge is not None
    if isinstance(table.fold_edge, int):
        return table.fold_edge
    (x0, y0), (x1, y1) = table.fold_edge
    return edge_at(drawn, (0.5 * (x0 + x1), 0.5 * (y0 + y1)))


def _fold_line(table: PieceTable, drawn: Path) -> tuple[Point, Point]:
    assert table.fold_edge is not None
    if not isinstance(table.fold_edge, int):
        start, end = table.fold_edge
        return start, end
    return fold_axis(drawn, table.fold_edge)


def _segment(points: list[Point] | None) -> tuple[Point, Point] | None:
    return None if points is None else (points[0], points[1])


def _mark(table: MarkTable, place: Place, desk: Desk) -> Mark:
    kind = MarkKind(table.kind)
    if table.copies is not None and any(copy < 1 for copy in table.copies):
        raise desk.error("copies are counted from 1", (*place, "copies"))
    common: dict[str, Any] = {
        "kind": kind,
        "name": table.name,
        "copies": _set(table.copies),
        "hands": None if table.hands is None else frozenset(Hand(h) for h in table.hands),
        "materials": _set(table.materials),
        "face": Face(table.face),
    }
    if kind in (MarkKind.LINE, MarkKind.OUTLINE):
        return Mark(path=_drawn_mark(table, place, desk, closed=kind is MarkKind.OUTLINE), **common)
    if given(table):
        raise desk.error(f"a {kind} has a place, not a shape", place, hint='give at = ["x", "y"]')
    if table.at is None:
        raise desk.error(f"the {kind} has no place", place, hint='give at = ["3 cm", "5 cm"]')
    if kind is MarkKind.TEXT and not table.text.strip():
        raise desk.error("the text mark has no text", place, hint='give text = "…"')
    return Mark(
        at=table.at,
        size=table.size or (_TEXT_HEIGHT if kind is MarkKind.TEXT else 0.0),
        width=table.width,
        angle=table.angle if kind is not MarkKind.TEXT else table.angle or 0.0,
        style=NotchStyle(table.style),
        text=table.text,
        **common,
    )


def _set(items: list[Any] | None) -> frozenset[Any] | None:
    return None if items is None else frozenset(items)


def _drawn_mark(table: MarkTable, place: Place, desk: Desk, *, closed: bool) -> Path:
    if closed:
        return closed_shape(table, place, desk)
    if table.points is not None:
        if len(table.points) < 2:
            raise desk.error("a line needs two points", (*place, "points"))
        path = Path.polyline(table.points, closed=False)
    else:
        paths = _paths(table, place, desk)
        if len(paths) != 1:
            raise desk.error(
                f"the path data holds {len(paths)} lines instead of one", (*place, "outline")
            )
        path = paths[0]
    with desk.at((*place, given(table)[0])):
        return clean_path(path)
