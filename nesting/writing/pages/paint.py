"""One sheet of a marker painted on matplotlib's axes."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from matplotlib.axes import Axes
from matplotlib.font_manager import FontProperties, findfont, get_font
from matplotlib.patches import PathPatch
from matplotlib.path import Path as Outline
from matplotlib.patheffects import withStroke

from nesting.pattern.marks.capitals import CAPITALS
from nesting.pattern.path import Arc, Bezier, Line, Path, Segment
from nesting.writing.files import one_line
from nesting.writing.neutral.drawing import Drawing, Label, Operation, Role, Stroke
from nesting.writing.neutral.look import CLOTH, FLAW, GRID, INK, LOST, MARK, ZONE, piece_colour

__all__ = ["POINTS", "SheetPainter", "writable"]

POINTS = 72.0
"""Points to the inch."""

_MOVE, _LINE_TO = int(Outline.MOVETO), int(Outline.LINETO)
_CURVE, _CLOSE = int(Outline.CURVE4), int(Outline.CLOSEPOLY)


@dataclass(frozen=True, slots=True)
class SheetPainter:
    """One sheet's axes; `scale`: inches on the picture for each mm.

    `window`: from which x to which is shown (mm), if not all of it.
    """

    axes: Axes
    drawing: Drawing
    scale: float
    window: tuple[float, float] | None = None

    def paint(self) -> None:
        """Paint the ground, the parts, their marks and their names."""
        for stroke in self.drawing.strokes:
            if stroke.operation is Operation.EDGE:
                self._edge(stroke)
        inner = self.drawing.cut_outs()
        for stroke in self.drawing.strokes:
            if stroke.operation is Operation.CUT and not stroke.inner:
                self._part(stroke, inner[stroke.part])
        for stroke in self.drawing.strokes:
            if stroke.operation not in (Operation.EDGE, Operation.CUT):
                self._mark(stroke)
        self._holes()
        for label in self.drawing.labels:
            self._label(label)

    def _shown(self, low: float, high: float) -> bool:
        """Whether anything between two x can be seen."""
        return self.window is None or (high >= self.window[0] and low <= self.window[1])

    def _edge(self, stroke: Stroke) -> None:
        styles: dict[Role, dict[str, object]] = {
            Role.CLOTH: {"facecolor": LOST, "edgecolor": INK, "linewidth": 0.8, "hatch": "////"},
            Role.USABLE: {"facecolor": CLOTH, "edgecolor": INK, "linewidth": 0.6},
            Role.SHEET: {"facecolor": CLOTH, "edgecolor": INK, "linewidth": 1.0},
            Role.FLAW: {"facecolor": "white", "edgecolor": FLAW, "linewidth": 1.0, "hatch": "xxxx"},
            Role.REPEAT: {"facecolor": "none", "edgecolor": GRID, "linewidth": 0.6},
            Role.FOLD: {"facecolor": "none", "edgecolor": INK, "linewidth": 1.6, "linestyle": "-."},
            Role.LEADER: {"facecolor": "none", "edgecolor": INK, "linewidth": 0.7},
        }
        zone = {"facecolor": "none", "edgecolor": ZONE, "linewidth": 1.0, "linestyle": "--"}
        order = {
            Role.CLOTH: 0.5,
            Role.USABLE: 0.8,
            Role.SHEET: 0.8,
            Role.FOLD: 1.2,
            Role.REPEAT: 3.2,
            Role.LEADER: 3.5,
        }
        style = dict(styles.get(stroke.role, zone))
        if style.get("hatch"):
            style["hatch_linewidth"] = 0.3
        self._path(stroke.path, zorder=order.get(stroke.role, 1.5), **style)

    def _part(self, stroke: Stroke, inner: Sequence[Path]) -> None:
        assert stroke.part is not None
        colour = piece_colour(self.drawing.keys.place_of(self.drawing.parts[stroke.part]))
        self._path(stroke.path, *inner, zorder=2, facecolor=colour, edgecolor=INK, linewidth=0.9)

    def _mark(self, stroke: Stroke) -> None:
        marked = stroke.operation in (Operation.MARK, Operation.MATCH)
        seam = stroke.operation is Operation.SEW
        fine = seam or stroke.operation is Operation.TEXT
        self._path(
            stroke.path,
            zorder=3.5,
            facecolor="none",
            edgecolor=MARK if marked else INK,
            linewidth=2.2 if stroke.role is Role.MOTIF else 0.6 if fine else 1.0,
            linestyle=(0, (6, 4)) if seam else ":" if stroke.under else "-",
        )

    def _holes(self) -> None:
        for hole in self.drawing.holes:
            if not self._shown(hole.at[0], hole.at[0]):
                continue
            points = max(hole.diameter * self.scale * POINTS, 3.0)
            self.axes.plot(
                *hole.at, "o", ms=points, mfc="white", mec=INK, mew=0.8, zorder=3.6, clip_on=False
            )

    def _label(self, label: Label) -> None:
        if not self._shown(label.at[0], label.at[0]):
            return
        size = label.height * self.scale * POINTS / CAPITALS
        self.axes.text(
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

    def _path(self, *paths: Path, **style: object) -> None:
        outline = _outline(paths)
        across = np.asarray(outline.vertices)[:, 0]
        if not self._shown(across.min(), across.max()):
            return
        patch = PathPatch(outline, joinstyle="round", **style)
        patch.set_clip_on(self.window is not None)
        self.axes.add_artist(patch)  # add_patch would reckon limits


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
