"""What goes before the sheets of a true-scale print: squares to measure, words, maps of sheets."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from nesting.amounts import Amounts
from nesting.pattern.path import Path
from nesting.writing.cautions import ALWAYS
from nesting.writing.neutral.drawing import Drawing, Operation
from nesting.writing.pages.wording import key_words
from nesting.writing.paper.book import Book
from nesting.writing.paper.papers import Paper
from nesting.writing.paper.tiles import Tiling

__all__ = ["SQUARES", "check_page", "corner", "front_strip", "map_page", "wants_map"]

SQUARES = (100.0, 101.6)
"""Sides of the check squares: 100 mm and 4 in."""

_FEW = 3
"""Sheets that need no map: their names tell how they lie."""
_COLUMN, _GAP = 206.0, 8.0
"""Width of a column of a roll's strip, with room for both squares side by side, and between."""
_MAP = 150.0
"""Height of a map on a roll's strip, mm, at most."""
_TITLE, _TEXT = 4.5, 2.2
"""Height of capitals, mm."""
_MEASURE = "Print at 100 %, “actual size”. Measure this square first."


def corner(paper: Paper) -> tuple[float, float]:
    """Return the frame's lower left corner on the page."""
    return (paper.width - paper.frame_width) / 2.0, (paper.height - paper.frame_height) / 2.0


def wants_map(drawing: Drawing, tiling: Tiling, *, first: bool) -> bool:
    """Whether a drawing has something to say, or to show, before its sheets."""
    return first or len(tiling.tiles) > _FEW or bool(drawing.notes)


def check_page(book: Book, paper: Paper) -> None:
    """Draw a page that holds the two squares and nothing else."""
    book.page(paper.width, paper.height)
    x, y = corner(paper)
    small, large = SQUARES
    wide = paper.frame_width >= small + large + 10.0
    with book.window(x, y, width=paper.frame_width, height=paper.frame_height, origin=(0.0, 0.0)):
        _squares(book, [(2.0, 2.0), (small + 12.0, 2.0) if wide else (2.0, small + 12.0)])
    book.turn()


def _squares(book: Book, places: Sequence[tuple[float, float]]) -> None:
    book.pen(0.25)
    for size, (x, y), name in zip(SQUARES, places, ("100 mm", "4 in"), strict=True):
        book.stroke(_box(x, y, x + size, y + size))
        middle = x + size / 2.0
        book.text(name, (middle, y + size / 2.0), height=8.0, inside=True)
        book.text(_MEASURE, (middle, y + size / 2.0 - 14.0), height=2.2, inside=True)


def _box(x0: float, y0: float, x1: float, y1: float) -> Path:
    return Path.polyline([(x0, y0), (x1, y0), (x1, y1), (x0, y1)], closed=True)


def map_page(
    book: Book, drawing: Drawing, tiling: Tiling, amounts: Amounts, *, first: bool
) -> None:
    """Draw how the sheets go together, and say what has to be said."""
    paper = tiling.paper
    book.page(paper.width, paper.height)
    x, y = corner(paper)
    top = y + paper.frame_height
    wide = min(paper.frame_width, 400.0)
    book.text(drawing.name, (x, top - 6.0), height=_TITLE, middle=False, most=wide - 2.0)
    line_y = top - 14.0
    for line in _said(drawing, tiling, amounts, first=first):
        line_y = book.paragraph(line, (x, line_y), width=wide, height=_TEXT) - 1.2
    room = max(line_y - y - 2.0, 20.0)
    _map(book, drawing, tiling, (x, y), size=(paper.frame_width, room))
    book.turn()


def _said(drawing: Drawing, tiling: Tiling, amounts: Amounts, *, first: bool) -> Iterator[str]:
    """Give what to know about a drawing's sheets; what holds for all of them only `first`."""
    count = len(tiling.tiles)
    cut_out = first and count > 0
    if count > 1:
        yield (
            f"Map of the sheets, not to scale: {count} of {tiling.paper.name} in {tiling.rows} rows"
            f" (1, 2, …) and {tiling.columns} columns (A, B, …)."
        )
    if cut_out:
        yield "First measure the squares: 100 mm and 4 in (101.6 mm), to half a mm."
        yield (
            "Cut along the middle of the thick solid lines, and nowhere else: the key below each "
            "sheet shows the lines. An arrow with one head points to the top of the print."
        )
        yield (
            "Butt the sheets: trim along the broken lines between them, and join the halves of "
            "the lozenges."
            if tiling.overlap == 0.0
            else f"Sheets that go together overlap by {amounts.setting(tiling.overlap)}: trim one "
            "along the broken line, lay it on the other's, cross upon cross."
        )
    yield from drawing.notes
    if keys := key_words([drawing.legend]):
        yield f"Keys: {'; '.join(keys)}."
    if first:
        yield from ALWAYS


def _map_scale(tiling: Tiling, size: tuple[float, float]) -> tuple[float, tuple[float, ...]]:
    x0, y0 = min(t.x for t in tiling.tiles), min(t.y for t in tiling.tiles)
    x1 = max(t.x + t.width for t in tiling.tiles)
    y1 = max(t.y + t.height for t in tiling.tiles)
    return min(size[0] / (x1 - x0), size[1] / (y1 - y0), 1.0), (x0, y0, x1, y1)


def _map(
    book: Book,
    drawing: Drawing,
    tiling: Tiling,
    at: tuple[float, float],
    *,
    size: tuple[float, float],
) -> None:
    """Draw a map of the sheets with its lower left corner at a point of the page."""
    if not tiling.tiles:
        return
    scale, (x0, y0, x1, y1) = _map_scale(tiling, size)
    hair = 0.5 / scale
    with book.window(
        at[0] - 0.5,
        at[1] - 0.5,
        width=(x1 - x0) * scale + 1.0,
        height=(y1 - y0) * scale + 1.0,
        origin=(x0 - hair, y0 - hair),
        scale=scale,
    ):
        book.pen(0.2 / scale, grey=0.3)
        for stroke in drawing.strokes:
            if stroke.operation is Operation.CUT:
                book.stroke(stroke.path)
        for tile in tiling.tiles:
            cx0, cy0, cx1, cy1 = tiling.cell(tile)
            book.pen(0.3 / scale, grey=0.0)
            book.stroke(_box(cx0, cy0, cx1, cy1))
            book.text(
                tile.name,
                ((cx0 + cx1) / 2.0, (cy0 + cy1) / 2.0),
                height=min(0.25 * (cy1 - cy0), 0.3 * (cx1 - cx0), 8.0 / scale),
                grey=0.45,
                inside=True,
                most=0.8 * (cx1 - cx0),
            )


@dataclass(frozen=True, slots=True)
class _Part:
    """One thing of a strip: its height (mm), and what draws it below a point (left, top)."""

    height: float
    draw: Callable[[float, float], None]


def front_strip(
    book: Book, prints: Sequence[tuple[Drawing, Tiling]], amounts: Amounts, *, across: float
) -> None:
    """Draw everything that goes before the sheets of a roll on one short strip of it.

    `across`: the roll's width (mm), with margins of 10 mm.
    """
    drawn = any(tiling.tiles for _, tiling in prints)
    parts = [_squares_part(book)] if drawn else []
    for n, (drawing, tiling) in enumerate(prints):
        if wants_map(drawing, tiling, first=n == 0):
            parts += _text_parts(book, drawing, tiling, amounts, first=n == 0)
    columns: list[list[tuple[float, _Part]]] = [[]]
    high, down = across - 20.0, 0.0
    for part in parts:
        if columns[-1] and down + part.height > high:
            columns.append([])
            down = 0.0
        columns[-1].append((down, part))
        down += part.height
    book.page(20.0 + len(columns) * (_COLUMN + _GAP) - _GAP, across)
    for i, column in enumerate(columns):
        for down, part in column:
            part.draw(10.0 + i * (_COLUMN + _GAP), across - 10.0 - down)
    book.turn()


def _squares_part(book: Book) -> _Part:
    small, large = SQUARES
    high = large + 2.0

    def draw(left: float, top: float) -> None:
        with book.window(left, top - high, width=_COLUMN, height=high, origin=(0.0, 0.0)):
            _squares(book, [(1.0, 1.0), (small + 3.0, 1.0)])

    return _Part(high + _GAP, draw)


def _text_parts(
    book: Book, drawing: Drawing, tiling: Tiling, amounts: Amounts, *, first: bool
) -> Iterator[_Part]:
    """Give a drawing's name, its sentences, and a map where it takes several sheets."""

    def title(left: float, top: float) -> None:
        at = (left, top - _TITLE)
        book.text(drawing.name, at, height=_TITLE, middle=False, most=_COLUMN)

    yield _Part(2.0 * _TITLE, title)
    for line in _said(drawing, tiling, amounts, first=first):

        def paragraph(left: float, top: float, line: str = line) -> None:
            book.paragraph(line, (left, top - _TEXT), width=_COLUMN, height=_TEXT)

        yield _Part(1.8 * _TEXT * book.lines_of(line, width=_COLUMN, height=_TEXT) + 1.2, paragraph)
    if len(tiling.tiles) > 1:
        size = (_COLUMN, _MAP)
        scale, (_, y0, _, y1) = _map_scale(tiling, size)
        high = (y1 - y0) * scale

        def chart(left: float, top: float) -> None:
            _map(book, drawing, tiling, (left, top - high), size=size)

        yield _Part(high + _GAP, chart)
    else:
        yield _Part(_GAP, lambda left, top: None)
