"""The marker as a picture (PNG): what lies where, to look at and to cut from by hand."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path as FilePath
from typing import Any

from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.font_manager import FontProperties, findfont, get_font
from matplotlib.patches import PathPatch
from matplotlib.path import Path as Outline
from matplotlib.ticker import FuncFormatter, MultipleLocator

from nesting.pattern.path import Arc, Bezier, Line, Path, Segment
from nesting.planning.plan import Entry
from nesting.writing.draw import Lettering, draw_entry
from nesting.writing.drawing import Drawing, Label, Operation, Stroke
from nesting.writing.files import one_line, whole_file
from nesting.writing.look import CLOTH, FLAW, GRID, INK, LOST, MARK, ZONE, piece_colour
from nesting.writing.wording import headline

__all__ = ["write_picture"]

_DPI = 150
_WIDEST, _HIGHEST = 26.0, 13.0  # inches for all sheets together, and for one
_GAP, _SIDE, _TOP, _FOOT = 0.9, 0.8, 1.0, 0.75  # inches around the drawings
_LINE = 0.24  # inches from one line of the heading to the next
_LETTER = 0.088  # inches that a letter of it takes
_READABLE, _TALLEST = 0.075, 0.16  # inches of capitals
_CAPITALS = 0.73  # of DejaVu Sans, as a share of its size
_POINTS = 72.0
_MM = 25.4
_MOVE, _LINE_TO = int(Outline.MOVETO), int(Outline.LINETO)
_CURVE, _CLOSE = int(Outline.CURVE4), int(Outline.CLOSEPOLY)


def write_picture(
    entry: Entry,
    path: FilePath,
    *,
    pieces: Sequence[str] = (),
    notes: Sequence[str] = (),
    currency: str = "",
    overwrite: bool = False,
) -> None:
    """Write a picture of a material's marker, sheets side by side, whole or not at all."""
    figure = picture(entry, pieces=pieces, notes=notes, currency=currency)
    with whole_file(path, overwrite=overwrite) as temporary:
        figure.savefig(temporary, format="png", dpi=_DPI, metadata={"Software": None})


def picture(
    entry: Entry,
    *,
    pieces: Sequence[str] = (),
    notes: Sequence[str] = (),
    currency: str = "",
) -> Figure:
    """Return the picture of a material's marker; `pieces` orders the colours."""
    plain = draw_entry(entry, notes=notes)
    boxes = [drawing.box for drawing in plain]
    wide = [x1 - x0 for x0, _, x1, _ in boxes] or [100.0]
    high = max([y1 - y0 for _, y0, _, y1 in boxes] or [100.0])
    # inches on the picture for each mm of cloth
    scale = min((_WIDEST - _GAP * len(plain)) / sum(wide), _HIGHEST / high)
    lettering = Lettering(tallest=_TALLEST / scale, readable=_READABLE / scale)
    drawings = draw_entry(entry, pieces=pieces, notes=notes, lettering=lettering)
    across_all = max(sum(wide) * scale + _GAP * (len(plain) - 1) + 2.0 * _SIDE, 9.0)
    title, words = headline(entry, currency=currency)
    lines = _lines(words, across_all - 2.0 * _SIDE)
    named = 0.0 if entry.width is not None else 0.25
    size = (across_all, high * scale + _TOP + _LINE * len(lines) + named + _FOOT)
    figure = Figure(figsize=size, facecolor="white")
    FigureCanvasAgg(figure)
    left = _SIDE
    for drawing, (x0, y0, x1, y1) in zip(drawings, boxes, strict=True):
        across, up = (x1 - x0) * scale, (y1 - y0) * scale
        axes = figure.add_axes(
            (left / size[0], _FOOT / size[1], across / size[0], up / size[1]),
        )
        axes.set(xlim=(x0, x1), ylim=(y0, y1))
        _Sheet(axes, drawing, scale).draw()
        left += across + _GAP
    _write(figure, 0.45, title, size=15, weight="bold")
    for i, line in enumerate(lines):
        _write(figure, 0.5 + _LINE * (i + 1), line, size=10.5)
    said = [note for drawing in drawings for note in drawing.notes]
    if said:
        _write(figure, size[1] - 0.12, " ".join(dict.fromkeys(said)), size=8.5, colour=FLAW)
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
        _writable(text),
        fontsize=size,
        weight=weight,
        color=colour,
        parse_math=False,
    )


@dataclass(frozen=True, slots=True)
class _Sheet:
    """One sheet's axes; `scale`: inches on the picture for each mm."""

    axes: Axes
    drawing: Drawing
    scale: float

    def draw(self) -> None:
        self._frame()
        for stroke in self.drawing.strokes:
            if stroke.operation is Operation.EDGE:
                self._edge(stroke)
        for stroke in self.drawing.strokes:
            if stroke.operation is Operation.CUT and not stroke.inner:
                self._part(stroke)
        for stroke in self.drawing.strokes:
            if stroke.operation not in (Operation.EDGE, Operation.CUT):
                self._mark(stroke)
        self._holes()
        for label in self.drawing.labels:
            self._label(label)

    def _frame(self) -> None:
        """Scales in cm below and to the left, in inches above and to the right."""
        axes = self.axes
        for side in axes.spines.values():
            side.set_visible(False)
        step = _step(self.drawing.length, self.scale)
        for axis in (axes.xaxis, axes.yaxis):
            axis.set_major_locator(MultipleLocator(step))
            axis.set_minor_locator(MultipleLocator(step / 5.0))
            axis.set_major_formatter(FuncFormatter(lambda mm, _: f"{mm / 10.0:g}"))
        axes.tick_params(which="both", labelsize=8, colors=INK, length=3)
        axes.tick_params(which="minor", length=1.5)
        axes.set_xlabel("cm", fontsize=8, loc="right", labelpad=1)
        inches = axes.secondary_xaxis("top", functions=(_to_inches, _to_mm))
        inches.xaxis.set_major_locator(MultipleLocator(_inch_step(self.drawing.length, self.scale)))
        inches.tick_params(labelsize=7, colors="#7b7468", length=2)
        inches.spines["top"].set_visible(False)
        inches.set_xlabel("in", fontsize=7, loc="right", labelpad=1, color="#7b7468")
        if ": " in self.drawing.name:
            axes.set_title(
                _writable(self.drawing.name.split(": ", 1)[1]),
                fontsize=9,
                loc="left",
                pad=18,
                parse_math=False,
            )

    def _edge(self, stroke: Stroke) -> None:
        styles: dict[str, dict[str, object]] = {
            "cloth": {"facecolor": LOST, "edgecolor": INK, "linewidth": 0.8, "hatch": "////"},
            "usable": {"facecolor": CLOTH, "edgecolor": INK, "linewidth": 0.6},
            "sheet": {"facecolor": CLOTH, "edgecolor": INK, "linewidth": 1.0},
            "flaw": {"facecolor": "white", "edgecolor": FLAW, "linewidth": 1.0, "hatch": "xxxx"},
            "repeat": {"facecolor": "none", "edgecolor": GRID, "linewidth": 0.6},
            "fold": {"facecolor": "none", "edgecolor": INK, "linewidth": 1.6, "linestyle": "-."},
        }
        zone = {"facecolor": "none", "edgecolor": ZONE, "linewidth": 1.0, "linestyle": "--"}
        order = {"cloth": 0.5, "usable": 0.8, "sheet": 0.8, "repeat": 3.2, "fold": 1.2}
        style = dict(styles.get(stroke.name, zone))
        if style.get("hatch"):
            style["hatch_linewidth"] = 0.3
        self._path(stroke.path, zorder=order.get(stroke.name, 1.5), **style)
        if stroke.name not in styles:
            x, y = min(stroke.path.points(1.0), key=lambda p: p[0] - p[1])
            self.axes.annotate(
                _writable(stroke.name),
                (x, y),
                (4, -9),
                textcoords="offset points",
                fontsize=8,
                color=ZONE,
                parse_math=False,
            )

    def _part(self, stroke: Stroke) -> None:
        assert stroke.part is not None
        holes = [
            s.path
            for s in self.drawing.strokes
            if s.inner and s.part == stroke.part and s.operation is Operation.CUT
        ]
        colour = piece_colour(self.drawing.pieces.index(self.drawing.parts[stroke.part].piece.name))
        self._path(stroke.path, *holes, zorder=2, facecolor=colour, edgecolor=INK, linewidth=0.9)

    def _mark(self, stroke: Stroke) -> None:
        grain = stroke.name == "grain" and stroke.operation is Operation.TEXT
        self._path(
            stroke.path,
            zorder=3.5,
            facecolor="none",
            edgecolor=INK if grain or stroke.operation is Operation.NOTCH else MARK,
            linewidth=0.7 if grain else 1.0,
            linestyle=":" if stroke.under else "-",
        )

    def _holes(self) -> None:
        for hole in self.drawing.holes:
            points = max(hole.diameter * self.scale * _POINTS, 3.0)
            self.axes.plot(
                *hole.at, "o", ms=points, mfc="white", mec=INK, mew=0.8, zorder=3.6, clip_on=False
            )

    def _label(self, label: Label) -> None:
        self.axes.text(
            *label.at,
            _writable(label.text),
            fontsize=label.height * self.scale * _POINTS / _CAPITALS,
            rotation=label.angle,
            rotation_mode="anchor",
            ha="center",
            va="center_baseline",
            color=MARK if label.under else INK,
            parse_math=False,
            zorder=4,
        )

    def _path(self, *paths: Path, **style: object) -> None:
        patch = PathPatch(_outline(paths), joinstyle="round", **style)
        patch.set_clip_on(False)
        self.axes.add_patch(patch)


def _outline(paths: Sequence[Path]) -> Outline:
    vertices: list[tuple[float, float]] = []
    codes: list[int] = []
    for path in paths:
        vertices.append(path.start)
        codes.append(_MOVE)
        for segment in path.segments:
            for points, code in _pieces(segment):
                vertices += points
                codes += [code] * len(points)
        if path.closed:
            vertices.append(path.start)
            codes.append(_CLOSE)
    return Outline(vertices, codes)


def _pieces(segment: Segment) -> Iterator[tuple[list[tuple[float, float]], int]]:
    if isinstance(segment, Line):
        yield [segment.end], _LINE_TO
    elif isinstance(segment, Bezier):
        yield [segment.first, segment.second, segment.end], _CURVE
    elif isinstance(segment, Arc):
        yield segment.points(0.1), _LINE_TO


def _to_inches(mm: Any) -> Any:
    return mm / _MM


def _to_mm(inches: Any) -> Any:
    return inches * _MM


def _step(length: float, scale: float) -> float:
    """Return a round distance (mm) between ticks that are about an inch apart."""
    return next((s for s in (50.0, 100.0, 200.0, 500.0) if s * scale >= 0.5), 1000.0)


def _inch_step(length: float, scale: float) -> float:
    return next((s for s in (2.0, 4.0, 6.0, 12.0, 36.0) if s * _MM * scale >= 0.5), 72.0)


@lru_cache(maxsize=1)
def _known() -> frozenset[int]:
    """Return the letters the picture's font has."""
    return frozenset(get_font(findfont(FontProperties())).get_charmap())


def _writable(text: str) -> str:
    """Return the text on one line, with a box for each letter the font has not."""
    return "".join(c if ord(c) in _known() else "\u25a1" for c in one_line(text))
