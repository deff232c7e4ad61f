"""The marker as a picture (PNG): what lies where, to look at and to cut from by hand."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path as FilePath

from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from nesting.amounts import METRIC, Amounts
from nesting.pattern.marks.capitals import CAPITALS
from nesting.planning.plan import Entry
from nesting.writing.files import whole_file
from nesting.writing.neutral.alike import alike, alike_words
from nesting.writing.neutral.draw import draw_entry, draw_grounds
from nesting.writing.neutral.drawing import Stroke
from nesting.writing.neutral.font import in_lines
from nesting.writing.neutral.keys import Keys
from nesting.writing.neutral.lettering import Lettering
from nesting.writing.neutral.look import FLAW, INK
from nesting.writing.neutral.ruler import draw_rulers
from nesting.writing.pages.paint import POINTS, SheetPainter, writable
from nesting.writing.pages.picture_grid import views
from nesting.writing.pages.wording import headline, key_words

__all__ = ["write_picture"]

_DPI = 150
_SIDE, _TOP, _FOOT = 0.8, 0.95, 0.75  # inches around them
_LINE = 0.24  # inches from one line of the heading to the next
_READABLE = 0.075  # inches of capitals
_CLEAR = 0.025  # inches around them
_MOST_SHEETS = 48  # that can be made out in one picture
_FIGURES, _SMALL = 10.5, 8.5  # points
_NARROWEST = 9.0  # inches: room for the heading


def write_picture(
    entry: Entry,
    path: FilePath,
    *,
    keys: Keys | None = None,
    notes: Sequence[str] = (),
    amounts: Amounts = METRIC,
    currency: str = "",
    over: Sequence[Stroke] = (),
    overwrite: bool = False,
) -> None:
    """Write a picture of a material's marker, all its sheets, whole or not at all.

    `keys`: the job's; `notes` are said below; `over`: what is drawn on the first sheet besides.
    """
    figure = picture(entry, keys=keys, notes=notes, amounts=amounts, currency=currency, over=over)
    with whole_file(path, overwrite=overwrite) as temporary:
        figure.savefig(
            temporary,
            format="png",
            dpi=_DPI,
            metadata={"Software": None},
            pil_kwargs={"compress_level": 3},
        )


def picture(
    entry: Entry,
    *,
    keys: Keys | None = None,
    notes: Sequence[str] = (),
    amounts: Amounts = METRIC,
    currency: str = "",
    over: Sequence[Stroke] = (),
) -> Figure:
    """Return the picture of a material's marker."""
    grounds = draw_grounds(entry)
    groups = alike(entry.marker)[:_MOST_SHEETS]
    boxes = [grounds[group[0]].box for group in groups]
    grid, shown = views(boxes)
    breaks = [box[0] for _, box in shown[1:]] if len(shown) > len(boxes) else []
    lettering = Lettering.shown(grid.scale, readable=_READABLE, clear=_CLEAR, breaks=breaks)
    drawings = list(
        draw_entry(
            entry,
            keys=keys,
            notes=notes,
            lettering=[lettering] * len(groups),
            sheets=[group[0] for group in groups],
        )
    )
    drawings[:1] = [replace(one, strokes=(*one.strokes, *over)) for one in drawings[:1]]
    title, words = headline(entry, amounts, currency=currency)
    unseen = len(grounds) - sum(len(group) for group in groups)
    if unseen:
        words = [*words, f"{unseen} more sheets in the report"]
    across = max(grid.size[0] + 2.0 * _SIDE, _NARROWEST)
    room = across - 2.0 * _SIDE
    lines = _lines(words, room, size=_FIGURES, between="  ·  ")
    keys_said = key_words(drawing.legend for drawing in drawings)
    legend = _lines(keys_said, room, size=_SMALL, between="  ·  ")
    said = list(dict.fromkeys(note for drawing in drawings for note in drawing.notes))
    warned = _lines(" ".join(said).split(), room, size=_SMALL, between=" ")
    named = 0.0 if entry.width is not None else 0.25
    foot = _FOOT + _LINE * (len(legend) + len(warned))
    up = grid.size[1] + _TOP + _LINE * len(lines) + named + foot
    figure = Figure(figsize=(across, up), facecolor="white")
    FigureCanvasAgg(figure)
    painters = [SheetPainter(drawing, grid.scale) for drawing in drawings]
    for i, (which, box) in enumerate(shown):
        left, low = grid.corner(i)
        x0, y0, x1, y1 = box
        wide, high = (x1 - x0) * grid.scale, (y1 - y0) * grid.scale
        axes = figure.add_axes(
            ((_SIDE + left) / across, (foot + low) / up, wide / across, high / up)
        )
        axes.set(xlim=(x0, x1), ylim=(y0, y1))
        axes.axis("off")
        cloth, own = entry.width is not None, f"{entry.marker.lay.name}: "
        name = "" if cloth else drawings[which].name.removeprefix(own)
        if name == title:
            name = ""
        if others := alike_words(groups[which]):
            name += f", {others}"
        draw_rulers(axes, box, scale=grid.scale, amounts=amounts, name=name)
        window = (x0, x1) if len(shown) > len(boxes) else None
        painters[which].paint(axes, window)
    _write(figure, 0.45, title, size=15, weight="bold")
    for i, line in enumerate(lines):
        _write(figure, 0.5 + _LINE * (i + 1), line, size=_FIGURES)
    for i, line in enumerate([*legend, *warned]):
        down = up - foot + _FOOT - 0.1 + _LINE * i
        _write(figure, down, line, size=_SMALL, colour=INK if i < len(legend) else FLAW)
    return figure


def _lines(words: Sequence[str], wide: float, *, size: float, between: str) -> list[str]:
    """Break words into lines that fit `wide` inches in letters of a size (points)."""
    return in_lines(words, most=wide * POINTS / (size * CAPITALS), between=between)


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
