"""True-scale prints: the squares to measure, outlines at 1:1, and nothing else to cut along."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import shapely
from shapely import Polygon

from ..asked.shapes import Pt
from ..asked.variants import same
from ..rules.judge import NEAR, Matched
from .pdf import Page, Stroke, as_line, pages

__all__ = [
    "PAPERS",
    "Paper",
    "Spread",
    "cut_lines",
    "dashed_lines",
    "markers_wrong",
    "shown_dashed",
    "spreads",
    "text_of",
    "unseen",
]

PAPERS = {"a4": (210.0, 297.0), "letter": (215.9, 279.4), "a3": (297.0, 420.0)}
"""ISO 216, and 8½ × 11 in (mm)."""

MARGIN = 10.0
"""Around the frame of a sheet (mm)."""
_THICK = 0.4
"""Lines that are cut along are wider than this (mm), and whole."""
_SQUARES = ((100.0, "100 mm"), (101.6, "4 in"))
_SHEET = "seam: do not cut"
"""Stands in the key below every sheet, and nowhere else."""
_NAMED = re.compile(r"(?:(\d+)([A-Z]+) +)?(.+)")


@dataclass(frozen=True)
class Paper:
    """What was asked for: one of `PAPERS`, or the width of a roll (mm), and the overlap (mm)."""

    size: str | float
    overlap: float

    def holds(self, page: Page) -> bool:
        """Whether a page has the size of the paper, upright or on its side."""
        sides = sorted((page.width, page.height))
        if isinstance(self.size, float):
            return any(abs(side - self.size) < 0.01 for side in sides) and sides[1] < 5080.01
        wanted = PAPERS[self.size]
        return all(abs(a - b) < 0.01 for a, b in zip(sides, wanted, strict=True))


@dataclass(frozen=True)
class Spread:
    """A drawing on its sheets: each page with the way (mm) from its corner to the drawing's."""

    name: str
    sheets: tuple[tuple[Page, Pt], ...]


def spreads(path: Path, paper: Paper) -> tuple[list[Spread], list[str]]:
    """Return the drawings of a print, and what is wrong with its pages."""
    every = pages(path)
    faults = [
        f"{path.name}: page {number} is {page.width:.2f} mm by {page.height:.2f} mm"
        for number, page in enumerate(every, start=1)
        if not paper.holds(page)
    ]
    squares = [size for page in every for size in _squares(page)]
    faults += [
        f"{path.name} has {squares.count(size)} squares of {said} to measure"
        for size, said in _SQUARES
        if squares.count(size) != 1
    ]
    found: dict[str, list[tuple[Page, Pt]]] = {}
    for page in every:
        if _SHEET not in text_of([page], bare=False):
            continue
        name, way = _heading(page, paper)
        found.setdefault(name, []).append((page, way))
    return [Spread(name, tuple(sheets)) for name, sheets in found.items()], faults


def _squares(page: Page) -> Iterator[float]:
    """Yield the sides (mm) of the squares that say how large they are, if they are so large."""
    for stroke in page.strokes:
        if not stroke.closed or len(stroke.points) not in (4, 5):
            continue
        x0, y0, x1, y1 = stroke.area.bounds
        for size, said in _SQUARES:
            true = abs(x1 - x0 - size) < 0.005 and abs(y1 - y0 - size) < 0.005
            inside = [w for w, (x, y) in page.words if x0 < x < x1 and y0 < y < y1]
            if true and said in inside:
                yield size


def _heading(page: Page, paper: Paper) -> tuple[str, Pt]:
    """Return the drawing's name above the frame, and the way from the page to the drawing."""
    above = [
        (y, word)
        for word, (x, y) in page.words
        if y > page.height - MARGIN and abs(x - MARGIN) < 0.01
    ]
    said = min(above)[1]  # keys may stand on lines of their own above it
    found = _NAMED.fullmatch(said)
    assert found is not None, said
    row, column, name = found.groups()
    down, along = (int(row) - 1, _number(column)) if row else (0, 0)
    wide, high = page.width - 2.0 * MARGIN, page.height - 2.0 * MARGIN
    return name, (along * (wide - paper.overlap), -down * (high - paper.overlap))


def _number(letters: str) -> int:
    """Return the number of a column: A is 0, Z 25, AA 26."""
    number = 0
    for letter in letters:
        number = 26 * number + ord(letter) - ord("A") + 1
    return number - 1


def text_of(sheets: Iterable[Page], *, bare: bool = True) -> str:
    """Return all words of some pages; `bare`: without the spaces, which breaks of lines eat.

    What is written twice in one place, with a halo first, counts once.
    """
    words = [word for page in sheets for word in dict.fromkeys(page.words)]
    text = "\n".join(word for word, _ in words)
    return re.sub(r"\s", "", text) if bare else text


def drawn(spread: Spread, *, dashed: bool) -> list[Stroke]:
    """Return the lines of a drawing where they are in it; what several sheets show, once."""
    found: dict[tuple[object, ...], Stroke] = {}
    for page, (dx, dy) in spread.sheets:
        frame = shapely.box(MARGIN, MARGIN, page.width - MARGIN, page.height - MARGIN)
        for stroke in page.strokes:
            if stroke.dashed != dashed or not (dashed or stroke.width > _THICK):
                continue
            if as_line(stroke).envelope.intersects(frame):  # the key below the sheet does not
                points = tuple((x + dx, y + dy) for x, y in stroke.points)
                key = (*(round(v, 1) for p in points[:3] for v in p), len(points))
                near = [k for k in found if len(k) == len(key) and _near(k, key)]
                if not near:
                    found[key] = Stroke(points, stroke.closed, stroke.width, dashed)
    return list(found.values())


def _near(one: tuple[object, ...], other: tuple[object, ...]) -> bool:
    return all(abs(float(str(a)) - float(str(b))) < 0.25 for a, b in zip(one, other, strict=True))


def cut_lines(spread: Spread) -> list[Polygon]:
    """Return what the thick whole lines of a drawing go round, where they are in it."""
    return [stroke.area for stroke in drawn(spread, dashed=False)]


def unseen(spread: Spread, cut: Sequence[Polygon]) -> Iterator[str]:
    """Yield which lines to cut run off all sheets."""
    seen = shapely.union_all(
        [
            shapely.box(dx, dy, dx + page.width - 2 * MARGIN, dy + page.height - 2 * MARGIN)
            for page, (dx, dy) in ((p, (w[0] + MARGIN, w[1] + MARGIN)) for p, w in spread.sheets)
        ]
    ).buffer(0.01)
    for area in cut:
        lost = area.exterior.difference(seen).length
        if lost > 0.1:
            yield f"{spread.name}: {lost:.1f} mm of an outline are on no sheet"


def markers_wrong(path: Path, every: Matched, paper: Paper) -> Iterator[str]:
    """Yield what is wrong in a print of all markers."""
    found, faults = spreads(path, paper)
    yield from faults
    laid = [
        [lying for lying, _ in laid if lying.sheet == sheet]
        for entry, laid in every.laid
        for sheet in range(max(1, len(entry.sheets)))
        if entry.lying
    ]
    if len(found) != len(laid):
        yield f"{path.name} has {len(found)} drawings of {len(laid)} markers or sheets"
        return
    for spread, parts in zip(found, laid, strict=True):
        cut = cut_lines(spread)
        yield from unseen(spread, cut)
        lies = [part.lies for part in parts]
        rings = [Polygon(ring) for area in lies for ring in (area.exterior, *area.interiors)]
        yield from _each_shown(f"{path.name}, {spread.name}", cut, rings)
        text = text_of(page for page, _ in spread.sheets)
        for name in {part.piece for part in parts}:
            if re.sub(r"\s", "", name) not in text:
                yield f"{path.name}, {spread.name} does not name {name}"


def _each_shown(where: str, cut: Sequence[Polygon], rings: Sequence[Polygon]) -> Iterator[str]:
    """Yield what is not printed where it lies as it is, but for one move of all."""
    if not cut:
        yield f"{where} shows nothing to cut"
        return
    here, there = (shapely.union_all(list(some)).bounds for some in (cut, rings))
    dx, dy = there[0] - here[0], there[1] - here[1]
    left = [shapely.affinity.translate(one, dx, dy) for one in cut]
    for ring in rings:
        found = next((one for one in left if same(ring, one, within=NEAR)), None)
        if found is None:
            yield f"{where} does not show what is {ring.area:.1f} mm² at {ring.bounds}"
        else:
            left.remove(found)
    for one in left:
        yield f"{where} shows what is {one.area:.1f} mm² at {one.bounds}, which is no part"


def dashed_lines(spread: Spread) -> list[shapely.LineString]:
    """Return the broken lines of a drawing, where they are in it."""
    return [as_line(stroke) for stroke in drawn(spread, dashed=True)]


def shown_dashed(line: Sequence[Pt], there: Sequence[shapely.LineString]) -> bool:
    """Whether one of some broken lines is a line."""
    wanted = shapely.LineString(line)
    return any(
        math.dist(wanted.centroid.coords[0], one.centroid.coords[0]) < 1.0
        and shapely.hausdorff_distance(wanted, one) < 0.05
        for one in there
    )
