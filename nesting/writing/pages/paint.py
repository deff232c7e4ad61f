"""One sheet of a marker painted on matplotlib's axes."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.collections import PathCollection
from matplotlib.colors import to_rgba
from matplotlib.font_manager import FontProperties, findfont, get_font
from matplotlib.image import AxesImage
from matplotlib.patches import PathPatch
from matplotlib.path import Path as Outline
from matplotlib.patheffects import withStroke

from nesting.pattern.marks.capitals import CAPITALS
from nesting.pattern.path import Arc, Bezier, Line, Path, Segment
from nesting.writing.files import one_line
from nesting.writing.neutral.drawing import Drawing, Hole, Label, Operation, Role, Shown, Stroke
from nesting.writing.neutral.look import (
    CHAIN,
    CLEAR,
    CLOTH,
    FLAW,
    GRID,
    INK,
    LOST,
    MARK,
    SHOWN,
    ZONE,
    piece_colour,
)
from nesting.writing.neutral.shown import shown_pixels

__all__ = ["POINTS", "SheetPainter", "writable"]

POINTS = 72.0
"""Points to the inch."""

_MOVE, _LINE_TO = int(Outline.MOVETO), int(Outline.LINETO)
_CURVE, _CLOSE = int(Outline.CURVE4), int(Outline.CLOSEPOLY)


@dataclass(frozen=True, slots=True)
class _Shape:
    """An outline, from which x to which it reaches (mm), and how it is painted."""

    outline: Outline
    low: float
    high: float
    style: dict[str, Any]

    @classmethod
    def of(cls, *paths: Path, **style: Any) -> _Shape:
        outline = _outline(paths)
        across = np.asarray(outline.vertices)[:, 0]
        return cls(outline, float(across.min()), float(across.max()), style)


class SheetPainter:
    """Paints one sheet; `scale`: inches on the picture for each mm.

    Outlines are made once, however many windows of the sheet are painted.
    """

    def __init__(self, drawing: Drawing, scale: float) -> None:
        self._drawing, self._scale = drawing, scale
        inner = drawing.cut_outs()
        self._edges = [_edge(s) for s in drawing.strokes if s.operation is Operation.EDGE]
        self._parts = [
            self._part(stroke, inner[stroke.part])
            for stroke in drawing.strokes
            if stroke.operation is Operation.CUT and not stroke.inner
        ]
        self._marks = [
            _mark(stroke)
            for stroke in drawing.strokes
            if stroke.operation not in (Operation.EDGE, Operation.CUT)
        ]

    def paint(self, axes: Axes, window: tuple[float, float] | None = None) -> None:
        """Paint the ground, the parts, their marks and their names.

        `window`: from which x to which is shown (mm), if not all of it.
        """
        for edge in _seen(self._edges, window):
            patch = PathPatch(edge.outline, joinstyle="round", **edge.style)
            patch.set_clip_on(window is not None)
            axes.add_artist(patch)  # add_patch would reckon limits
        if self._drawing.shown is not None:
            axes.add_artist(self._goods(axes, self._drawing.shown))
        _paint_all(axes, _seen(self._parts, window), zorder=2.0, clip=window is not None)
        _paint_all(axes, _seen(self._marks, window), zorder=3.5, clip=window is not None)
        for hole in self._drawing.holes:
            if _within(window, hole.at[0], hole.at[0]):
                self._hole(axes, hole)
        for label in self._drawing.labels:
            if _within(window, label.at[0], label.at[0]):
                self._label(axes, label)

    def _goods(self, axes: Axes, shown: Shown) -> AxesImage:
        """Return the picture of the goods, over their colour and under all lines."""
        x0, y0, x1, y1 = self._drawing.box
        image = AxesImage(axes, extent=(x0, x1, y0, y1), origin="upper", alpha=SHOWN, zorder=1.0)
        image.set_data(shown_pixels(shown, (x0, y0, x1, y1)))
        return image

    def _part(self, stroke: Stroke, inner: Sequence[Path]) -> _Shape:
        assert stroke.part is not None
        drawing = self._drawing
        colour = piece_colour(drawing.keys.place_of(drawing.parts[stroke.part]))
        face = colour if drawing.shown is None else to_rgba(colour, CLEAR)
        return _Shape.of(
            stroke.path, *inner, facecolor=face, edgecolor=INK, linewidth=0.9, linestyle="-"
        )

    def _hole(self, axes: Axes, hole: Hole) -> None:
        points = max(hole.diameter * self._scale * POINTS, 3.0)
        axes.plot(
            *hole.at, "o", ms=points, mfc="white", mec=INK, mew=0.8, zorder=3.6, clip_on=False
        )

    def _label(self, axes: Axes, label: Label) -> None:
        size = label.height * self._scale * POINTS / CAPITALS
        axes.text(
            *label.at,
            writable(label.text),
            fontsize=size,
            rotation=label.angle,
            rotation_mode="anchor",
            ha="center",
            va="center_baseline",
            color=_colour(label),
            parse_math=False,
            zorder=4,
            path_effects=[withStroke(linewidth=0.2 * size, foreground="white")],
        )


def _within(window: tuple[float, float] | None, low: float, high: float) -> bool:
    """Whether anything between two x can be seen."""
    return window is None or (high >= window[0] and low <= window[1])


def _seen(shapes: Sequence[_Shape], window: tuple[float, float] | None) -> list[_Shape]:
    return [shape for shape in shapes if _within(window, shape.low, shape.high)]


def _paint_all(axes: Axes, shapes: Sequence[_Shape], *, zorder: float, clip: bool) -> None:
    """Paint shapes one over the other, as one of matplotlib's artists: each costs much."""
    if not shapes:
        return
    many = PathCollection(
        [shape.outline for shape in shapes],
        facecolors=[shape.style["facecolor"] for shape in shapes],
        edgecolors=[shape.style["edgecolor"] for shape in shapes],
        linewidths=[shape.style["linewidth"] for shape in shapes],
        linestyles=[shape.style["linestyle"] for shape in shapes],
        # Two, because one shape alone would be painted as a marker, which is moved to whole dots.
        antialiaseds=[True, True],
        joinstyle="round",
        zorder=zorder,
    )
    many.set_transform(axes.transData)
    many.set_clip_on(clip)
    axes.add_artist(many)


def _edge(stroke: Stroke) -> _Shape:
    styles: dict[Role, dict[str, object]] = {
        Role.CLOTH: {"facecolor": LOST, "edgecolor": INK, "linewidth": 0.8, "hatch": "////"},
        Role.USABLE: {"facecolor": CLOTH, "edgecolor": INK, "linewidth": 0.6},
        Role.SHEET: {"facecolor": CLOTH, "edgecolor": INK, "linewidth": 1.0},
        Role.FLAW: {"facecolor": "white", "edgecolor": FLAW, "linewidth": 1.0, "hatch": "xxxx"},
        Role.REPEAT: {"facecolor": "none", "edgecolor": GRID, "linewidth": 0.6},
        Role.FOLD: {"facecolor": "none", "edgecolor": INK, "linewidth": 1.6, "linestyle": "-."},
        Role.LEADER: {"facecolor": "none", "edgecolor": INK, "linewidth": 0.7},
        Role.CHAIN: {"facecolor": "none", "edgecolor": CHAIN, "linewidth": 3.0},
    }
    zone = {"facecolor": "none", "edgecolor": ZONE, "linewidth": 1.0, "linestyle": "--"}
    order = {
        Role.CLOTH: 0.5,
        Role.USABLE: 0.8,
        Role.SHEET: 0.8,
        Role.FOLD: 1.2,
        Role.REPEAT: 3.2,
        Role.LEADER: 3.5,
        Role.CHAIN: 3.4,
    }
    style = dict(styles.get(stroke.role, zone))
    if style.get("hatch"):
        style["hatch_linewidth"] = 0.3
    return _Shape.of(stroke.path, zorder=order.get(stroke.role, 1.5), **style)


def _mark(stroke: Stroke) -> _Shape:
    marked = stroke.operation in (Operation.MARK, Operation.MATCH)
    seam = stroke.operation is Operation.SEW
    fine = seam or stroke.operation is Operation.TEXT
    return _Shape.of(
        stroke.path,
        facecolor="none",
        edgecolor=MARK if marked else INK,
        linewidth=2.2 if stroke.role is Role.MOTIF else 0.6 if fine else 1.0,
        linestyle=(0, (6, 4)) if seam else ":" if stroke.under else "-",
    )


def _colour(label: Label) -> str:
    if label.operation is Operation.EDGE:
        return ZONE
    return MARK if label.under or label.operation is Operation.MATCH else INK


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


@lru_cache(maxsize=1)
def _known() -> frozenset[int]:
    """Return the letters the picture's font has."""
    return frozenset(get_font(findfont(FontProperties())).get_charmap())


def writable(text: str) -> str:
    """Return the text on one line, with a box for each letter the font has not."""
    return "".join(c if ord(c) in _known() else "\u25a1" for c in one_line(text))
