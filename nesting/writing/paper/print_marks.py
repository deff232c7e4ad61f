"""Marks to lay at the corners of what is photographed, printed to be cut apart."""

from __future__ import annotations

from pathlib import Path as FilePath

from nesting.pattern.path import Point
from nesting.pattern.shapes import rectangle
from nesting.writing.files import whole_file
from nesting.writing.paper.book import Book
from nesting.writing.paper.papers import PAPERS, Paper

__all__ = ["PATTERNS", "SIDE", "print_marks"]

SIDE = 80.0
"""Side (mm) of a mark's black square, as the readers of pictures know it."""
_RIM = 15.0
"""White paper (mm) that has to stay around it."""
PATTERNS = (
    "1011 0101 0011 0010",
    "0000 1111 1001 1010",
    "0011 0011 0010 1101",
    "1001 1001 0100 0110",
)
"""White cells (1) of the marks, four rows of four each from the top: the first ones of a published
set of squares that are told apart however they lie (S. Garrido-Jurado and others, 2014,
doi 10.1016/j.patcog.2014.01.005)."""
_HOW = (
    "Print at 100 %, “actual size”, and measure: the black square has to be 80 mm wide. Cut the"
    " marks apart along the grey lines, the white rim stays. Lay them flat at the corners of what"
    " you photograph, all four in the picture."
)


def print_marks(
    path: FilePath | str, *, paper: Paper = PAPERS["a4"], overwrite: bool = False
) -> int:
    """Print the marks, two on a page; return how many pages it takes.

    Raises
    ------
    WriteError
        The file can't be written.

    """
    book = Book("Marks for photographs")
    size = SIDE + 2.0 * _RIM
    left = (paper.width - size) / 2.0
    top = (paper.height + paper.frame_height) / 2.0
    for i in range(len(PATTERNS)):
        if i % 2 == 0:
            if i:
                book.turn()
            book.page(paper.width, paper.height)
            book.paragraph(_HOW, (left - 20.0, top - 4.0), width=size + 40.0, height=2.2)
        y = top - 18.0 - (i % 2 + 1) * size
        _draw(book, i, (left, y), size)
    book.turn()
    data = book.finished()
    with whole_file(FilePath(path), overwrite=overwrite) as temporary:
        temporary.write_bytes(data)
    return (len(PATTERNS) + 1) // 2


def _draw(book: Book, number: int, at: Point, size: float) -> None:
    cell = SIDE / 6.0
    with book.window(*at, width=size, height=size, origin=(0.0, 0.0)):
        book.pen(0.2, grey=0.6)
        book.stroke(rectangle(size, size))
        book.fill(rectangle(SIDE, SIDE, at=(_RIM, _RIM)))
        for row, line in enumerate(PATTERNS[number].split()):
            for column, white in enumerate(line):
                if white == "1":
                    corner = (_RIM + (column + 1) * cell, _RIM + (4 - row) * cell)
                    book.fill(rectangle(cell, cell, at=corner), grey=1.0)
    words = f"{number + 1} of {len(PATTERNS)}"
    book.text(words, (at[0] + size / 2.0, at[1] + 4.0), height=3.0, grey=0.4)
