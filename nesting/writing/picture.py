"""The marker as a picture (PNG): what lies where, to look at and to cut from by hand."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path as FilePath

from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from nesting.amounts import METRIC, Amounts
from nesting.planning.plan import Entry
from nesting.writing.alike import alike, alike_words
from nesting.writing.draw import Lettering, draw_entry, draw_grounds
from nesting.writing.files import whole_file
from nesting.writing.look import FLAW, INK
from nesting.writing.paint import SheetPainter, writable
from nesting.writing.ruler import Box, draw_rulers
from nesting.writing.wording import headline

__all__ = ["write_picture"]

_DPI = 150
_WIDEST, _HIGHEST = 20.0, 12.0  # inches for all the sheets together
_GAP_X, _GAP_Y = 0.9, 0.95  # inches between sheets
_SIDE, _TOP, _FOOT = 0.8, 0.95, 0.75  # inches around them
_LINE = 0.24  # inches from one line of the heading to the next
_LETTER = 0.088  # inches that a letter of it takes
_READABLE, _TALLEST = 0.075, 0.16  # inches of capitals
_MOST_ROWS = 6  # of a long lay
_MOST_SHEETS = 48  # that can be made out in one picture
_NARROWEST = 9.0  # inches: room for the heading


def write_picture(
    entry: Entry,
    path: FilePath,
    *,
    pieces: Sequence[str] = (),
    notes: Sequence[str] = (),
    amounts: Amounts = METRIC,
    currency: str = "",
    overwrite: bool = False,
) -> None:
    """Write a picture of a material's marker, all its sheets, whole or not at all.

    `pieces` orders the colours; `notes` are said below.
    """
    figure = picture(entry, pieces=pieces, notes=notes, amounts=amounts, currency=currency)
    with whole_file(path, overwrite=overwrite) as temporary:
        figure.savefig(
            temporary,
            format="png",
            dpi=_DPI,
            metadata={"Software": None},
            pil_kwargs={"compress_level": 3},
        )


@dataclass(frozen=True, slots=True)
class _Grid:
    """Sheets of at most `wide` × `high` mm in rows of `columns`; `scale`: inches for each mm."""

    columns: int
    rows: int
    wide: float
    high: float
    scale: float

    @property
    def size(self) -> tuple[float, float]:
        """Width and height of it all (inches)."""
        return (
            self.columns * self.wide * self.scale + (self.columns - 1) * _GAP_X,
            self.rows * self.high * self.scale + (self.rows - 1) * _GAP_Y,
        )

    def corner(self, i: int) -> tuple[float, float]:
        """Return the lower left corner of the i-th sheet from that of it all (inches)."""
        row, column = divmod(i, self.columns)
        return (
            column * (self.wide * self.scale + _GAP_X),
            (self.rows - 1 - row) * (self.high * self.scale + _GAP_Y),
        )


def _grid(count: int, wide: float, high: float) -> _Grid:
    """Return the rows of sheets that show them largest."""
    grids = []
    for columns in range(1, count + 1):
        rows = math.ceil(count / columns)
        grids.append(_Grid(columns, rows, wide, high, _scale(columns, rows, wide, high)))
    return max(grids, key=lambda grid: grid.scale)


def _scale(columns: int, rows: int, wide: float, high: float) -> float:
    """Return the inches for each mm at which everything has room."""
    return min(
        (_WIDEST - (columns - 1) * _GAP_X) / (columns * wide),
        (_HIGHEST - (rows - 1) * _GAP_Y) / (rows * high),
    )


def _views(boxes: list[Box]) -> tuple[_Grid, list[tuple[int, Box]]]:
    """Return what is shown where: (which drawing, its box), one after another in a grid.

    A single drawing that is long is broken into rows, like text, if that shows it larger.
    """
    wide, high = max(x1 - x0 for x0, _, x1, _ in boxes), max(y1 - y0 for _, y0, _, y1 in boxes)
    grid = _grid(len(boxes), wide, high)
    if len(boxes) == 1:
        x0, y0, x1, y1 = boxes[0]
        rows = [
            _Grid(1, n, wide / n, high, _scale(1, n, wide / n, high))
            for n in range(1, _MOST_ROWS + 1)
        ]
        grid = max(rows, key=lambda grid: grid.scale)
        edges = [x0 + (x1 - x0) * i / grid.rows for i in range(grid.rows + 1)]
        return grid, [(0, (a, y0, b, y1)) for a, b in pairwise(edges)]
    return grid, list(enumerate(boxes))


def picture(
    entry: Entry,
    *,
    pieces: Sequence[str] = (),
    notes: Sequence[str] = (),
    amounts: Amounts = METRIC,
    currency: str = "",
) -> Figure:
    """Return the picture of a material's marker."""
    grounds = draw_grounds(entry)
    groups = alike(entry.marker)[:_MOST_SHEETS]
    boxes = [grounds[group[0]].box for group in groups]
    grid, views = _views(boxes)
    lettering = Lettering(tallest=_TALLEST / grid.scale, readable=_READABLE / grid.scale)
    every = draw_entry(entry, pieces=pieces, notes=notes, lettering=[lettering] * len(grounds))
    drawings = [every[group[0]] for group in groups]
    title, words = headline(entry, amounts, currency=currency)
    unseen = len(grounds) - sum(len(group) for group in groups)
    if unseen:
        words = [*words, f"{unseen} more sheets in the report"]
    across = max(grid.size[0] + 2.0 * _SIDE, _NARROWEST)
    lines = _lines(words, across - 2.0 * _SIDE)
    named = 0.0 if entry.width is not None else 0.25
    up = grid.size[1] + _TOP + _LINE * len(lines) + named + _FOOT
    figure = Figure(figsize=(across, up), facecolor="white")
    FigureCanvasAgg(figure)
    for i, (which, box) in enumerate(views):
        left, low = grid.corner(i)
        x0, y0, x1, y1 = box
        wide, high = (x1 - x0) * grid.scale, (y1 - y0) * grid.scale
        axes = figure.add_axes(
            ((_SIDE + left) / across, (_FOOT + low) / up, wide / across, high / up)
        )
        axes.set(xlim=(x0, x1), ylim=(y0, y1))
        axes.axis("off")
        cloth, own = entry.width is not None, f"{entry.marker.lay.name}: "
        name = "" if cloth else drawings[which].name.removeprefix(own)
        if others := alike_words(groups[which]):
            name += f", {others}"
        draw_rulers(axes, box, scale=grid.scale, amounts=amounts, name=name)
        window = (x0, x1) if len(views) > len(boxes) else None
        SheetPainter(axes, drawings[which], grid.scale, window).paint()
    _write(figure, 0.45, title, size=15, weight="bold")
    for i, line in enumerate(lines):
        _write(figure, 0.5 + _LINE * (i + 1), line, size=10.5)
    said = dict.fromkeys(note for drawing in drawings for note in drawing.notes)
    if said:
        _write(figure, up - 0.12, " ".join(said), size=8.5, colour=FLAW)
    return figure


def _lines(words: Sequence[str], wide: float) -> list[str]:
    """Break the heading's words into lines that fit `wide` inches."""
    lines = [""]
    for word in words:
        longer = f"{lines[-1]}  ·  {word}" if lines[-1] else word
        if lines[-1] and len(longer) * _LETTER > wide:
            lines.append(word)
        else:
            lines[-1] = longer
    return lines


def _write(
    figure: Figure,
    down: float,
    text: str,
    *,
    size: float,
    weight: str = "normal",
    colour: str = INK,
) -> None:
    """Write a line `down` inches from the top."""
    wide, high = figure.get_size_inches()
    figure.text(
        _SIDE / wide,
        1.0 - down / high,
        writable(text),
        fontsize=size,
        weight=weight,
        color=colour,
        parse_math=False,
    )
