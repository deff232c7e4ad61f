"""From the tables of a job file to pieces."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from nesting.job.by_hand.drawn import Drawn
from nesting.job.desk import Desk, Request
from nesting.job.locate import Place
from nesting.job.marks import mark_from
from nesting.job.opening import of_size
from nesting.job.shapes import outline_with_holes, path_data, refuse_other_unit
from nesting.job.tables.piece_table import PieceTable, given
from nesting.limits import MOST_MARKS
from nesting.pattern.edges import edge_at, edges
from nesting.pattern.marks.marked import beyond, clipped
from nesting.pattern.marks.notch import settled_notches
from nesting.pattern.measure import bounds
from nesting.pattern.nearest import nearest
from nesting.pattern.outline import clean_outline
from nesting.pattern.parallel.allowance import add_allowance, sewing_line
from nesting.pattern.path import Path, Point
from nesting.pattern.piece import Mark, MarkKind, Piece
from nesting.pattern.shapes import rectangle
from nesting.pattern.strips import (
    binding_square,
    continuous_binding,
    joined_bias,
    strap_interfacing,
    strap_width,
)
from nesting.pattern.variants.fold import fold_axis, opened
from nesting.pattern.variants.transform import from_corner
from nesting.tolerance import TOLERANCE

__all__ = ["ALLOWANCE", "drawn_from", "piece_from"]

ALLOWANCE = 10.0
"""Seam allowance (mm) where the outline is the sewing line and none is given: the ⅜ in that is
common in bag patterns (kitdunsmore.com, 2026; common practice)."""
_USUAL = (60.0, 2500.0)
"""Longer side (mm) of a piece that is drawn as a path: common practice, no source."""


def piece_from(table: PieceTable, place: Place, desk: Desk) -> Piece:
    """Return the piece that a table describes, or that it takes from a pattern file."""
    return drawn_from(table, place, desk).piece


def drawn_from(table: PieceTable, place: Place, desk: Desk) -> Drawn:
    """Return the same with what was drawn, in the size that is read."""
    drawn_at = (*place, "in_size", desk.size) if desk.size in table.in_size else place
    table = of_size(table, place, desk)
    if table.from_ is not None:
        return _from_file(table, place, desk)
    if table.strap is not None or table.binding is not None:
        return _strip(table, place, desk)
    drawn, holes = outline_with_holes(table, table.hole, drawn_at, desk)
    refuse_other_unit(table, drawn, place, desk, _USUAL)
    cut, sew = _lines(table, drawn, place, desk)
    if table.grain is None:
        desk.assume("no grain given, it runs along the drawing's x axis", of=table.name, first=True)
    piece = Piece(
        name=table.name,
        cut=cut,
        sew=sew,
        holes=holes,
        grain=table.grain or 0.0,
        fold=_segment(table.fold_axis),
        fold_back=_segment(table.fold_back),
        motif=table.motif,
        points=tuple(table.named_points.items()),
        up_known=table.up_known,
    )
    return _finished(table, piece, place, desk, drawn=drawn)


def _finished(
    table: PieceTable,
    piece: Piece,
    place: Place,
    desk: Desk,
    *,
    drawn: Path,
    others: tuple[Mark, ...] = (),
) -> Drawn:
    """Return a piece with its marks, opened on its fold; `others`: marks of its pattern file."""
    before = len(piece.marks)
    piece = _marked(table, piece, place, desk, drawn=drawn)
    half = Drawn(
        piece=piece,
        outline=drawn,
        sewn=table.line == "sewing",
        marks=piece.marks[before:],
        others=others,
    )
    if table.fold_edge is None:
        return half
    with desk.at((*place, "fold_edge")):
        fold = _fold_edge(table, drawn)
        whole = opened(piece, axis=_fold_line(table, drawn))
    _refuse_inside(piece.marks, whole, place, desk)
    return replace(half, piece=whole, fold=fold)


def _refuse_inside(marks: Sequence[Mark], whole: Piece, place: Place, desk: Desk) -> None:
    """Refuse notches on the fold: in the opened piece they would be holes in its middle."""
    for i, mark in enumerate(marks):
        if mark.kind is not MarkKind.NOTCH or mark.at is None:
            continue
        if nearest(whole.cut, mark.at).distance > TOLERANCE.on_edge:
            raise desk.error(
                "the notch lies on the fold, inside the opened piece",
                (*place, "mark", i),
                hint="put it on an edge that is cut, or make it a drill mark",
            )


def _strip(table: PieceTable, place: Place, desk: Desk) -> Drawn:
    """Return a strap folded in four, or the square that a binding is cut from."""
    way = "strap" if table.strap is not None else "binding"
    others = [*given(table), *(key for key in ("strap", "binding") if getattr(table, key))]
    unfit = [key for key in others if key != way]
    unfit += [key for key in ("hole", "line", "sewing_line", "fold_edge") if getattr(table, key)]
    if unfit:
        raise desk.error(f"a {way} has no {unfit[0]}", (*place, unfit[0]), hint="leave it out")
    length, width = table.strap or table.binding or (0.0, 0.0)
    if not (length > 0.0 and width > 0.0):
        raise desk.error(
            f"a {way} has a length and a width", (*place, way), hint="give both, more than 0"
        )
    seam = (table.seam_allowance or {}).get(0, 0.0)
    marks: tuple[Mark, ...] = ()
    if table.strap is not None:
        across, say = strap_width(width), desk.amounts.setting
        cut = rectangle(length + 2.0 * seam, across)
        desk.assume(
            f"cut {say(across)} wide, to be folded in four; interfacing for three of its quarters"
            f" is {say(strap_interfacing(across))} wide",
            of=table.name,
        )
        folds = [[(0.0, k * width), (length + 2.0 * seam, k * width)] for k in (1, 2, 3)]
        marks = tuple(
            Mark(kind=MarkKind.LINE, name="fold", path=Path.polyline(fold, closed=False))
            for fold in folds
        )
    else:
        side = binding_square(length, strip=width, step=1.0, seam=seam)
        cut = rectangle(side, side)
        _say_binding(side, width, seam, table, desk)
    piece = Piece(
        name=table.name, cut=cut, grain=table.grain or 0.0, marks=marks, up_known=table.up_known
    )
    return _finished(table, piece, place, desk, drawn=cut)


def _say_binding(side: float, width: float, seam: float, table: PieceTable, desk: Desk) -> None:
    """Say what binding a square gives, cut round and round and in strips that are joined."""
    tube = continuous_binding(side, width=side, strip=width, seam=seam)
    strips = joined_bias(side, width=side, strip=width, seam=seam)
    say = desk.amounts
    said = f"a square of {say.setting(side)}, sewn to a tube, gives {say.room(tube)} of binding"
    if strips.pieces:
        said += (
            f"; cut into bias strips ({len(strips.pieces)}) that are joined it gives"
            f" {say.room(strips.length)}, after {say.needed(strips.lost)} that the joins"
            f" ({strips.joins}) take"
        )
    desk.assume(said, of=table.name)


def _lines(table: PieceTable, drawn: Path, place: Place, desk: Desk) -> tuple[Path, Path | None]:
    """Return the cutting and the sewing line."""
    if table.line is None:
        desk.assume("its outline is taken for the cutting line", of=table.name)
    sewn = table.line == "sewing"
    widths = table.seam_allowance
    if table.sewing_line is not None:
        seam, alone = table.sewing_line, not sewn and widths is None
        return drawn, _drawn_seam(seam, table.path_unit, place, desk, alone=alone)
    if widths is None:
        if not sewn:
            return drawn, None
        desk.assume(f"seam allowance {desk.amounts.setting(ALLOWANCE)} all round", of=table.name)
        widths = {0: ALLOWANCE}
    with desk.at((*place, "seam_allowance")):
        width = _edge_widths(table, drawn, widths)
        if not sewn:
            return drawn, sewing_line(drawn, width)
        return add_allowance(drawn, width), drawn


def _drawn_seam(data: str, unit: str | None, place: Place, desk: Desk, *, alone: bool) -> Path:
    """Return a sewing line that is drawn beside the cutting line."""
    here = (*place, "sewing_line")
    if not alone:
        raise desk.error(
            "the sewing line is given twice", here, hint="leave out seam_allowance and line"
        )
    with desk.at(here):
        paths = path_data(data, unit)
        if len(paths) != 1:
            raise desk.error(f"the path data holds {len(paths)} lines instead of one", here)
        return clean_outline(paths[0])


def _marked(table: PieceTable, piece: Piece, place: Place, desk: Desk, *, drawn: Path) -> Piece:
    """Return the piece with the table's marks, notches moved onto the cutting line.

    `drawn`: the line that was drawn, from whose edges and centre they may be measured.
    """
    if len(table.mark) > MOST_MARKS:
        raise desk.error(
            f"it has {len(table.mark)} marks, at most {MOST_MARKS} are read",
            (*place, "mark"),
            hint="leave some out",
        )
    marks = list(piece.marks)
    for i, mark in enumerate(table.mark):
        here = (*place, "mark", i)
        alone = replace(piece, marks=(mark_from(mark, here, desk, drawn=drawn),))
        with desk.at((*here, "at" if mark.edge is None else "edge")):
            alone = settled_notches(alone)
        _refuse_off_piece(alone, here, desk)
        marks += alone.marks
    return replace(piece, marks=tuple(marks))


def _refuse_off_piece(piece: Piece, place: Place, desk: Desk) -> None:
    """Refuse the last mark if it leaves the piece: it would be made on another part."""
    mark = piece.marks[-1]
    off = beyond(mark, piece)
    if off:
        what = f'{mark.kind} mark "{mark.name}"' if mark.name else f"{mark.kind} mark"
        raise desk.error(
            f"the {what} is off the piece by {desk.amounts.size(off)}",
            place,
            hint="put it on the piece, or make it smaller",
        )


def _marks_from_file(piece: Piece, place: Place, desk: Desk) -> Piece:
    """Return a piece from a file, lines that run off it cut off at its edge.

    Other marks that leave it are refused.
    """
    kept: list[Mark] = []
    for mark in piece.marks:
        off = beyond(mark, piece)
        if not off:
            kept.append(mark)
        elif mark.path is None:
            _refuse_off_piece(replace(piece, marks=(mark,)), (*place, "from"), desk)
        else:
            kept += clipped(mark, piece)
            name = f'the line "{mark.name}"' if mark.name else "a line"
            desk.assume(
                f"{name} runs {desk.amounts.setting(off)} off it in the file and is cut off at"
                " its edge",
                of=piece.name,
            )
    return replace(piece, marks=tuple(kept))


def _from_file(table: PieceTable, place: Place, desk: Desk) -> Drawn:
    """Return a piece from a pattern file; what the table says besides counts."""
    for key, there in (("hole", table.hole), *_shapes(table)):
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
        reference=table.file_reference,
        line=table.file_line,
        amounts=desk.amounts,
    )
    piece = from_corner(replace(desk.fetch(request, (*place, "from")), name=table.name))
    corner = any(mark.edge is None and mark.from_centre is None for mark in table.mark)
    if corner or table.motif or table.named_points or table.fold_back:
        x0, y0, x1, y1 = bounds(piece.cut)
        size = desk.amounts.sizes(x1 - x0, y1 - y0)
        desk.assume(
            f"places are measured from the lower left corner of its outline, which is {size}",
            of=table.name,
        )
    drawn = piece.cut
    if table.grain is not None:
        piece = replace(piece, grain=table.grain, up_known=True)
    if not table.up_known:
        piece = replace(piece, up_known=False)
    if table.fold_back is not None:
        piece = replace(piece, fold_back=_segment(table.fold_back))
    if table.motif is not None:
        piece = replace(piece, motif=table.motif)
    piece = replace(piece, points=(*piece.points, *table.named_points.items()))
    if table.seam_allowance is not None or table.line is not None:
        cut, sew = _lines(table, piece.cut, place, desk)
        piece = replace(piece, cut=cut, sew=sew)
    others = piece.marks
    out = _left_out(table, piece, place, desk)
    kept = tuple(mark for number, mark in enumerate(others, start=1) if number not in out)
    piece = _marks_from_file(replace(piece, marks=kept), place, desk)
    return _finished(table, piece, place, desk, drawn=drawn, others=others)


def _left_out(table: PieceTable, piece: Piece, place: Place, desk: Desk) -> list[int]:
    """Return which marks of the pattern file are left out, by number from 1."""
    for number in table.marks_left_out:
        if not 1 <= number <= len(piece.marks):
            raise desk.error(
                f"there is no mark {number} in the pattern file: the piece has {len(piece.marks)}",
                (*place, "marks_left_out"),
                hint="marks are counted from 1, as the command pieces lists them",
            )
    return table.marks_left_out


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
