"""A contact sheet: every piece of a pattern in one picture, all at one scale."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from pathlib import Path as FilePath
from typing import Any

from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.patches import FancyArrowPatch, PathPatch
from matplotlib.path import Path as DrawnPath
from shapely import LineString, make_valid
from shapely import Point as ShapelyPoint

from nesting.amounts import METRIC, Amounts
from nesting.pattern.measure import bounds
from nesting.pattern.path import Affine, Path
from nesting.pattern.piece import Mark, MarkKind, Piece
from nesting.pattern.polygon import piece_polygon
from nesting.pattern.variants.transform import from_corner
from nesting.units import LENGTH_UNITS
from nesting.writing.files import one_line, whole_file
from nesting.writing.pages.contact_sheet import RULER, Cell, sheet

__all__ = ["pieces_picture", "write_pieces_picture"]

_INK, _FILL, _SEW, _GRAIN, _NOTE = "#222222", "#e9e4d8", "#8a8a8a", "#2f6f73", "#b5562b"
_RULE = "#767676"
_CHORD = 0.2
_MOST = 400
"""More pieces than this are not drawn: nobody could look at them."""
_STEPS = {"cm": (1, 2, 5, 10, 20, 50, 100), "in": (1, 2, 4, 6, 12, 24, 48)}
_TICKS = 0.3
"""Least distance of ticks, inches of paper."""
_SHORTEST = 0.12
"""Shorter arrows (inches of paper) are not drawn: the caption says it."""


def write_pieces_picture(
    pieces: Sequence[Piece],
    path: FilePath | str,
    *,
    captions: Mapping[str, str] | None = None,
    amounts: Amounts = METRIC,
    overwrite: bool = False,
) -> None:
    """Write a contact sheet (PNG), whole or not at all; see `pieces_picture`."""
    figure = pieces_picture(pieces, captions=captions, amounts=amounts)
    with whole_file(FilePath(path), overwrite=overwrite) as temporary:
        figure.savefig(temporary, format="png", dpi=110, metadata={"Software": None})


def pieces_picture(
    pieces: Sequence[Piece],
    *,
    captions: Mapping[str, str] | None = None,
    amounts: Amounts = METRIC,
) -> Figure:
    """Draw every piece with its sewing line, grain, cut-outs and marks, all at one scale.

    Rulers count from its lower left corner, from which marks are placed. Under each stand its
    name, its size, its grain, and its caption if it has one (by name). An arrow with one head
    points to the end that is up.
    """
    shown = [from_corner(piece) for piece in pieces[:_MOST]]
    sizes = [bounds(piece.cut)[2:] for piece in shown]
    paper = sheet(sizes)
    figure = Figure(figsize=(max(paper.width, 2.0), max(paper.height, 1.0)))
    FigureCanvasAgg(figure)
    ax = figure.add_axes((0.0, 0.0, 1.0, 1.0))
    ax.set_xlim(0.0, max(paper.width, 2.0))
    ax.set_ylim(0.0, max(paper.height, 1.0))
    ax.set_axis_off()
    for piece, size, cell in zip(shown, sizes, paper.cells, strict=True):
        _rulers(ax, size, cell, paper.scale, unit="in" if amounts.inches else "cm")
        _draw(ax, piece, cell, paper.scale)
        words = [one_line(piece.name), amounts.sizes(*size), _grain(piece)]
        if captions and piece.name in captions:
            words.append(one_line(captions[piece.name]))
        # "$" begins a formula in this library
        text = "\n".join(words).replace("$", r"\$")
        ax.text(cell.x - RULER, cell.y - RULER, text, fontsize=7, va="top", linespacing=1.15)
    return figure


def _grain(piece: Piece) -> str:
    turn = f"grain {piece.grain % 360.0:.4g}°"
    return turn if piece.up_known else f"{turn}, up not known"


def _rulers(ax: Axes, size: tuple[float, float], cell: Cell, scale: float, *, unit: str) -> None:
    """Draw rulers below and on the left, and faint lines across at their ticks."""
    long = LENGTH_UNITS[unit] * scale
    step = next((s for s in _STEPS[unit] if s * long >= _TICKS), _STEPS[unit][-1])
    w, h = size[0] * scale, size[1] * scale
    x0, y0 = cell.x - 0.06, cell.y - 0.06
    style: dict[str, Any] = {"color": _RULE, "linewidth": 0.5}
    ax.plot([cell.x, cell.x + w], [y0, y0], **style)
    ax.plot([x0, x0], [cell.y, cell.y + h], **style)
    faint: dict[str, Any] = {"color": _INK, "linewidth": 0.4, "alpha": 0.12, "zorder": 3}
    for i in range(int(w / (step * long) + 1e-9) + 1):
        x = cell.x + i * step * long
        ax.plot([x, x], [y0, y0 - 0.05], **style)
        ax.plot([x, x], [cell.y, cell.y + h], **faint)
        ax.text(x, y0 - 0.06, f"{i * step:g}", fontsize=5, color=_RULE, ha="center", va="top")
    for i in range(int(h / (step * long) + 1e-9) + 1):
        y = cell.y + i * step * long
        ax.plot([x0, x0 - 0.05], [y, y], **style)
        ax.plot([cell.x, cell.x + w], [y, y], **faint)
        if i:
            ax.text(x0 - 0.07, y, f"{i * step:g}", fontsize=5, color=_RULE, ha="right", va="center")


def _draw(ax: Axes, piece: Piece, cell: Cell, scale: float) -> None:
    by = Affine.move(cell.x, cell.y).after(Affine.scale(scale))
    codes: list[Any] = []
    points: list[tuple[float, float]] = []
    for ring in (piece.cut, *piece.holes):
        corners = [by(point) for point in ring.points(_CHORD)]
        points += [*corners, corners[0]]
        codes += [DrawnPath.MOVETO, *[DrawnPath.LINETO] * (len(corners) - 1), DrawnPath.CLOSEPOLY]
    area = DrawnPath(points, codes)
    ax.add_patch(PathPatch(area, facecolor=_FILL, edgecolor=_INK, linewidth=0.8))
    if piece.sew is not None:
        _stroke(ax, piece.sew, by, _SEW, dashed=True)
    _arrow(ax, piece, by, scale)
    if piece.fold is not None:
        (xa, ya), (xb, yb) = map(by, piece.fold)
        ax.plot([xa, xb], [ya, yb], color=_GRAIN, linewidth=0.6, linestyle="-.")
    for mark in piece.marks:
        _mark(ax, mark, by)


def _arrow(ax: Axes, piece: Piece, by: Affine, scale: float) -> None:
    """Draw the grain where the piece has room for it, with a head at the end that is up."""
    area = make_valid(piece_polygon(piece))  # an outline as it was drawn may touch itself
    at = area.representative_point()
    turn = Affine.turn(piece.grain)
    far = math.hypot(*bounds(piece.cut)[2:])
    dx, dy = far * turn.a, far * turn.c
    line = LineString([(at.x - dx, at.y - dy), (at.x + dx, at.y + dy)]).intersection(area)
    runs = [run for run in getattr(line, "geoms", [line]) if run.distance(ShapelyPoint(at)) < 1e-6]
    if not runs:
        return
    (xa, ya), (xb, yb) = (
        runs[0].interpolate(share, normalized=True).coords[0][:2] for share in (0.2, 0.8)
    )
    if (xb - xa) * dx + (yb - ya) * dy < 0.0:
        xa, ya, xb, yb = xb, yb, xa, ya
    long = math.hypot(xb - xa, yb - ya) * scale
    if long < _SHORTEST:
        return
    arrow = FancyArrowPatch(
        by((xa, ya)),
        by((xb, yb)),
        arrowstyle="-|>" if piece.up_known else "<|-|>",
        mutation_scale=min(8.0, 20.0 * long),
        shrinkA=0,
        shrinkB=0,
        color=_GRAIN,
        linewidth=0.7,
        zorder=4,
    )
    ax.add_patch(arrow)


def _mark(ax: Axes, mark: Mark, by: Affine) -> None:
    if mark.path is not None:
        _stroke(ax, mark.path, by, _NOTE, dashed=False)
    elif mark.at is not None:
        shape = {MarkKind.NOTCH: "v", MarkKind.DRILL: "+"}.get(mark.kind)
        if shape:
            ax.plot(*by(mark.at), marker=shape, markersize=3, color=_NOTE, zorder=4)


def _stroke(ax: Axes, path: Path, by: Affine, colour: str, *, dashed: bool) -> None:
    points = [by(point) for point in path.points(_CHORD)]
    if path.closed:
        points.append(points[0])
    xs, ys = zip(*points, strict=True)
    ax.plot(xs, ys, color=colour, linewidth=0.5, linestyle="--" if dashed else "-", zorder=4)
