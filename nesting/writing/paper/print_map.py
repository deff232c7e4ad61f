"""Maps of a print's sheets, with what has to be said before they are cut."""

from __future__ import annotations

from collections.abc import Iterator

from nesting.amounts import Amounts
from nesting.pattern.path import Path
from nesting.writing.cautions import ALWAYS
from nesting.writing.neutral.drawing import Drawing, Operation
from nesting.writing.pages.wording import key_words
from nesting.writing.paper.book import Book
from nesting.writing.paper.tiling import Tiling

__all__ = [
    "TEXT",
    "TITLE",
    "draw_map",
    "map_page",
    "map_scale",
    "said_before",
    "wants_map",
]

_FEW = 3
"""Sheets that need no map: their names tell how they lie."""
TITLE, TEXT = 4.5, 2.2
"""Height of capitals, mm."""


def wants_map(drawing: Drawing, tiling: Tiling, *, first: bool) -> bool:
    """Whether a drawing has something to say, or to show, before its sheets."""
    return first or len(tiling.tiles) > _FEW or bool(drawing.notes)


def map_page(
    book: Book,
    drawing: Drawing,
    tiling: Tiling,
    amounts: Amounts,
    *,
    first: bool,
    joined: bool,
) -> None:
    """Draw how the sheets go together, and say what has to be said.

    `joined`: of any drawing of the print several sheets are.
    """
    paper = tiling.paper
    book.page(paper.width, paper.height)
    x, y = paper.corner
    top = y + paper.frame_height
    wide = min(paper.frame_width, 400.0)
    book.text(drawing.name, (x, top - 6.0), height=TITLE, middle=False, most=wide - 2.0)
    line_y = top - 14.0
    for line in said_before(drawing, tiling, amounts, first=first, joined=joined):
        line_y = book.paragraph(line, (x, line_y), width=wide, height=TEXT) - 1.2
    room = max(line_y - y - 2.0, 20.0)
    draw_map(book, drawing, tiling, (x, y), size=(paper.frame_width, room))
    book.turn()


def said_before(
    drawing: Drawing, tiling: Tiling, amounts: Amounts, *, first: bool, joined: bool
) -> Iterator[str]:
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
    if cut_out and joined:
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


def map_scale(tiling: Tiling, size: tuple[float, float]) -> tuple[float, tuple[float, ...]]:
    """Return how much smaller all sheets are drawn to go into a size, and their bounds (mm)."""
    x0, y0 = min(t.x for t in tiling.tiles), min(t.y for t in tiling.tiles)
    x1 = max(t.x + t.width for t in tiling.tiles)
    y1 = max(t.y + t.height for t in tiling.tiles)
    return min(size[0] / (x1 - x0), size[1] / (y1 - y0), 1.0), (x0, y0, x1, y1)


def draw_map(
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
    scale, (x0, y0, x1, y1) = map_scale(tiling, size)
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
            book.stroke(
                Path.polyline([(cx0, cy0), (cx1, cy0), (cx1, cy1), (cx0, cy1)], closed=True)
            )
            book.text(
                tile.name,
                ((cx0 + cx1) / 2.0, (cy0 + cy1) / 2.0),
                height=min(0.25 * (cy1 - cy0), 0.3 * (cx1 - cx0), 8.0 / scale),
                grey=0.45,
                inside=True,
                most=0.8 * (cx1 - cx0),
            )
