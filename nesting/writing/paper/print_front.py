"""What goes before the sheets of a true-scale print: squares to measure, words, maps of sheets."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from nesting.amounts import Amounts
from nesting.writing.neutral.drawing import Drawing
from nesting.writing.paper.book import Book
from nesting.writing.paper.check_squares import SQUARES, draw_squares
from nesting.writing.paper.print_map import TEXT, TITLE, draw_map, map_scale, said_before, wants_map
from nesting.writing.paper.tiling import Tiling

__all__ = ["COLUMN", "Block", "front_blocks", "front_strip"]
COLUMN, _GAP = 206.0, 8.0
"""Width of what goes before large sheets, with room for both squares side by side, and between."""
_MAP = 150.0
"""Height of a map there, mm, at most."""


@dataclass(frozen=True, slots=True)
class _Part:
    """One thing of a block: its height (mm), and what draws it below a point (left, top)."""

    height: float
    draw: Callable[[float, float], None]


@dataclass(frozen=True, slots=True)
class Block:
    """Things that stand below one another, of which drawing they speak."""

    drawing: int
    parts: tuple[_Part, ...]

    @property
    def height(self) -> float:
        """How high all of it is (mm); it is as wide as a column."""
        return sum(part.height for part in self.parts)

    def draw(self, left: float, top: float) -> None:
        """Draw all of it below a point of the page."""
        for part in self.parts:
            part.draw(left, top)
            top -= part.height


def front_blocks(
    book: Book, prints: Sequence[tuple[Drawing, Tiling]], amounts: Amounts
) -> list[Block]:
    """Return everything that goes before the sheets: the squares, then what is said and mapped."""
    drawn = next((n for n, (_, tiling) in enumerate(prints) if tiling.tiles), None)
    blocks = [] if drawn is None else [Block(drawn, (_squares_part(book),))]
    joined = any(len(tiling.tiles) > 1 for _, tiling in prints)
    for n, (drawing, tiling) in enumerate(prints):
        if wants_map(drawing, tiling, first=n == 0):
            parts = _text_parts(book, drawing, tiling, amounts, first=n == 0, joined=joined)
            blocks.append(Block(n, tuple(parts)))
    return blocks


def front_strip(book: Book, blocks: Sequence[Block], *, across: float) -> None:
    """Draw blocks on one short strip of a roll.

    `across`: the roll's width (mm), with margins of 10 mm.
    """
    parts = [part for block in blocks for part in block.parts]
    columns: list[list[tuple[float, _Part]]] = [[]]
    high, down = across - 20.0, 0.0
    for part in parts:
        if columns[-1] and down + part.height > high:
            columns.append([])
            down = 0.0
        columns[-1].append((down, part))
        down += part.height
    book.page(20.0 + len(columns) * (COLUMN + _GAP) - _GAP, across)
    for i, column in enumerate(columns):
        for down, part in column:
            part.draw(10.0 + i * (COLUMN + _GAP), across - 10.0 - down)
    book.turn()


def _squares_part(book: Book) -> _Part:
    small, large = SQUARES
    high = large + 2.0

    def draw(left: float, top: float) -> None:
        with book.window(left, top - high, width=COLUMN, height=high, origin=(0.0, 0.0)):
            draw_squares(book, [(1.0, 1.0), (small + 3.0, 1.0)])

    return _Part(high + _GAP, draw)


def _text_parts(
    book: Book, drawing: Drawing, tiling: Tiling, amounts: Amounts, *, first: bool, joined: bool
) -> Iterator[_Part]:
    """Give a drawing's name, its sentences, and a map where it takes several sheets."""

    def title(left: float, top: float) -> None:
        at = (left, top - TITLE)
        book.text(drawing.name, at, height=TITLE, middle=False, most=COLUMN)

    yield _Part(2.0 * TITLE, title)
    for line in said_before(drawing, tiling, amounts, first=first, joined=joined):

        def paragraph(left: float, top: float, line: str = line) -> None:
            book.paragraph(line, (left, top - TEXT), width=COLUMN, height=TEXT)

        yield _Part(1.8 * TEXT * book.lines_of(line, width=COLUMN, height=TEXT) + 1.2, paragraph)
    if len(tiling.tiles) > 1:
        size = (COLUMN, _MAP)
        scale, (_, y0, _, y1) = map_scale(tiling, size)
        high = (y1 - y0) * scale

        def chart(left: float, top: float) -> None:
            draw_map(book, drawing, tiling, (left, top - high), size=size)

        yield _Part(high + _GAP, chart)
    else:
        yield _Part(_GAP, lambda left, top: None)
