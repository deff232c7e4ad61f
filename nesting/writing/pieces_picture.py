"""A contact sheet: every piece of a pattern in one picture, all at one scale."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from pathlib import Path as FilePath
from typing import Any

from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.patches import PathPatch
from matplotlib.path import Path as DrawnPath

from nesting.pattern.measure import bounds
from nesting.pattern.path import Affine, Path
from nesting.pattern.piece import Mark, MarkKind, Piece
from nesting.writing.files import one_line, whole_file

__all__ = ["pieces_picture", "write_pieces_picture"]

_INK, _FILL, _SEW, _GRAIN, _NOTE = "#222222", "#e9e4d8", "#8a8a8a", "#2f6f73", "#b5562b"
_CELL = 2.6  # inches
_CHORD = 0.2
_MOST = 400
"""More pieces than this are not drawn: nobody could look at them."""


def write_pieces_picture(
    pieces: Sequence[Piece],
    path: FilePath | str,
    *,
    captions: Mapping[str, str] | None = None,
    overwrite: bool = False,
) -> None:
    """Write a contact sheet (PNG), whole or not at all; see `pieces_picture`."""
    figure = pieces_picture(pieces, captions=captions)
    with whole_file(FilePath(path), overwrite=overwrite) as temporary:
        figure.savefig(temporary, format="png", dpi=110, metadata={"Software": None})


def pieces_picture(pieces: Sequence[Piece], *, captions: Mapping[str, str] | None = None) -> Figure:
    """Draw every piece with its sewing line, grain, cut-outs and marks, all at one scale.

    Under each stand its name, its size, and its caption if it has one (by name).
    """
    shown = list(pieces[:_MOST])
    columns = min(6, max(1, math.ceil(math.sqrt(len(shown)))))
    rows = max(1, math.ceil(len(shown) / columns))
    figure = Figure(figsize=(_CELL * columns, (_CELL + 0.5) * rows), layout="constrained")
    FigureCanvasAgg(figure)
    axes = figure.subplots(rows, columns, squeeze=False).flatten()
    boxes = [bounds(piece.cut) for piece in shown]
    reach = max((max(x1 - x0, y1 - y0) for x0, y0, x1, y1 in boxes), default=1.0) * 0.54
    for ax in axes:
        ax.set_axis_off()
    for ax, piece, (x0, y0, x1, y1) in zip(axes, shown, boxes, strict=False):
        middle = ((x0 + x1) / 2, (y0 + y1) / 2)
        ax.set_aspect("equal")
        ax.set_xlim(middle[0] - reach, middle[0] + reach)
        ax.set_ylim(middle[1] - reach, middle[1] + reach)
        _draw(ax, piece, middle, min(x1 - x0, y1 - y0) / 3)
        words = [one_line(piece.name), f"{x1 - x0:.0f} × {y1 - y0:.0f} mm"]
        if captions and piece.name in captions:
            words.append(one_line(captions[piece.name]))
        # "$" begins a formula in this library
        ax.set_title("\n".join(words).replace("$", r"\$"), fontsize=7, y=-0.02, va="top")
    return figure


def _draw(ax: Axes, piece: Piece, middle: tuple[float, float], half: float) -> None:
    codes: list[Any] = []
    points: list[tuple[float, float]] = []
    for ring in (piece.cut, *piece.holes):
        corners = ring.points(_CHORD)
        points += [*corners, corners[0]]
        codes += [DrawnPath.MOVETO, *[DrawnPath.LINETO] * (len(corners) - 1), DrawnPath.CLOSEPOLY]
    area = DrawnPath(points, codes)
    ax.add_patch(PathPatch(area, facecolor=_FILL, edgecolor=_INK, linewidth=0.8))
    if piece.sew is not None:
        _stroke(ax, piece.sew, _SEW, dashed=True)
    turn = Affine.turn(piece.grain)
    dx, dy = half * turn.a, half * turn.c
    ax.annotate(
        "",
        xy=(middle[0] + dx, middle[1] + dy),
        xytext=(middle[0] - dx, middle[1] - dy),
        arrowprops={"arrowstyle": "<->", "color": _GRAIN, "linewidth": 0.7},
    )
    if piece.fold is not None:
        (xa, ya), (xb, yb) = piece.fold
        ax.plot([xa, xb], [ya, yb], color=_GRAIN, linewidth=0.6, linestyle="-.")
    for mark in piece.marks:
        _mark(ax, mark)


def _mark(ax: Axes, mark: Mark) -> None:
    if mark.path is not None:
        _stroke(ax, mark.path, _NOTE, dashed=False)
    elif mark.at is not None:
        shape = {MarkKind.NOTCH: "v", MarkKind.DRILL: "+"}.get(mark.kind)
        if shape:
            ax.plot(*mark.at, marker=shape, markersize=3, color=_NOTE)


def _stroke(ax: Axes, path: Path, colour: str, *, dashed: bool) -> None:
    points = list(path.points(_CHORD))
    if path.closed:
        points.append(points[0])
    xs, ys = zip(*points, strict=True)
    ax.plot(xs, ys, color=colour, linewidth=0.5, linestyle="--" if dashed else "-")
