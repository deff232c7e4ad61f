"""Outlines of a job file as finely sampled rings, with the edges between their corners."""

from __future__ import annotations

import itertools
import math
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from shapely import Polygon

from .amounts import Units

__all__ = ["Outline", "Pt", "arc_points", "bezier_point", "drawn", "holes_of", "path_data"]

Pt = tuple[float, float]

_CHORD = 0.004
"""How far chords may be off a curve, mm."""

_SHORT = 1.0 / 16.0
"""Of a chord: the short ones at the ends of a curve."""

_CORNER = 20.0
"""An outline that turns by more (degrees) has a corner there (as FORMAT.md says)."""


@dataclass(frozen=True)
class Outline:
    """A ring, counter-clockwise: segment k goes from point k to the next; `piece[k]`: of which
    drawn line or curve it is a chord.
    """

    ring: tuple[Pt, ...]
    piece: tuple[int, ...]

    @property
    def area(self) -> Polygon:
        """What is inside."""
        return Polygon(self.ring)

    def edges(self) -> list[int]:
        """Return the number of the edge (from 1) that each segment belongs to."""
        n = len(self.ring)
        corner = [self._turns(k) for k in range(n)]
        if not any(corner):
            return [1] * n
        number = 0 if corner[0] else 1  # without a corner there an edge runs through the start
        found = []
        for k in range(n):
            number += corner[k]
            found.append(number)
        last = max(found)
        return found if corner[0] else [1 if k == last else k for k in found]

    def _turns(self, k: int) -> bool:
        """Whether there is a corner at a point; chords of one curve make none."""
        n = len(self.ring)
        if self.piece[k - 1] == self.piece[k] and k:
            return False
        (ax, ay), (bx, by), (cx, cy) = self.ring[k - 1], self.ring[k], self.ring[(k + 1) % n]
        ux, uy, vx, vy = bx - ax, by - ay, cx - bx, cy - by
        turn = math.degrees(math.atan2(ux * vy - uy * vx, ux * vx + uy * vy))
        return abs(turn) > _CORNER


def drawn(table: dict[str, Any], units: Units) -> list[Outline]:
    """Return the closed shapes that a table gives; only path data gives several."""
    at = units.point(table["at"]) if "at" in table else (0.0, 0.0)
    if "outline" in table:
        rings = [_closed(run) for run in path_data(table["outline"])]
        return [_moved(ring, at) for ring in rings]
    if "points" in table:
        points = [units.point(p) for p in table["points"]]
        return [_moved(_closed([[p, q] for p, q in _pairs(points)]), at)]
    if "rectangle" in table:
        return [
            _rectangle(units.point(table["rectangle"]), units.mm(table.get("corner_radius", 0)), at)
        ]
    if "circle" in table:
        size = units.mm(table["circle"])
        return [_ellipse(size, size, at)]
    return [_ellipse(*units.point(table["ellipse"]), at)]


def holes_of(table: dict[str, Any], units: Units) -> list[Polygon]:
    """Return the cut-outs of a table that gives a shape."""
    return [one.area for hole in table.get("hole", []) for one in drawn(hole, units)]


def _pairs(points: Sequence[Pt]) -> Iterator[tuple[Pt, Pt]]:
    return zip(points, [*points[1:], points[0]], strict=True)


def _moved(outline: Outline, by: Pt) -> Outline:
    return Outline(tuple((x + by[0], y + by[1]) for x, y in outline.ring), outline.piece)


def _closed(runs: Sequence[Sequence[Pt]]) -> Outline:
    """Return a ring of runs of points that follow each other, turned counter-clockwise."""
    ring: list[Pt] = []
    piece: list[int] = []
    for number, run in enumerate(runs):
        for p, q in itertools.pairwise(run):
            if math.dist(p, q) > 1e-6:
                ring.append(p)
                piece.append(number)
    area = sum(a[0] * b[1] - b[0] * a[1] for a, b in _pairs(ring))
    if area < 0.0:  # backwards from the same start
        ring = [ring[0], *reversed(ring[1:])]
        piece = list(reversed(piece))
    return Outline(tuple(ring), tuple(piece))


def arc_points(centre: Pt, radii: Pt, begin: float, sweep: float, tilt: float = 0.0) -> list[Pt]:
    """Return points of an elliptical arc, its ends among them (radians)."""
    r = max(radii)
    n = max(2, math.ceil(abs(sweep) / (2.0 * math.acos(max(0.0, 1.0 - _CHORD / r)))))
    c, s = math.cos(tilt), math.sin(tilt)
    found = []
    for share in _shares(n):
        t = begin + sweep * share
        x, y = radii[0] * math.cos(t), radii[1] * math.sin(t)
        found.append((centre[0] + c * x - s * y, centre[1] + s * x + c * y))
    return found


def _shares(n: int) -> list[float]:
    """Return where a curve is sampled, n chords and a short one at each end.

    The last chord says how a curve runs into a corner, and so where the mitre there ends.
    """
    short = _SHORT / n
    return [0.0, short, *(k / n for k in range(1, n)), 1.0 - short, 1.0]


def _ellipse(length: float, width: float, at: Pt) -> Outline:
    half = (length / 2.0, width / 2.0)
    return _closed(
        [arc_points(at, half, math.pi, math.pi), arc_points(at, half, 2 * math.pi, math.pi)]
    )


def _rectangle(size: Pt, r: float, at: Pt) -> Outline:
    (x, y), (w, h) = at, size
    if not r:
        return _closed(
            [[p, q] for p, q in _pairs([(x, y), (x + w, y), (x + w, y + h), (x, y + h)])]
        )
    runs: list[list[Pt]] = []
    corners = ((x + w - r, y + r), (x + w - r, y + h - r), (x + r, y + h - r), (x + r, y + r))
    here = (x + r, y)
    for k, centre in enumerate(corners):
        arc = arc_points(centre, (r, r), (k - 1) * math.pi / 2, math.pi / 2)
        runs += [[here, arc[0]], arc]
        here = arc[-1]
    return _closed(runs)


def path_data(text: str) -> list[list[list[Pt]]]:
    """Return the lines and curves of path data as runs of points, one list a path.

    Commands M, L, H, V, C, Q, A and Z, upper and lower case (SVG 2, chapter 9; the arc by
    its implementation notes, B.2.4).
    """
    words = re.findall(r"[MLHVCQAZmlhvcqaz]|[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?", text)
    paths: list[list[list[Pt]]] = []
    here = start = (0.0, 0.0)
    k, command = 0, ""
    while k < len(words):
        if words[k].isalpha():
            command, k = words[k], k + 1
        kind, base = command.upper(), here if command.islower() else (0.0, 0.0)
        count = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "Q": 4, "A": 7, "Z": 0}[kind]
        n = [float(w) for w in words[k : k + count]]
        k += count
        if kind == "M":
            here = start = (base[0] + n[0], base[1] + n[1])
            paths.append([])
            command = "l" if command == "m" else "L"
            continue
        if kind == "Z":
            if math.dist(here, start) > 1e-9:
                paths[-1].append([here, start])
            here = start
            continue
        run = _run(kind, n, here, base)
        paths[-1].append(run)
        here = run[-1]
    return [path for path in paths if path]


def _run(kind: str, n: list[float], here: Pt, base: Pt) -> list[Pt]:
    """Return the points of one command, from where the path is."""
    if kind == "H":
        return [here, (base[0] + n[0], here[1])]
    if kind == "V":
        return [here, (here[0], base[1] + n[0])]
    end = (base[0] + n[-2], base[1] + n[-1])
    if kind == "L":
        return [here, end]
    if kind == "A":
        return _svg_arc(here, end, n)
    p = [here, *((base[0] + n[i], base[1] + n[i + 1]) for i in range(0, len(n), 2))]
    reach = sum(math.dist(a, b) for a, b in itertools.pairwise(p))
    steps = max(4, math.ceil(math.sqrt(reach / _CHORD) * 0.9))
    return [bezier_point(p, share) for share in _shares(steps)]


def bezier_point(p: Sequence[Pt], t: float) -> Pt:
    """Return a point of a Bézier curve by repeated halving between its points (de Casteljau)."""
    while len(p) > 1:
        p = [(a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])) for a, b in itertools.pairwise(p)]
    return p[0]


def _svg_arc(start: Pt, end: Pt, n: list[float]) -> list[Pt]:
    rx, ry, tilt, large, sweep = n[0], n[1], math.radians(n[2]), n[3] != 0.0, n[4] != 0.0
    c, s = math.cos(tilt), math.sin(tilt)
    dx, dy = (start[0] - end[0]) / 2.0, (start[1] - end[1]) / 2.0
    x, y = c * dx + s * dy, -s * dx + c * dy
    grow = math.hypot(x / rx, y / ry)
    if grow > 1.0:
        rx, ry = rx * grow, ry * grow
    under = rx * rx * ry * ry - rx * rx * y * y - ry * ry * x * x
    root = math.sqrt(max(0.0, under / (rx * rx * y * y + ry * ry * x * x)))
    root = -root if large == sweep else root
    cx, cy = root * rx * y / ry, -root * ry * x / rx
    first, last = (
        math.atan2((y - cy) / ry, (x - cx) / rx),
        math.atan2((-y - cy) / ry, (-x - cx) / rx),
    )
    turn = (last - first) % math.tau
    turn = turn if sweep else turn - math.tau
    centre = (
        c * cx - s * cy + (start[0] + end[0]) / 2.0,
        s * cx + c * cy + (start[1] + end[1]) / 2.0,
    )
    points = arc_points(centre, (rx, ry), first, turn, tilt)
    return [start, *points[1:-1], end]
