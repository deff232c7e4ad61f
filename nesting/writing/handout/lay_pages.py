"""The pages of a booklet that show how to lay: a diagram for each lay, three to a page."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial
from itertools import pairwise

from nesting.marker.figures import figures
from nesting.names import listed
from nesting.pattern.path import Point
from nesting.planning.begin import begin_of
from nesting.planning.handout.needed import Needed, Needs
from nesting.writing.handout.buying_pages import width_words
from nesting.writing.handout.numbered import StoredLay
from nesting.writing.handout.setting import BODY, LEADING, SMALL, Setter
from nesting.writing.handout.shown import scale_of, show, written_box
from nesting.writing.handout.turned import turned
from nesting.writing.handout.words import both, metres, yards
from nesting.writing.neutral.alike import alike, alike_words
from nesting.writing.neutral.draw import draw_entry, draw_grounds
from nesting.writing.neutral.drawing import Box, Drawing
from nesting.writing.neutral.font import in_lines
from nesting.writing.neutral.keys import Keys
from nesting.writing.neutral.lettering import Lettering
from nesting.writing.pages.wording import key_words
from nesting.writing.paper.book import Book

__all__ = ["Figure", "figure", "lay_pages"]

_READABLE = 1.6
"""Height of capitals in a diagram (mm): 6 points, as small as maps and schedules are lettered
(common practice, no source)."""
_ROW_GAP = 3.0
"""Between the rows that a long lay is broken into (mm)."""
_ROWS = range(1, 5)
_BELOW, _BESIDE = 22.0, 5.0
"""Room (mm) for a diagram's caption and keys, and for what stands at its right."""


def lay_pages(page: Setter, needs: Needs, lays: Sequence[StoredLay], keys: Keys) -> None:
    """Set a diagram of each lay."""
    page.section("How to lay it")
    _begin(page)
    for lay in lays:
        entry = lay.row.entry
        assert entry is not None
        groups = alike(entry.marker)
        for group in groups:
            shown = figure(page, lay, group[0], keys, most=page.height / 3.0 - 5.0)
            others = alike_words(group) if len(groups) > 1 or len(group) > 1 else ""
            _set(page, needs, lay, shown, others)


def _begin(page: Setter) -> None:
    page.paragraph(
        "Right side up unless it says otherwise. Grey is a piece; the line around cloth is its"
        " edge, the broken one where its selvedge ends. A line of long and short dashes along the"
        " cloth is its fold. An arrow is the grain; one with a single head points to the end that"
        " is up. R and L are the right and the left of a pair; a piece lies face down where it says"
        " so. Where there is no room for its name a piece has its key, which is explained below."
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """A diagram: its drawing, the boxes that stand below one another, the scale, its keys.

    `up`: the length of the goods runs upwards.
    """

    drawing: Drawing
    boxes: tuple[Box, ...]
    scale: float
    keys: tuple[str, ...]
    up: bool

    @property
    def height(self) -> float:
        """How high all rows are on the page."""
        rows = sum((y1 - y0) * self.scale for _, y0, _, y1 in self.boxes)
        return rows + _ROW_GAP * (len(self.boxes) - 1)


def figure(page: Setter, lay: StoredLay, sheet: int, keys: Keys, *, most: float) -> Figure:
    """Draw a lay as large as it fits: in one row, or a long one in several."""
    entry = lay.row.entry
    assert entry is not None
    ground = draw_grounds(entry)[sheet].box
    size = (page.width - _BESIDE, most - _BELOW)
    up = _scale(_on_end(ground), 1, size) > max(_scale(ground, n, size) for n in _ROWS)
    rows = 1
    if entry.marker.lay.stock.open_ended and not up:
        rows = max(_ROWS, key=lambda n: _scale(ground, n, size))
    scale = _scale(_on_end(ground) if up else ground, rows, size)
    x0, _, x1, _ = ground
    breaks = [x0 + (x1 - x0) * i / rows for i in range(1, rows)]
    lettering = Lettering.shown(scale, readable=_READABLE, clear=0.5, breaks=breaks, on_end=up)
    (drawing,) = draw_entry(entry, keys=keys, lettering=[lettering], sheets=[sheet])
    drawing = turned(drawing) if up else drawing
    boxes = _split(written_box(drawing), breaks)
    scale = min(scale, *(_fitting(box, rows, size) for box in boxes))
    said = tuple(key_words([drawing.legend]))
    return Figure(drawing=drawing, boxes=boxes, scale=scale, keys=said, up=up)


def _on_end(box: Box) -> Box:
    x0, y0, x1, y1 = box
    return (-y1, x0, -y0, x1)


def _scale(box: Box, rows: int, size: tuple[float, float]) -> float:
    """Return the scale at which a box fits a size in so many rows."""
    x0, y0, x1, y1 = box
    return _fitting((x0, y0, x0 + (x1 - x0) / rows, y1), rows, size)


def _fitting(box: Box, rows: int, size: tuple[float, float]) -> float:
    """Return the scale at which one of so many rows fits a size with the others."""
    width, height = size
    return scale_of(box, width=width, height=(height - _ROW_GAP * (rows - 1)) / rows)


def _split(box: Box, breaks: Sequence[float]) -> tuple[Box, ...]:
    x0, y0, x1, y1 = box
    ends = [x0, *breaks, x1]
    return tuple((a, y0, b, y1) for a, b in pairwise(ends))


def _set(page: Setter, needs: Needs, lay: StoredLay, figure: Figure, others: str) -> None:
    small = page.width / SMALL
    legend = in_lines(figure.keys, most=small, between=" · ")
    notes = [line for note in figure.drawing.notes for line in in_lines(note.split(), most=small)]
    head, said = _captions(needs, lay)
    below = in_lines(said.split("; "), most=small, between="; ")
    below += [f"{figure.drawing.name}, {others}"] if others else []
    lines = LEADING * (BODY + SMALL * (len(legend) + len(notes) + len(below)))
    page.skip(5.0)
    page.need(figure.height + lines + 7.0)
    page.line(head, bold=True)
    for line in below:
        page.line(line, height=SMALL, grey=0.25)
    page.y -= 1.5
    top = page.y
    for box in figure.boxes:
        high = (box[3] - box[1]) * figure.scale
        at = (page.left, page.y - high)
        page.draw(partial(_show, figure=figure, at=at, box=box))
        page.y -= high + _ROW_GAP
    page.y += _ROW_GAP
    if lay.row.width is not None:
        _measures(page, needs, lay, figure, top)
    page.y -= 1.0
    for line in (*legend, *notes):
        page.line(line, height=SMALL)


def _measures(page: Setter, needs: Needs, lay: StoredLay, figure: Figure, top: float) -> None:
    """Write the length and the width of the goods along two sides of a diagram."""
    entry, amounts = lay.row.entry, needs.job.amounts
    assert entry is not None
    length = f"length {both(figures(entry.marker).length, amounts)}"
    width = f"width {' or '.join(width_words(lay.row))}" + (
        ", folded" if lay.row.goods.folded else ""
    )
    below, beside = (width, length) if figure.up else (length, width)
    if len(figure.boxes) > 1:
        below += f", in {len(figure.boxes)} rows"
    x0, _, x1, _ = figure.boxes[0]
    wide = (x1 - x0) * figure.scale
    high = top - page.y
    middle = (page.left + wide / 2.0, page.y - 2.2)
    right = (page.left + wide + 3.0, page.y + high / 2.0)
    page.draw(partial(_write, text=below, at=middle, angle=0.0, most=max(wide, 60.0)))
    page.draw(partial(_write, text=beside, at=right, angle=90.0, most=high))
    page.y -= 4.0


def _write(book: Book, *, text: str, at: Point, angle: float, most: float) -> None:
    book.text(text, at, height=SMALL, angle=angle, grey=0.25, most=most)


def _show(book: Book, *, figure: Figure, at: Point, box: Box) -> None:
    show(book, figure.drawing, at, scale=figure.scale, box=box)


def _captions(needs: Needs, lay: StoredLay) -> tuple[str, str]:
    """Return what stands above a diagram: what it is, and what it comes to."""
    row, entry = lay.row, lay.row.entry
    assert entry is not None
    amounts = needs.job.amounts
    head = f"Lay {lay.number}   {row.material}" + (f", size {row.size}" if row.size else "")
    if row.width is None:
        return head, f"{len(entry.marker.placements)} pieces; stored in {lay.file}"
    metric, inches = width_words(row)
    head += f", {metric} ({inches}) wide{_fold(row)}: {_ways(lay)}"
    long = figures(entry.marker).length
    buy = ""
    if row.certain:
        buy = (
            f"; with ends and shrinkage {both(row.gross, amounts)}; buy"
            f" {metres(needs.metres(row))} or {yards(needs.yards(row))}"
        )
    begin = ""
    if (before := begin_of(row.goods, entry.marker.lay)) is not None:
        where = f"{both(before, amounts)} before" if before else "at"
        begin = f"; begins {where} the middle of a motif"
    doubt = "" if row.certain else "; NOT CERTAIN: incomplete"
    return head, f"{both(long, amounts)} long{buy}{begin}{doubt}; stored in {lay.file}"


def _fold(row: Needed) -> str:
    return ", folded" if row.goods.folded else ""


def _ways(lay: StoredLay) -> str:
    ways = {True: "one way up", False: "either way up", None: "any cloth"}
    return listed(list(dict.fromkeys(ways[row.one_way] for row in lay.rows)))
