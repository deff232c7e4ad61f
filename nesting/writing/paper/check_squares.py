"""The squares that a print is measured by before anything is cut."""

from __future__ import annotations

from collections.abc import Sequence

from nesting.pattern.shapes import rectangle
from nesting.writing.paper.book import Book
from nesting.writing.paper.papers import Paper

__all__ = ["SQUARES", "check_page", "draw_squares"]

SQUARES = (100.0, 101.6)
"""Sides of the check squares: 100 mm and 4 in."""
_MEASURE = "Print at 100 %, “actual size”. Measure this square first."


def check_page(book: Book, paper: Paper) -> None:
    """Draw a page that holds the two squares and nothing else."""
    book.page(paper.width, paper.height)
    x, y = paper.corner
    small, large = SQUARES
    wide = paper.frame_width >= small + large + 10.0
    with book.window(x, y, width=paper.frame_width, height=paper.frame_height, origin=(0.0, 0.0)):
        draw_squares(book, [(2.0, 2.0), (small + 12.0, 2.0) if wide else (2.0, small + 12.0)])
    book.turn()


def draw_squares(book: Book, places: Sequence[tuple[float, float]]) -> None:
    """Draw each square with its lower left corner at a place of the page."""
    book.pen(0.25)
    for size, (x, y), name in zip(SQUARES, places, ("100 mm", "4 in"), strict=True):
        book.stroke(rectangle(size, size, at=(x, y)))
        middle = x + size / 2.0
        book.text(name, (middle, y + size / 2.0), height=8.0, inside=True)
        book.text(_MEASURE, (middle, y + size / 2.0 - 14.0), height=2.2, inside=True)
