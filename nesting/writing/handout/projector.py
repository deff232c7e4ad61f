"""A pattern for a projector: one page at true size, thick lines, a grid to calibrate by, layers."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import nullcontext
from pathlib import Path as FilePath

from nesting.amounts import Amounts
from nesting.job.job import Job
from nesting.pattern.path import Point
from nesting.writing.handout.pattern_pieces import all_parts
from nesting.writing.machines.contour import circle
from nesting.writing.neutral.drawing import Drawing, Operation
from nesting.writing.neutral.keys import job_keys
from nesting.writing.neutral.lettering import Lettering
from nesting.writing.paper.book import Book
from nesting.writing.paper.nested import extent, layer_of, size_dash
from nesting.writing.paper.papers import LONGEST
from nesting.writing.paper.templates import drawn_in_sizes, in_rows, is_plain, template_sizes

__all__ = ["GRIDS", "write_projector"]

GRIDS = {"grid cm": 100.0, "grid in": 101.6}
"""Layers of grids, and how far their lines are apart (mm): 10 cm and 4 in."""
_LAYERS = ("cut", "sew", "marks", "match", "text")
_LAYER = {
    Operation.CUT: "cut",
    Operation.NOTCH: "marks",
    Operation.DRILL: "marks",
    Operation.MARK: "marks",
    Operation.SEW: "sew",
    Operation.MATCH: "match",
    Operation.TEXT: "text",
}
_PEN = {
    "cut": (1.6, ""),
    "sew": (1.0, "8 4"),
    "marks": (1.0, "12 3 2 3"),
    "match": (1.0, ""),
    "text": (1.0, ""),
}
"""Widths (mm) and dashes of lines that are seen on cloth in a lit room (own choice)."""
_DASHES = 3.0
"""How much longer dashes of sizes are than on paper, for their lines are so much thicker."""
_RIM = 60.0
"""White around the pieces (mm), where the grid is numbered."""
_USUAL = 1200.0
"""Width of a row of pieces, where none is longer (mm; own choice): as a projector shows at once."""
_LETTERING = Lettering(tallest=10.0, readable=6.0, clear=2.0)


def write_projector(job: Job, path: FilePath, *, rectangles: bool = False) -> bool:
    """Write the pieces for a projector; False, and nothing, if there are none to show.

    `rectangles`: plain rectangles, too. What is too long for a page of a PDF goes on further ones.
    """
    parts = [part for part in all_parts(job) if rectangles or not is_plain(part)]
    if not parts:
        return False
    bags = tuple(bag.name for bag in job.bags)
    layers = tuple(_layer(layer, bag, bags) for bag in bags for layer in _LAYERS)
    layers += tuple(layer_of(size) for size in job.sizes)
    sizes = template_sizes(job)
    unseen = "grid cm" if job.amounts.inches else "grid in"
    book = Book(f"{job.name}: for a projector", layers=(*GRIDS, *layers), hidden=(unseen,))
    most = LONGEST - 2.0 * _RIM - 10.0
    wide = max(_USUAL, *(extent(part, sizes)[0] for part in parts)) + 5.0
    for placed in in_rows(parts, min(wide, most), most, sizes=sizes):
        keys = job_keys(job)
        drawing = drawn_in_sizes(placed, job.name, keys, job, sizes, lettering=_LETTERING)
        _page(book, drawing, job.amounts, bags)
    path.write_bytes(book.finished())
    return True


def _layer(layer: str, bag: str, bags: Sequence[str]) -> str:
    """Return a layer's name: of each bag, or size, its own."""
    return layer if len(bags) < 2 else f"{bag}: {layer}"


def _page(book: Book, drawing: Drawing, amounts: Amounts, bags: Sequence[str]) -> None:
    x0, y0, x1, y1 = drawing.box
    width = max(x1 - x0, 600.0) + 2.0 * _RIM
    height = max(y1 - y0, 400.0) + 2.0 * _RIM
    book.page(width, height)
    with book.window(0.0, 0.0, width=width, height=height, origin=(0.0, 0.0)):
        for name, step in GRIDS.items():
            with book.layer(name):
                _grid(book, name, step, width=width, height=height)
    with book.window(0.0, 0.0, width=width, height=height, origin=(x0 - _RIM, y0 - _RIM)):
        for bag in bags:
            for layer in _LAYERS:
                of = bag if len(bags) > 1 else ""
                with book.layer(_layer(layer, bag, bags)):
                    for size in ("", *drawing.sizes):
                        with book.layer(layer_of(size)) if size else nullcontext():
                            _content(book, drawing, layer, of, size)
    for i, size in enumerate(drawing.sizes):
        at = (_RIM / 2.0 + 20.0 + 130.0 * i, height - 29.0)
        with book.layer(layer_of(size)):
            _legend(book, drawing, size, at)
    book.turn()


def _legend(book: Book, drawing: Drawing, size: str, at: Point) -> None:
    """Draw which line is cut in a size."""
    with book.window(*at, width=60.0, height=6.0, origin=(0.0, 0.0)):
        book.pen(_PEN["cut"][0], dash=size_dash(drawing.sizes, size, times=_DASHES))
        book.lines(((2.0, 3.0), (58.0, 3.0)))
    book.text(size, (at[0] + 64.0, at[1]), height=6.0, middle=False, most=60.0)


def _grid(book: Book, name: str, step: float, *, width: float, height: float) -> None:
    """Draw lines a step apart, every fifth of them darker, numbered below and at the left."""
    low = _RIM / 2.0
    unit, per = ("cm", 10.0) if name == "grid cm" else ("in", 25.4)
    columns = int((width - 2.0 * low) / step)
    rows = int((height - 2.0 * low) / step)
    end_x, end_y = width - low, height - low  # beyond the last line, where pieces lie, too
    for i, (start, end) in enumerate(_upright(columns, step, low, end_y)):
        _line(book, start, end, bold=i % 5 == 0)
        book.text(f"{i * step / per:g}", (start[0], low - 10.0), height=6.0, inside=True, grey=0.3)
    for i in range(rows + 1):
        y = low + i * step
        _line(book, (low, y), (end_x, y), bold=i % 5 == 0)
        book.text(f"{i * step / per:g}", (low - 14.0, y), height=6.0, inside=True, grey=0.3)
    said = f"{unit}: measure the grid on the table, {step / per:g} {unit} from line to line"
    book.text(said, (low + 190.0, height - 12.0), height=6.0, inside=True, grey=0.3)


def _upright(columns: int, step: float, low: float, high: float) -> Iterator[tuple[Point, Point]]:
    for i in range(columns + 1):
        x = low + i * step
        yield (x, low), (x, high)


def _line(book: Book, start: Point, end: Point, *, bold: bool) -> None:
    book.pen(0.9 if bold else 0.4, grey=0.55 if bold else 0.7)
    book.lines((start, end))


def _content(book: Book, drawing: Drawing, layer: str, bag: str, size: str) -> None:
    """Draw what a layer holds of a bag and a size; of the only one if it has no name."""
    width, dash = _PEN[layer]
    if size and layer == "cut":
        dash = size_dash(drawing.sizes, size, times=_DASHES)
    for stroke in drawing.strokes:
        if stroke.size != size:
            continue
        if _LAYER.get(stroke.operation) == layer and _of(drawing, stroke.part, bag):
            notch = stroke.operation is Operation.NOTCH
            book.pen(width, dash="" if notch else dash)
            book.stroke(stroke.path)
    if layer == "marks":
        book.pen(width)
        for hole in drawing.holes:
            if hole.size == size and _of(drawing, hole.part, bag):
                book.stroke(circle(hole.at, max(hole.diameter, 3.0)))
    if layer == "text" and not size:
        for label in drawing.labels:
            if _of(drawing, label.part, bag):
                book.text(label.text, label.at, height=label.height, angle=label.angle, inside=True)


def _of(drawing: Drawing, part: int | None, bag: str) -> bool:
    return not bag or part is None or drawing.parts[part].design == bag
