"""The pages of a booklet that say what to cut: pieces with pictures, rectangles as a table."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import partial

import shapely

from nesting.amounts import METRIC, Amounts
from nesting.job.job import Job
from nesting.marker.lay import Part
from nesting.pattern.measure import bounds
from nesting.pattern.path import Point
from nesting.pattern.piece import Mark, Piece
from nesting.writing.handout.pattern_pieces import CutPiece, all_parts, cut_pieces, is_same
from nesting.writing.handout.setting import (
    BODY,
    COLUMNS,
    GUTTER,
    LEADING,
    SMALL,
    Column,
    Setter,
    wrapped,
)
from nesting.writing.handout.shown import scale_of, show
from nesting.writing.handout.turned import turned
from nesting.writing.handout.words import INCHES, both, both_fine, both_sizes
from nesting.writing.neutral.drawing import Drawing
from nesting.writing.neutral.keys import Keys
from nesting.writing.neutral.lettering import Lettering
from nesting.writing.paper.book import Book
from nesting.writing.paper.templates import cut_in_words, drawn_templates, is_plain

__all__ = ["allowance", "cut_pages"]

_PICTURE = 36.0
"""Height of a piece's picture at most (mm)."""


def cut_pages(page: Setter, job: Job, keys: Keys) -> None:
    """Set what to cut."""
    page.section("What to cut")
    parts = all_parts(job)
    shaped = [part for part in parts if not is_plain(part)]
    if shaped:
        page.paragraph(
            "Each piece once, not to one scale. Seam allowances are in it: the solid line is cut,"
            " the broken one is sewn. “1 + 1 reversed”: cut one as it is drawn, and one with the"
            " template turned over. An arrow with one head points to the end that is up."
        )
        cells = [_cell(page, part, job, keys) for part in shaped]
        for i in range(0, len(cells), COLUMNS):
            _row(page, cells[i : i + COLUMNS])
    if rectangles := _rectangles_of(job):
        _rectangles(page, rectangles, job)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Cell:
    """A picture with its caption: a bold line or two, and small ones."""

    drawing: Drawing
    scale: float
    head: tuple[str, ...]
    lines: tuple[str, ...]

    @property
    def high(self) -> float:
        """How high the picture is."""
        return (self.drawing.box[3] - self.drawing.box[1]) * self.scale

    @property
    def height(self) -> float:
        """How high it is with all that is said below."""
        return _PICTURE + 4.0 + LEADING * (BODY * len(self.head) + SMALL * len(self.lines))


def _cell(page: Setter, part: Part, job: Job, keys: Keys) -> _Cell:
    x0, y0, x1, y1 = bounds(part.piece.cut)
    upright = _stands(part, job)
    box = (0.0, 0.0, y1 - y0, x1 - x0) if upright else (0.0, 0.0, x1 - x0, y1 - y0)
    scale = scale_of(box, width=page.column - 1.0, height=_PICTURE - 1.0)
    lettering = Lettering.shown(scale, readable=1.5, clear=0.5, on_end=upright)
    plain = replace(part, variant="")
    drawing = drawn_templates([(plain, 0.0, 0.0)], part.piece.name, keys, lettering=lettering)
    drawing = turned(drawing) if upright else drawing
    scale = min(scale, scale_of(drawing.box, width=page.column, height=_PICTURE))
    said = _said(part, job)
    name = keys.titles[keys.place_of(part)]
    key = keys.key_of(part.piece.name, "", part.design)
    return _Cell(
        drawing=drawing,
        scale=scale,
        head=tuple(wrapped(f"{key}  {name}", width=page.column, height=BODY, bold=True)),
        lines=tuple(
            line for text in said for line in wrapped(text, width=page.column, height=SMALL)
        ),
    )


def _stands(part: Part, job: Job) -> bool:
    """Whether a piece was drawn standing up, with its grain towards the top or the foot."""
    bag = next(bag for bag in job.bags if bag.name == (part.design or job.bags[0].name))
    drawn = next(piece for piece in bag.pieces if piece.name == part.piece.name)
    return 45.0 < drawn.grain % 180.0 < 135.0


def _said(part: Part, job: Job) -> list[str]:
    """Return what a piece's caption says: its size, how it is cut, its allowance, its direction."""
    x0, y0, x1, y1 = bounds(part.piece.cut)
    amounts = job.amounts
    sized = _in_sizes(part, job)
    bag = next(bag for bag in job.bags if bag.name == (part.design or job.bags[0].name))
    cuts = [cut_in_words(cut) for cut in bag.cuts if cut.piece == part.piece.name]
    said = [
        *(sized or [both_sizes(x1 - x0, y1 - y0, amounts)]),
        *(f"{c[0].upper()}{c[1:]}" for c in cuts),
    ]
    said.append(allowance(part.piece, amounts))
    if part.piece.fold is not None:
        said.append("Symmetric: half of it may lie on the fold")
    if part.grain and not part.piece.up_known:
        said.append("Which end is up is not known")
    return said


def _in_sizes(part: Part, job: Job) -> list[str]:
    """Return how large a piece is in each size, if that differs."""
    found = []
    for size in job.sizes:
        same = next(p for p in all_parts(job.in_size(size)) if is_same(p, part))
        x0, y0, x1, y1 = bounds(same.piece.cut)
        found.append(both_sizes(x1 - x0, y1 - y0, job.amounts))
    if len(set(found)) < 2:
        return []
    return [f"{size}: {said}" for size, said in zip(job.sizes, found, strict=True)]


def allowance(piece: Piece, amounts: Amounts) -> str:
    """Say how wide a piece's seam allowance is, from the least to the most."""
    if piece.sew is None or piece.sew == piece.cut:
        return "No seam line"
    cut = shapely.LinearRing(piece.cut.points(0.05))
    sewn = shapely.LinearRing(piece.sew.points(0.05)).segmentize(5.0)
    away = shapely.distance(cut, shapely.points(shapely.get_coordinates(sewn)))
    least, most = float(away.min()), float(away.max())
    few, many = both_fine(round(least, 1), amounts), both_fine(round(most, 1), amounts)
    return f"Seam allowance {few}" if few == many else f"Seam allowance {few} to {many}"


def _row(page: Setter, cells: list[_Cell]) -> None:
    high = max(cell.height for cell in cells)
    page.need(high)
    top = page.y
    for i, cell in enumerate(cells):
        across = i * (page.column + GUTTER)
        at = (page.left + across, top - _PICTURE + (_PICTURE - cell.high) / 2.0)
        page.draw(partial(_show, cell=cell, at=at))
        page.y = top - _PICTURE - 3.5
        for text in cell.head:
            page.line(text, bold=True, at=across)
        for text in cell.lines:
            page.line(text, height=SMALL, at=across, grey=0.15)
    page.y = top - high - 6.0


def _show(book: Book, *, cell: _Cell, at: Point) -> None:
    show(book, cell.drawing, at, scale=cell.scale)


def _rectangles_of(job: Job) -> tuple[CutPiece, ...]:
    """Return the rectangles of a job, those that differ in some size once for each."""
    if not job.sizes:
        return cut_pieces(job, plain=True)
    found: dict[tuple[str, str], list[tuple[str, CutPiece]]] = {}
    for size in job.sizes:
        for shape in cut_pieces(job.in_size(size), plain=True):
            found.setdefault((shape.bag, shape.title), []).append((size, shape))
    rows: list[CutPiece] = []
    for those in found.values():
        if len(those) == len(job.sizes) and len({shape.size for _, shape in those}) == 1:
            rows.append(those[0][1])
        else:
            rows += [replace(shape, title=f"{shape.title}, size {size}") for size, shape in those]
    return tuple(rows)


def _rectangles(page: Setter, shapes: tuple[CutPiece, ...], job: Job) -> None:
    page.heading("Rectangles, straps and bindings", room=45.0)
    page.paragraph(
        "To be drawn on the material with a ruler; along the grain first. Seam allowances are in"
        " the sizes. Inches are to the nearest eighth."
    )
    systems = [(METRIC, "cm"), (INCHES, "in")]
    systems.sort(key=lambda one: one[0].inches != job.amounts.inches)
    columns = (
        Column(head="", share=0.6, bold=True),
        Column(head="Piece", share=2.4),
        Column(head="Cut", share=3.5),
        Column(head=f"{systems[0][1]}, along × across", share=2.2, right=True),
        Column(head=systems[1][1], share=2.2, right=True),
    )
    rows = []
    for shape in shapes:
        cuts = "; ".join(_short(cut_in_words(cut)) for cut in shape.cuts)
        marks = [_line_words(mark, shape.piece, job.amounts) for mark in shape.piece.marks]
        along, across = shape.size
        rows.append(
            [
                shape.key,
                shape.title,
                "; ".join([cuts, *filter(None, marks)]),
                *(say.sizes(along, across).removesuffix(f" {unit}") for say, unit in systems),
            ]
        )
    page.table(columns, rows)


def _short(words: str) -> str:
    return words.removeprefix("cut ").replace(" from ", " ", 1)


def _line_words(mark: Mark, piece: Piece, amounts: Amounts) -> str:
    """Say where a line lies that is to be marked along or across a rectangle."""
    if mark.path is None:
        return ""
    x0, y0, _, _ = bounds(piece.cut)
    a0, b0, a1, b1 = bounds(mark.path)
    name = mark.name or "a line"
    if a1 - a0 >= b1 - b0:
        return f"{name} along it, {both(b0 - y0, amounts)} from the edge"
    return f"{name} across it, {both(a0 - x0, amounts)} from the end"
