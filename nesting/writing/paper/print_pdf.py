"""True-scale prints: the drawing on sheets that are joined, after what goes before them.

The join marks are our own: a lozenge across each shared edge, a fine cross in its
middle, the names of both sheets in its halves. Overlapping sheets show all of it, and
are laid mark upon mark; butt-joined ones half of it each.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from contextlib import nullcontext
from dataclasses import replace
from pathlib import Path as FilePath

from shapely import Polygon, STRtree, box

from nesting.amounts import METRIC, Amounts
from nesting.pattern.measure import bounds
from nesting.pattern.path import Path, Point
from nesting.pattern.shapes import rectangle
from nesting.writing.files import whole_file
from nesting.writing.machines.contour import circle
from nesting.writing.neutral.drawing import Box, Drawing, Hole, Label, Operation, Stroke, legend
from nesting.writing.neutral.font import in_lines, text_width
from nesting.writing.neutral.lettering import text_box
from nesting.writing.pages.wording import key_words
from nesting.writing.paper.book import Book
from nesting.writing.paper.check_squares import check_page
from nesting.writing.paper.nested import layer_of, size_dash
from nesting.writing.paper.papers import PAPERS, Paper
from nesting.writing.paper.print_front import Block, front_blocks, front_strip
from nesting.writing.paper.print_map import map_page, wants_map
from nesting.writing.paper.print_room import Placed, is_large, placed
from nesting.writing.paper.tiles import tiled
from nesting.writing.paper.tiling import Join, Tile, Tiling

__all__ = ["LAYERS", "print_drawings"]

LAYERS = ("cut", "sew", "marks", "match", "text", "cloth")
_LAYER = {
    Operation.CUT: "cut",
    Operation.NOTCH: "marks",
    Operation.DRILL: "marks",
    Operation.MARK: "marks",
    Operation.SEW: "sew",
    Operation.MATCH: "match",
    Operation.TEXT: "text",
    Operation.EDGE: "cloth",
}
_PEN = {
    "cut": (0.5, 0.0, ""),
    "sew": (0.2, 0.35, "3 1.5"),
    "marks": (0.25, 0.0, "5 1.2 0.8 1.2"),
    "match": (0.35, 0.0, ""),
    "text": (0.2, 0.0, ""),
    "cloth": (0.25, 0.45, "6 2 1 2"),
}
"""Width (mm), grey, dashes of each layer's lines. Only what is cut is a thick solid line; notches,
which are snipped, drill holes, and the targets of a print are short solid ones."""
_TICK = (0.25, 0.0, "")
_UNDER = "0.4 0.9"
_KEY = (
    ("cut", "cut"),
    ("sew", "seam: do not cut"),
    ("marks", "fold, placement: mark, do not cut"),
)
"""Layers whose lines the key below each sheet names."""
_LOZENGE = (6.0, 4.0)
"""Half its length across the join, and along it, mm."""
_PAGE_NAME = 18.0


def print_drawings(
    drawings: Sequence[Drawing],
    path: FilePath | str,
    *,
    paper: Paper = PAPERS["a4"],
    overlap: float = 10.0,
    title: str = "",
    amounts: Amounts = METRIC,
    overwrite: bool = False,
) -> tuple[Tiling, ...]:
    """Print drawings at true scale as one PDF; return how each was spread.

    The first page holds the two check squares and nothing else. Then for each drawing
    a page with what has to be said and a map of its sheets (once for drawings of one
    sheet), and its sheets, row by row; empty ones are left out. Where nothing is drawn, only
    what has to be said is printed. On rolls and sheets that a shop prints, all that goes
    before stands on the sheets themselves, where they are white; what finds no room there is on
    one short strip.

    Parameters
    ----------
    drawings
        Markers, or sheets of templates (see `templates`).
    path
        The PDF.
    paper
        One of `PAPERS`, or a plotter's `roll`.
    overlap
        By how much neighbours show the same (mm); 0 joins them butt.
    title
        The document's title; the first drawing's name if not given.
    amounts
        How lengths are told.
    overwrite
        Replace the file.

    Raises
    ------
    WriteError
        There is nothing to print, or the file can't be written; nothing was.

    """
    tilings = tuple(tiled(d, paper, overlap=overlap, amounts=amounts) for d in drawings)
    sizes = dict.fromkeys(layer_of(size) for drawing in drawings for size in drawing.sizes)
    layers = (*LAYERS, *sizes)
    book = Book(title or (drawings[0].name if drawings else ""), layers=layers)
    onto: Placed = {}
    large = is_large(paper)
    if large:
        prints = list(zip(drawings, tilings, strict=True))
        onto, left = placed(front_blocks(book, prints, amounts), prints)
        if left:
            front_strip(book, left, across=min(paper.width, paper.height))
    elif any(tiling.tiles for tiling in tilings):
        check_page(book, tilings[0].paper)
    for i, (drawing, tiling) in enumerate(zip(drawings, tilings, strict=True)):
        if not large and wants_map(drawing, tiling, first=i == 0):
            joined = any(len(one.tiles) > 1 for one in tilings)
            map_page(book, drawing, tiling, amounts, first=i == 0, joined=joined)
        _sheets(book, drawing, tiling, {t.name: onto.get((i, t.name), []) for t in tiling.tiles})
    data = book.finished()
    with whole_file(FilePath(path), overwrite=overwrite) as temporary:
        temporary.write_bytes(data)
    return tilings


def _sheets(
    book: Book, drawing: Drawing, tiling: Tiling, onto: Mapping[str, Sequence[tuple[Box, Block]]]
) -> None:
    strokes = drawing.strokes
    boxes = STRtree([_bounds(stroke) for stroke in strokes])
    texts = STRtree([_reach(label) for label in drawing.labels])
    joins: defaultdict[str, list[Join]] = defaultdict(list)
    for join in tiling.joins:
        for name in join.names:
            joins[name].append(join)
    paper = tiling.paper
    x, y = paper.corner
    for tile in tiling.tiles:
        book.page(paper.width, paper.height)
        frame = box(tile.x, tile.y, tile.x + tile.width, tile.y + tile.height)
        near = box(*frame.buffer(30.0).bounds)
        labels = tuple(drawing.labels[k] for k in sorted(texts.query(near)))
        here = replace(drawing, labels=labels)
        if len(tiling.tiles) > 1:
            left, low = _beside(labels, tile, [place for place, _ in onto[tile.name]])
            at = (x + left - tile.x, y + low - tile.y)
            book.text(tile.name, at, height=_PAGE_NAME, grey=0.9)
        with book.window(x, y, width=tile.width, height=tile.height, origin=(tile.x, tile.y)):
            seen = [strokes[k] for k in sorted(boxes.query(frame))]
            _content(book, here, seen, near.bounds)
            for join in joins[tile.name]:
                _mark(book, join)
        for (x0, _, _, y1), block in onto[tile.name]:
            block.draw(x + x0 - tile.x, y + y1 - tile.y)
        _heading(book, here, tiling, tile)
        book.turn()


def _bounds(stroke: Stroke) -> Polygon:
    x0, y0, x1, y1 = bounds(stroke.path)
    return Polygon([(x0, y0), (x1, y0), (x1, y1), (x0, y1)])


def _content(
    book: Book,
    drawing: Drawing,
    strokes: Sequence[Stroke],
    near: tuple[float, float, float, float],
) -> None:
    """Draw what lies on a sheet, layer by layer; the drawing's labels are those near it.

    What is of one size is on the layer of that within the other: it is seen if both are.
    """
    x0, y0, x1, y1 = near
    holes = [hole for hole in drawing.holes if x0 <= hole.at[0] <= x1 and y0 <= hole.at[1] <= y1]
    for layer in LAYERS:
        mine = [stroke for stroke in strokes if _LAYER[stroke.operation] == layer]
        with book.layer(layer):
            for size in ("", *drawing.sizes):
                with book.layer(layer_of(size)) if size else nullcontext():
                    width, grey, dash = _PEN[layer]
                    dash = size_dash(drawing.sizes, size) if size and layer == "cut" else dash
                    _lines(book, [s for s in mine if s.size == size], (width, grey, dash))
                    if layer == "marks":
                        _snips(book, [s for s in mine if s.size == size])
                        _drilled(book, [hole for hole in holes if hole.size == size])
            if layer == "text":
                for label in drawing.labels:
                    book.label(label, halo=True)


def _lines(book: Book, strokes: Sequence[Stroke], pen: tuple[float, float, str]) -> None:
    width, grey, dash = pen
    for under in (False, True):
        book.pen(width, grey=grey, dash=_UNDER if under else dash)
        for stroke in strokes:
            if stroke.under == under and stroke.operation is not Operation.NOTCH:
                book.stroke(stroke.path)


def _snips(book: Book, strokes: Sequence[Stroke]) -> None:
    book.pen(*_TICK[:1])
    for stroke in strokes:
        if stroke.operation is Operation.NOTCH:
            book.stroke(stroke.path)


def _drilled(book: Book, holes: Sequence[Hole]) -> None:
    book.pen(*_TICK[:1])
    for hole in holes:
        (x, y), arm = hole.at, max(hole.diameter, 1.0)
        book.stroke(circle(hole.at, arm))
        book.lines(((x - arm, y), (x + arm, y)), ((x, y - arm), (x, y + arm)))


def _beside(labels: Sequence[Label], tile: Tile, taken: Sequence[Box]) -> Point:
    """Return where a sheet's name stands (mm): in its middle, or beside what is written there."""
    written = [text_box(n.text, n.at, height=n.height, angle=n.angle) for n in labels]
    written += [box(*place) for place in taken]
    middle = (tile.x + tile.width / 2.0, tile.y + tile.height / 2.0)
    steps = [i / 10.0 for i in range(2, 9)]
    places = [(tile.x + i * tile.width, tile.y + k * tile.height) for i in steps for k in steps]
    for at in sorted(places, key=lambda place: math.dist(place, middle)):
        own = text_box(tile.name, at, height=_PAGE_NAME)
        if not any(own.intersects(other) for other in written):
            return at
    return middle


def _reach(label: Label) -> Polygon:
    """Return where a line of text may reach: letters are not wider than twice as high."""
    (x, y), reach = label.at, label.height * (len(label.text) + 1.0)
    return box(x - reach, y - reach, x + reach, y + reach)


def _mark(book: Book, join: Join) -> None:
    """Draw a join: the line, and lozenges at a third and two thirds of it."""
    book.pen(0.15, grey=0.5, dash="4 2")
    book.lines(((join.x0, join.y0), (join.x1, join.y1)))
    book.pen(0.2)
    far, near = _LOZENGE
    for share in (1.0 / 3.0, 2.0 / 3.0):
        x = join.x0 + share * (join.x1 - join.x0)
        y = join.y0 + share * (join.y1 - join.y0)
        w, h = (far, near) if join.upright else (near + 2.0, far)
        book.stroke(Path.polyline([(x + w, y), (x, y + h), (x - w, y), (x, y - h)], closed=True))
        book.lines(((x - 1.0, y), (x + 1.0, y)), ((x, y - 1.0), (x, y + 1.0)))
        steps = ((-2.7, 0.0), (2.7, 0.0)) if join.upright else ((0.0, 2.3), (0.0, -2.3))
        for name, (dx, dy) in zip(join.names, steps, strict=True):
            book.text(name, (x + dx, y + dy), height=1.5, inside=True, most=3.0)


_KEYS = 1.8
"""Height of the keys' list above a sheet, mm."""


def _on(tile: Tile, labels: Sequence[Label]) -> Iterator[Label]:
    for label in labels:
        dx, dy = label.at[0] - tile.x, label.at[1] - tile.y
        if 0.0 <= dx <= tile.width and 0.0 <= dy <= tile.height:
            yield label


def _key_lines(keys: Sequence[str], *, beside: float, wide: float) -> list[tuple[str, float]]:
    """Return the list of keys on one line or two: the text, and how far in it begins (mm).

    The first stands beside the sheet's name, in the room that is left there.
    """
    if not keys:
        return []
    first = in_lines(keys, most=max(beside, 0.0) / _KEYS, between="   ")[0]
    if text_width(first) * _KEYS > beside:
        return [("", 0.0), ("   ".join(keys), 0.0)]
    rest = "   ".join(keys)[len(first) :].strip()
    return [(first, wide - beside), *([(rest, 0.0)] if rest else [])]


def _heading(book: Book, drawing: Drawing, tiling: Tiling, tile: Tile) -> None:
    """Write above the frame which sheet this is, and draw the frame."""
    paper = tiling.paper
    x, y = paper.corner
    with book.window(
        x - 0.2,
        y - 0.2,
        width=paper.frame_width + 0.4,
        height=paper.frame_height + 0.4,
        origin=(-0.2, -0.2),
    ):
        book.pen(0.1, grey=0.6)
        book.stroke(rectangle(paper.frame_width, paper.frame_height))
    place = f"{tile.name}   " if len(tiling.tiles) > 1 else ""
    wide, high = min(paper.frame_width, 400.0), y + paper.frame_height + 1.5
    name = f"{place}{drawing.name}"
    book.text(name, (x, high), height=2.2, middle=False, most=wide)
    keys = key_words([legend(_on(tile, drawing.labels), drawing.parts, drawing.keys)])
    beside = wide - min(text_width(name) * 2.2, wide) - 8.0
    for i, (line, left) in enumerate(_key_lines(keys, beside=beside, wide=wide)):
        book.text(line, (x + left, high + 3.2 * i), height=_KEYS, middle=False, most=wide - left)
    at = x
    for (width, grey, dash), meaning in _line_key(drawing.sizes):
        with book.window(at, y - 4.5, width=16.0, height=2.0, origin=(0.0, 0.0)):
            book.pen(width, grey=grey, dash=dash)
            book.lines(((1.0, 1.0), (15.0, 1.0)))
        book.text(meaning, (at + 17.0, y - 4.2), height=1.7, middle=False)
        at += 20.0 + 2.0 * len(meaning) * 0.85


def _line_key(sizes: Sequence[str]) -> Iterator[tuple[tuple[float, float, str], str]]:
    """Give the pens that the key below a sheet names, and what it says of each."""
    if not sizes:
        yield from ((_PEN[layer], meaning) for layer, meaning in _KEY)
        return
    width, grey, _ = _PEN["cut"]
    for size in sizes:
        yield (width, grey, size_dash(sizes, size)), f"cut {size}"
    yield _PEN["sew"], "seam"
    yield _PEN["marks"], "mark"
