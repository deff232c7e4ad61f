"""What parts lie on, drawn: the edges of cloth, sheets and hides, and a print's repeat."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from nesting.marker.lay import Sheet
from nesting.material.material import Material, Print, Width
from nesting.pattern.path import Affine, Path, Point
from nesting.pattern.shapes import circle
from nesting.planning.records import BedLoad
from nesting.writing.neutral.drawing import Operation, Role, Shown, Stroke

__all__ = ["cloth_edges", "load_edges", "print_shown", "sheet_edges", "wrong_side_up"]

_RING = 14.0  # mm across: where a motif's middle lies
_MOST_LINES = 400  # of a repeat: a finer one would be a grey surface


def wrong_side_up(material: Material) -> bool:
    """Whether the upper side, as the material lies on the table, is the wrong one."""
    return material.folded or material.wrong_side_up


def _edge(role: Role, points: list[Point]) -> Stroke:
    return _stroke(role, Path.polyline(points, closed=False))


def _box(x0: float, y0: float, x1: float, y1: float) -> Path:
    return Path.polyline([(x0, y0), (x1, y0), (x1, y1), (x0, y1)], closed=True)


def _stroke(role: Role, path: Path, name: str = "") -> Stroke:
    return Stroke(operation=Operation.EDGE, path=path, role=role, name=name)


def cloth_edges(
    length: float, across: float, *, material: Material | None, width: Width | None
) -> tuple[Stroke, ...]:
    """Return the edges of cloth (mm): the marker's box, the cloth's, the fold, the repeat.

    Selvedges are taken to be equally wide, ends equally long. Of no length: none.
    """
    if length <= 0.0:
        return ()
    strokes = [_stroke(Role.USABLE, _box(0.0, 0.0, length, across))]
    if material is None:
        return tuple(strokes)
    folded = material.folded
    lost = 0.0
    if width is not None:
        lost = width.booked / 2.0 - across if folded else (width.booked - across) / 2.0
    low, high, ends = 0.0 if folded else max(lost, 0.0), max(lost, 0.0), material.ends
    if low or high or ends:
        strokes.append(_stroke(Role.CLOTH, _box(-ends, -low, length + ends, across + high)))
    if folded:
        strokes.append(_edge(Role.FOLD, [(-ends, 0.0), (length + ends, 0.0)]))
    if material.print is not None:
        strokes += _repeat(material.print, length, across)
    return tuple(strokes)


def print_shown(material: Material, edges: Sequence[Stroke]) -> Shown | None:
    """Return the picture of a print, shown all over the cloth, where its right side is up."""
    motif = material.print
    if motif is None or motif.picture is None or wrong_side_up(material):
        return None
    outer = [edge.path for edge in edges if edge.role in (Role.CLOTH, Role.USABLE)]
    if not outer:
        return None
    picture = motif.picture
    return Shown(
        picture=picture,
        place=Affine.move(*motif.origin).after(picture.place),
        within=(outer[-1],),
        along=motif.along or picture.size[0],
        across=motif.across or picture.size[1],
        shift=motif.drop * (motif.along or 0.0),
    )


def sheet_edges(sheet: Sheet, *, zones: Sequence[tuple[str, Path]] = ()) -> tuple[Stroke, ...]:
    """Return the edges of a sheet or hide: its outline, its flaws, its zones by name."""
    flaws = (_stroke(Role.FLAW, hole) for hole in sheet.holes)
    borders = (_stroke(Role.BORDER, path, name) for name, path in zones)
    return (_stroke(Role.SHEET, sheet.outline), *flaws, *borders)


def load_edges(loads: Sequence[BedLoad], length: float, *, sheet: int) -> tuple[Stroke, ...]:
    """Return the borders of the loads of a bed on a sheet, as far as the drawing reaches (mm)."""
    return tuple(
        _stroke(
            Role.BORDER,
            _box(load.x, load.y, min(load.x + load.length, length), load.y + load.width),
            f"load {n}",
        )
        for n, load in enumerate(loads, start=1)
        if load.x < length and load.sheet == sheet
    )


def _repeat(repeat: Print, length: float, across: float) -> list[Stroke]:
    """Return the lines of a print's repeat; with a drop, each column has its own."""
    x0, y0 = repeat.origin
    strokes: list[Stroke] = []
    rows = list(_steps(y0, repeat.across, across))
    strokes += [_edge(Role.REPEAT, [(0.0, y), (length, y)]) for _, y in rows]
    if repeat.along is not None:
        if not repeat.drop or repeat.across is None:
            strokes += [
                _edge(Role.REPEAT, [(x, 0.0), (x, across)])
                for _, x in _steps(x0, repeat.along, length)
            ]
        else:
            first = math.floor(-y0 / repeat.across)
            for j in range(first, first + math.ceil(across / repeat.across) + 1):
                low, high = y0 + j * repeat.across, y0 + (j + 1) * repeat.across
                low, high = max(low, 0.0), min(high, across)
                shift = repeat.drop * repeat.along if j % 2 else 0.0
                if low < high:
                    strokes += [
                        _edge(Role.REPEAT, [(x, low), (x, high)])
                        for _, x in _steps(x0 + shift, repeat.along, length)
                    ]
    if repeat.along is not None and repeat.across is not None:
        strokes += _motifs(repeat, repeat.along, repeat.across, length=length, width=across)
    return strokes if len(strokes) <= _MOST_LINES else []


def _motifs(
    repeat: Print, along: float, across: float, *, length: float, width: float
) -> list[Stroke]:
    """Return a ring where the middle of each motif lies."""
    size = min(_RING, 0.1 * along, 0.1 * across)
    x0, y0 = repeat.origin
    found = []
    for j, y in _steps(y0, across, width):
        shift = repeat.drop * along if j % 2 else 0.0
        for _, x in _steps(x0 + shift, along, length):
            ring = circle(size, centre=(x, y))
            found.append(_stroke(Role.REPEAT, ring))
    return found


def _steps(origin: float, period: float | None, end: float) -> Iterator[tuple[int, float]]:
    """Give (i, origin + i·period) for all that lie in 0…end."""
    if period is None or period <= 0.0:
        return
    i = math.ceil(-origin / period)
    while origin + i * period <= end:
        yield i, origin + i * period
        i += 1
