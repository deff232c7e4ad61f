"""How a booklet is set: sheets with a grid, headings, paragraphs, tables and figures.

All text is of one family, in two weights and five sizes; all rules are grey or black. What is set
is kept until all of it is, for the contents and the foot of each page name pages that come later.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from nesting.writing.files import one_line
from nesting.writing.neutral.font import text_width
from nesting.writing.paper.book import Book
from nesting.writing.paper.papers import Paper

__all__ = ["BODY", "COLUMNS", "GUTTER", "HEAD", "SMALL", "Column", "Setter", "wrapped"]

BODY, SMALL, HEAD, SECTION, TITLE = 2.2, 1.75, 2.7, 5.0, 8.5
"""Heights of capitals (mm): of text, of notes and captions, of headings, sections, the title."""
LEADING = 2.1
"""From base line to base line, in heights of capitals."""
COLUMNS, GUTTER = 3, 7.0
"""Columns of the grid, and between them (mm)."""
_SIDE, _TOP, _FOOT = 20.0, 22.0, 24.0
"""Margins of a page (mm)."""
_RULE, _HAIR = 0.35, 0.12
"""Widths of lines (mm)."""

Draw = Callable[[Book], None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """Of a table: its head, its share of the width, and whether it stands at the right."""

    head: str
    share: float
    right: bool = False
    bold: bool = False


@dataclass(slots=True)
class _Page:
    drawn: list[Draw] = field(default_factory=list)


class Setter:
    """A booklet in the making; `y` is where the next line's top is (mm from the page's foot)."""

    def __init__(self, paper: Paper, *, title: str) -> None:
        self.paper, self.title = paper, one_line(title)
        self.sections: list[tuple[str, int]] = []
        self._pages: list[_Page] = []
        self.y = 0.0

    @property
    def left(self) -> float:
        """Where lines begin."""
        return _SIDE

    @property
    def width(self) -> float:
        """How wide text is set."""
        return self.paper.width - 2.0 * _SIDE

    @property
    def column(self) -> float:
        """How wide one column of the grid is."""
        return (self.width - (COLUMNS - 1) * GUTTER) / COLUMNS

    @property
    def height(self) -> float:
        """How much there is for text on a page."""
        return self.paper.height - _TOP - _FOOT

    @property
    def left_over(self) -> float:
        """How much of this page is left."""
        return self.y - _FOOT

    def draw(self, what: Draw) -> None:
        """Draw something on the page at hand."""
        self._pages[-1].drawn.append(what)

    def page(self) -> None:
        """Begin a page."""
        self._pages.append(_Page())
        self.y = self.paper.height - _TOP

    def need(self, room: float) -> None:
        """Begin a page unless so much is left of this one."""
        if room > self.left_over + 1e-6:
            self.page()

    def skip(self, room: float) -> None:
        """Leave white, but none at the head of a page."""
        if self.y < self.paper.height - _TOP:
            self.y -= room

    def section(self, title: str) -> None:
        """Begin a section on a page of its own."""
        self.page()
        self.sections.append((title, len(self._pages)))
        self.line(title, height=SECTION, bold=True)
        self.y -= 3.0
        self.rule(_RULE)
        self.y -= 7.0

    def heading(self, text: str, *, room: float = 30.0) -> None:
        """Write a heading, with room for what it heads."""
        self.skip(6.0)
        self.need(room)
        for line in wrapped(text, width=self.width, height=HEAD, bold=True):
            self.line(line, height=HEAD, bold=True)
        self.y -= 1.5

    def line(
        self,
        text: str,
        *,
        height: float = BODY,
        bold: bool = False,
        grey: float = 0.0,
        at: float = 0.0,
        leading: float = LEADING,
    ) -> None:
        """Write one line, `at` so far in (mm)."""
        base = self.y - height
        x = self.left + at
        self.draw(
            lambda book: book.text(
                text, (x, base), height=height, middle=False, bold=bold, grey=grey
            )
        )
        self.y -= leading * height

    def paragraph(
        self,
        text: str,
        *,
        height: float = BODY,
        bold: bool = False,
        grey: float = 0.0,
        width: float | None = None,
    ) -> None:
        """Write text in lines, and leave some white below."""
        for line in wrapped(text, width=width or self.width, height=height, bold=bold):
            self.need(LEADING * height)
            self.line(line, height=height, bold=bold, grey=grey)
        self.y -= 0.8 * height

    def rule(self, width: float = _HAIR, *, grey: float = 0.0) -> None:
        """Draw a line across."""
        y, x, wide = self.y, self.left, self.width

        def draw(book: Book) -> None:
            with book.window(x, y - 1.0, width=wide, height=2.0, origin=(0.0, 0.0)):
                book.pen(width, grey=grey)
                book.lines(((0.0, 1.0), (wide, 1.0)))

        self.draw(draw)

    def table(self, columns: Sequence[Column], rows: Sequence[Sequence[str]]) -> None:
        """Set a table; its head is repeated where it goes on on another page.

        The last cell of a row that has too few takes the room of those that are missing.
        """
        shares = sum(column.share for column in columns)
        wide = [self.width * column.share / shares for column in columns]
        head = self._cells(columns, [column.head for column in columns], wide, head=True)
        for i, row in enumerate(rows):
            cells = self._cells(columns, row, wide, head=False)
            high = _high(cells, BODY) + 2.0
            if not i or high > self.left_over:
                if i:
                    self.rule(_HAIR, grey=0.4)
                self.need(_high(head, SMALL) + 3.5 + high)
                self._row(head, wide, columns, height=SMALL, bold=True)
                self.y -= 0.6
                self.rule(_RULE)
                self.y -= 1.8
            self._row(cells, wide, columns, height=BODY)
            self.y -= 0.6
            self.rule(_HAIR, grey=0.6)
            self.y -= 1.4
        self.y -= 2.0

    def _cells(
        self, columns: Sequence[Column], row: Sequence[str], wide: Sequence[float], *, head: bool
    ) -> list[list[str]]:
        height = SMALL if head else BODY
        rooms = [*wide[: len(row) - 1], sum(wide[len(row) - 1 :])]
        return [
            wrapped(text, width=room - 2.5, height=height, bold=head or column.bold)
            for column, text, room in zip(columns, row, rooms, strict=False)
        ]

    def _row(
        self,
        cells: Sequence[Sequence[str]],
        wide: Sequence[float],
        columns: Sequence[Column],
        *,
        height: float,
        bold: bool = False,
    ) -> None:
        top, at = self.y, 0.0
        short = len(cells) < len(columns)
        for i, (column, lines, room) in enumerate(zip(columns, cells, wide, strict=False)):
            spans = short and i == len(cells) - 1
            right, thick = column.right and not spans, bold or (column.bold and not spans)
            for n, text in enumerate(lines):
                long = text_width(text, bold=thick) * height
                self.y = top - n * LEADING * height
                aside = at + (room - 2.5 - long if right else 0.0)
                self.line(text, height=height, bold=thick, at=aside)
            at += room
        self.y = top - _high(cells, height)

    def finished(self) -> bytes:
        """Return the file, with the foot of each page."""
        book = Book(self.title)
        for number, page in enumerate(self._pages, start=1):
            book.page(self.paper.width, self.paper.height)
            for draw in page.drawn:
                draw(book)
            if number > 1:
                self._foot(book, number)
            book.turn()
        return book.finished()

    def _foot(self, book: Book, number: int) -> None:
        begun = [title for title, first in self.sections if first <= number]
        said = f"{number} of {len(self._pages)}"
        long, low = text_width(said) * SMALL, 13.0
        words = " · ".join([self.title, *begun[-1:]])
        room = self.width - long - 10.0
        book.text(words, (self.left, low), height=SMALL, middle=False, grey=0.35, most=room)
        at = (self.left + self.width - long, low)
        book.text(said, at, height=SMALL, middle=False, grey=0.35)


def _high(cells: Sequence[Sequence[str]], height: float) -> float:
    return max(1, *(len(lines) for lines in cells)) * LEADING * height


def wrapped(text: str, *, width: float, height: float, bold: bool = False) -> list[str]:
    """Return text in lines of at most a width (mm); a word that is longer is broken."""
    lines: list[str] = []
    for word in one_line(text).split(" "):
        for part in _broken(word, most=width / height, bold=bold):
            longer = f"{lines[-1]} {part}" if lines else part
            if lines and part is word and text_width(longer, bold=bold) * height <= width:
                lines[-1] = longer
            else:
                lines.append(part)
    return lines


def _broken(word: str, *, most: float, bold: bool) -> list[str]:
    """Return a word, or the parts of one that fits no line."""
    if text_width(word, bold=bold) <= most or len(word) < 2:
        return [word]
    end = next(n for n in range(1, len(word) + 1) if text_width(word[:n], bold=bold) > most)
    end = max(1, end - 1)
    return [word[:end], *_broken(word[end:], most=most, bold=bold)]
