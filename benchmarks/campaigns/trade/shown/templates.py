"""Templates in print: each piece once as it is drawn, how it is cut, its folds and seam dashed."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from pathlib import Path

import shapely
from shapely import Polygon

from ..asked.cutting_list import Asked, Job
from ..asked.pattern import Piece
from ..asked.shapes import Pt
from ..asked.variants import mapped, same, turned
from .paper import Paper, Spread, cut_lines, dashed_lines, shown_dashed, spreads, text_of, unseen
from .pdf import pages

__all__ = ["templates_wrong"]

Shown = tuple[Polygon, Spread]


def templates_wrong(path: Path, job: Job, paper: Paper, *, rectangles: bool) -> Iterator[str]:
    """Yield what is wrong in a print of all templates; `rectangles`: large plain ones, too."""
    found, faults = spreads(path, paper)
    yield from faults
    text = text_of(pages(path))
    shown: list[Shown] = []
    for spread in found:
        cut = cut_lines(spread)
        shown += [(one, spread) for one in cut]
        yield from unseen(spread, cut)
    for piece, cuts in _wanted(job):
        if re.sub(r"\s", "", piece.name) not in text:
            yield f"{path.name} does not name {piece.name}"
        for said in _how(cuts):
            if re.sub(r"\s", "", said) not in text:
                yield f"the template of {piece.name} does not say {said!r}"
        area = mapped(piece.cut, turned(-piece.grain))
        there = _taken(area, shown)
        if there is None:
            if rectangles or not _plain(piece, area):
                yield f"there is no template of {piece.name} as large as it is"
            continue
        yield from _holes(piece, area, there, shown)
        yield from _lines(piece, area, there)
    for one, spread in shown:
        yield f"{spread.name} has an outline of {one.area:.1f} mm² that nobody asked for"


def _wanted(job: Job) -> list[tuple[Piece, list[Asked]]]:
    """Return every piece of every bag that is cut, with how."""
    found: dict[tuple[str, int], list[Asked]] = {}
    for one in job.asked:
        found.setdefault((one.bag, id(one.piece)), []).append(one)
    return [(cuts[0].piece, cuts) for cuts in found.values()]


def _how(cuts: Sequence[Asked]) -> Iterator[str]:
    """Yield what a template says: how often each is cut from what, and otherwise than drawn."""
    for one in cuts:
        count = str(one.copies)
        if one.cut.get("pairs"):
            count = f"{count} + {count} reversed"
        elif one.cut.get("reversed"):
            count = f"{count} reversed"
        also = [word for word in one.variant_words.split(", ") if word not in ("", "reversed")]
        yield ", ".join([f"cut {count} from {one.goods.name}", *also])


def _taken(area: Polygon, shown: list[Shown]) -> Shown | None:
    """Take the outline that is an area's, wherever it is."""
    outer = Polygon(area.exterior)
    found = next((one for one in shown if same(outer, _over(one[0], outer))), None)
    if found is not None:
        shown.remove(found)
    return found


def _over(one: Polygon, other: Polygon) -> Polygon:
    """Return an area moved so that its corner is another's."""
    (x, y, *_), (u, v, *_) = other.bounds, one.bounds
    moved: Polygon = shapely.affinity.translate(one, x - u, y - v)
    return moved


def _way(area: Polygon, there: Shown) -> Pt:
    (x, y, *_), (u, v, *_) = area.bounds, there[0].bounds
    return u - x, v - y


def _holes(piece: Piece, area: Polygon, there: Shown, shown: list[Shown]) -> Iterator[str]:
    dx, dy = _way(area, there)
    for ring in area.interiors:
        hole = shapely.affinity.translate(Polygon(ring), dx, dy)
        found = next((one for one in shown if one[1] is there[1] and same(hole, one[0])), None)
        if found is None:
            yield f"the template of {piece.name} lacks a cut-out"
        else:
            shown.remove(found)


def _plain(piece: Piece, area: Polygon) -> bool:
    """Whether a piece is a rectangle along its grain, with nothing on it but lines along that."""
    x0, y0, x1, y1 = area.bounds
    full = abs(area.area - (x1 - x0) * (y1 - y0)) < 0.1
    level = [_level([turned(-piece.grain)(p) for p in mark.line]) for mark in piece.marks]
    return full and all(level)


def _level(line: Sequence[Pt]) -> bool:
    if not line:
        return False
    xs, ys = zip(*line, strict=True)
    return min(max(xs) - min(xs), max(ys) - min(ys)) < 0.001 and line[0] != line[-1]


def _lines(piece: Piece, area: Polygon, there: Shown) -> Iterator[str]:
    """Yield which fold or other line, or seam, is not drawn broken where it is."""
    dx, dy = _way(area, there)
    turn = turned(-piece.grain)
    dashed = dashed_lines(there[1])

    def at(p: Pt) -> Pt:
        x, y = turn(p)
        return x + dx, y + dy

    for mark in piece.marks:
        if mark.line and not shown_dashed([at(p) for p in mark.line], dashed):
            yield f"the {mark.kind} of {piece.name} at {mark.line[0]} is not drawn as a broken line"
    if piece.sew is not None and not same(piece.sew, piece.cut):
        sewn = mapped(piece.sew, at)
        areas = [Polygon(one.coords) for one in dashed if one.is_closed and len(one.coords) > 3]
        if not any(same(sewn, one) for one in areas if one.is_valid):
            yield f"the seam of {piece.name} is not drawn as a broken line"
