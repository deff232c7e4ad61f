"""Labels printed as sheets of a grid, to be cut apart and pinned on."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path as FilePath

from nesting.errors import WriteError
from nesting.pattern.path import Path, Point
from nesting.pattern.piece import Face
from nesting.writing.files import whole_file
from nesting.writing.paper.book import Book
from nesting.writing.paper.labels import PartLabel
from nesting.writing.paper.papers import PAPERS, Paper

__all__ = ["print_labels"]

_WIDTH, _HEIGHT = 90.0, 42.0  # mm, at least
_PAD = 3.0


def print_labels(
    labels: Sequence[PartLabel],
    path: FilePath | str,
    *,
    paper: Paper = PAPERS["a4"],
    overwrite: bool = False,
) -> None:
    """Print labels as sheets of a grid, to be cut apart along its lines.

    Raises
    ------
    WriteError
        There are no labels, or the file can't be written.

    """
    if not labels:
        raise WriteError("there are no parts to label")
    columns = max(1, int(paper.frame_width // _WIDTH))
    rows = max(1, int(paper.frame_height // _HEIGHT))
    width, height = paper.frame_width / columns, paper.frame_height / rows
    left = (paper.width - paper.frame_width) / 2.0
    top = (paper.height + paper.frame_height) / 2.0
    book = Book("Labels")
    for i, label in enumerate(labels):
        place = i % (rows * columns)
        if place == 0:
            if i:
                book.turn()
            book.page(paper.width, paper.height)
        x = left + place % columns * width
        y = top - (place // columns + 1) * height
        _draw(book, label, (x, y), width=width, height=height)
    book.turn()
    data = book.finished()
    with whole_file(FilePath(path), overwrite=overwrite) as temporary:
        temporary.write_bytes(data)


def _draw(book: Book, label: PartLabel, at: Point, *, width: float, height: float) -> None:
    x, y = at
    room = width - 2.0 * _PAD - (30.0 if label.arrow else 0.0)
    with book.window(x - 0.1, y - 0.1, width=width + 0.2, height=height + 0.2, origin=(-0.1, -0.1)):
        book.pen(0.15, grey=0.5, dash="2 1.5")
        book.stroke(
            Path.polyline([(0.0, 0.0), (width, 0.0), (width, height), (0.0, height)], closed=True)
        )
        if label.arrow:
            _arrow(book, (width - _PAD - 26.0, height - 9.0), 26.0, both=not label.one_way)
    left, line = x + _PAD, y + height - 8.5
    book.text(f"{label.key}  {label.piece}", (left, line), height=4.0, middle=False, most=room)
    if label.arrow:
        book.text(
            "up" if label.one_way else "grain", (x + width - _PAD - 13.0, line - 3.5), height=1.8
        )
    line -= 6.5
    copy = f"copy {label.copy}" + (f", {label.side} hand" if label.side else "")
    goods = f"{label.material}: {label.zone}" if label.zone else label.material
    for text in (copy, label.bag, goods):
        book.text(text, (left, line), height=2.6, middle=False, most=width - 2.0 * _PAD)
        line -= 4.8
    where = "to the top of the print" if label.one_way else "along the grain"
    said = f"Pin to the {Face.RIGHT.value} side, arrow {where}"
    if not label.arrow:
        said = f"Pin to the {Face.RIGHT.value} side"
    book.text(said, (left, line), height=2.0, middle=False, most=width - 2.0 * _PAD)
    _fitted(book, label.marks, (left, line - 4.0), width=width - 2.0 * _PAD, room=line - 3.0 - y)


def _fitted(book: Book, text: str, at: Point, *, width: float, room: float) -> None:
    """Write text as large as it fits below a point."""
    height = 2.0
    while height > 0.9 and book.lines_of(text, width=width, height=height) * 1.8 * height > room:
        height *= 0.9
    book.paragraph(text, at, width=width, height=height)


def _arrow(book: Book, at: Point, length: float, *, both: bool) -> None:
    (x, y), head = at, 3.0
    book.pen(0.3)
    tip = x + length
    book.lines(
        ((x, y), (tip, y)),
        ((tip - head, y + 1.2), (tip, y)),
        ((tip - head, y - 1.2), (tip, y)),
    )
    if both:
        book.lines(((x + head, y + 1.2), (x, y)), ((x + head, y - 1.2), (x, y)))
