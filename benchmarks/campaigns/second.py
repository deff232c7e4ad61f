"""A second judge of markers, exact and plain: every rule from the words of nesting/marker/lay.py.

It shares no geometry with `nesting.check`: shapes are polygons grown by a radius (`exact`).
"""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction

from nesting import Lay, Marker, Part, Placement, Sheets, Strip
from nesting.marker.lay import Lattice

from .exact import GRID, Shape, clearance, contact, plate_contact, snapped

__all__ = ["Drawn", "Verdict", "verdicts"]

_CONTACT, _CHORD, _LATTICE, _TURN, _HELD = 1e-6, 1e-3, 1e-3, 1e-6, 1e-6
"""What is let pass, as nesting/marker/check.py says."""

_FARTHEST = 1e7
"""No part lies farther off, mm (as nesting/marker/check.py says)."""

_FINE = 1e-7
"""Rounding of a judge that counts in floats, mm."""


@dataclass(frozen=True, slots=True)
class Drawn:
    """A shape as it was made: rings of corners (mm), grown by a radius (mm).

    `bore`: the centre and radius (mm) of a round cut-out inside the first ring.
    """

    rings: tuple[tuple[tuple[float, float], ...], ...]
    radius: float = 0.0
    bore: tuple[tuple[float, float], float] | None = None

    @property
    def size(self) -> float:
        """The longer side of its box (mm)."""
        xs, ys = [p[0] for p in self.rings[0]], [p[1] for p in self.rings[0]]
        return max(max(xs) - min(xs), max(ys) - min(ys)) + 2.0 * self.radius

    @property
    def curved(self) -> bool:
        """Whether `check` has to take chords for some of its edges."""
        return self.radius > 0.0 or self.bore is not None

    def shape(self, place: Placement | None = None) -> Shape:
        """Return the shape where it lies, or as drawn."""
        rings = tuple(
            tuple(snapped(*(p if place is None else placed(place, p))) for p in ring)
            for ring in self.rings
        )
        bore = None
        if self.bore is not None:
            at, r = self.bore
            bore = snapped(*(at if place is None else placed(place, at))), round(r * GRID)
        return Shape(rings, round(self.radius * GRID), bore)


@dataclass(frozen=True, slots=True)
class Verdict:
    """One rule about some parts that isn't kept to the last digit.

    `least`, `exact`: how much is wrong at least, and exactly where that is known. `passed`:
    how much is let pass. `blur`: how far amounts may differ (curves are measured as chords).
    """

    kind: str
    parts: frozenset[str]
    least: float = math.inf
    exact: float | None = None
    passed: float = 0.0
    blur: float = _FINE

    @property
    def surely(self) -> bool:
        """Whether it is a fault beyond all tolerance."""
        return self.least > self.passed + self.blur

    @property
    def surely_not(self) -> bool:
        """Whether it is none within the tolerance."""
        return self.exact is not None and self.exact < self.passed - self.blur


def placed(place: Placement, point: tuple[float, float]) -> tuple[float, float]:
    """Return where a point of a part lies: reflected, turned, moved, in this order."""
    x, y = point[0], -point[1] if place.flipped else point[1]
    quarters, rest = divmod(place.angle % 360.0, 90.0)
    if rest == 0.0:
        for _ in range(int(quarters) % 4):
            x, y = -y, x
    else:
        c, s = math.cos(math.radians(place.angle)), math.sin(math.radians(place.angle))
        x, y = c * x - s * y, s * x + c * y
    return x + place.x, y + place.y


def verdicts(marker: Marker, drawn: Mapping[int, Drawn]) -> Iterator[Verdict]:
    """Yield every rule that isn't kept; `drawn` has the shapes by the ids of their paths."""
    lay = marker.lay
    yield from _counts(marker)
    for p in marker.placements:
        if not _somewhere(p):
            yield Verdict("number", frozenset({lay.parts[p.part].name}))
    marker = replace(marker, placements=tuple(p for p in marker.placements if _somewhere(p)))
    lying = [
        (lay.parts[p.part], p, drawn[id(lay.parts[p.part].piece.cut)]) for p in marker.placements
    ]
    shapes = [shape.shape(p) for _, p, shape in lying]
    for i, (part, place, shape) in enumerate(lying):
        yield from _alone(part, place, lay)
        yield from _stock(part, place, shape, shapes[i], marker, drawn)
        for j in range(i):
            other, there, its = lying[j]
            if there.sheet == place.sheet:
                known = Pair(shape, its, lay.spacing)
                yield from known.verdict((part.name, other.name), shapes[i], shapes[j])
    yield from _together(marker)


@dataclass(frozen=True, slots=True)
class Pair:
    """Two shapes that have to keep a distance."""

    one: Drawn
    other: Drawn
    spacing: float

    def verdict(self, names: tuple[str, str], a: Shape, b: Shape) -> Iterator[Verdict]:
        """Yield what is wrong between them."""
        room = round((self.spacing + 1.0) * GRID)
        if (
            a.box[0] > b.box[2] + room
            or b.box[0] > a.box[2] + room
            or a.box[1] > b.box[3] + room
            or b.box[1] > a.box[3] + room
        ):
            return
        curves = _CHORD * (self.one.curved + self.other.curved)
        passed = _CONTACT * max(self.one.size, self.other.size) + curves
        lies, parts = plate_contact(a, b), frozenset(names)
        blur = curves + _FINE
        if lies.gap == 0.0 and (lies.deep > 0.0 or self.spacing == 0.0):
            if lies.deep > passed + blur or self.spacing == 0.0:
                yield Verdict("overlap", parts, lies.deep, None, passed, blur)
            else:  # all but none: the spacing isn't kept either
                yield Verdict("gap", parts, self.spacing, None, passed, blur)
        elif lies.gap < self.spacing:
            lack = self.spacing - lies.gap
            yield Verdict("gap", parts, lack, lack, passed, blur)


def _somewhere(place: Placement) -> bool:
    return all(abs(v) < _FARTHEST for v in (place.x, place.y)) and math.isfinite(place.angle)


def _counts(marker: Marker) -> Iterator[Verdict]:
    often = Counter(place.part for place in marker.placements)
    for index, part in enumerate(marker.lay.parts):
        if often[index] != 1:
            kind = "extra" if often[index] else "missing"
            yield Verdict(kind, frozenset({part.name}))
    stock = marker.lay.stock
    if isinstance(stock, Sheets):
        for index, used in Counter(marker.sheets).items():
            there = stock.sheets[index].count
            if there is not None and used > there:
                yield Verdict("sheet", frozenset())


def _alone(part: Part, place: Placement, lay: Lay) -> Iterator[Verdict]:
    name = frozenset({part.name})
    if place.flipped and not part.flip:
        yield Verdict("flip", name)
    yield from _held(part, place)
    for mark in part.piece.marks:  # campaigns only make marks that are far off or none
        if mark.at is not None:
            yield Verdict("mark", name)
    binding = part.binding
    if binding is not None and binding.phase is None:
        off = _off_lattice(placed(place, binding.anchor), part) - binding.lattice.tolerance
        if off > 0.0:
            yield Verdict("lattice", name, off, off, _LATTICE)
    if isinstance(lay.stock, Strip) or part.region is None:
        yield from _turned(part, place, part.turns.angles, part.turns.slack)


def _held(part: Part, place: Placement) -> Iterator[Verdict]:
    """Yield what a part lies off where it is held; campaigns hold on one sheet of a kind alone."""
    if part.held is None:
        return
    name, held = frozenset({part.name}), part.held
    turned = (Fraction(place.angle) - Fraction(held.angle)) % 360
    off = math.dist((place.x, place.y), (held.x, held.y))
    if place.flipped != held.flipped:
        yield Verdict("held", name)
    elif turned:
        yield Verdict("held", name, float(min(turned, 360 - turned)), passed=_TURN)
    elif off:
        yield Verdict("held", name, off, off, _HELD, 1e-9)


def _turned(
    part: Part, place: Placement, angles: tuple[float, ...], slack: float
) -> Iterator[Verdict]:
    whole = Fraction(360)
    ways = [(Fraction(place.angle) - Fraction(angle)) % whole for angle in angles]
    off = float(min(min(way, whole - way) for way in ways) - Fraction(slack))
    if off > 0.0:
        yield Verdict("turn", frozenset({part.name}), off, off, _TURN, 1e-9)


def _off_lattice(at: tuple[float, float], part: Part) -> float:
    """Return how far a point is from the nearest lattice point, of all within reach."""
    assert part.binding is not None
    lattice = part.binding.lattice
    x, y = (
        Fraction(at[0]) - Fraction(lattice.origin[0]),
        Fraction(at[1]) - Fraction(lattice.origin[1]),
    )
    along, across = lattice.along, lattice.across
    rows = [0] if across is None else [math.floor(y / Fraction(across)) + k for k in (-1, 0, 1, 2)]
    best: Fraction | None = None
    for row in rows:
        dy = Fraction(0) if across is None else abs(y - row * Fraction(across))
        dx = Fraction(0)
        if along is not None:
            shift = Fraction(lattice.drop) * Fraction(along) if row % 2 else Fraction(0)
            rest = (x - shift) % Fraction(along)
            dx = min(rest, Fraction(along) - rest)
        best = max(dx, dy) if best is None else min(best, max(dx, dy))
    return float(best or 0)


def _stock(
    part: Part,
    place: Placement,
    shape: Drawn,
    lies: Shape,
    marker: Marker,
    drawn: Mapping[int, Drawn],
) -> Iterator[Verdict]:
    name, stock = frozenset({part.name}), marker.lay.stock
    curve = _CHORD * shape.curved
    own = _CONTACT * shape.size + curve
    x0, y0, x1, y1 = (Fraction(v, GRID) for v in lies.box)
    if isinstance(stock, Strip):
        longest = math.inf if stock.longest is None else stock.longest
        out = max(float(-x0), float(-y0), float(y1 - Fraction(stock.width)), float(x1) - longest)
        if out > 0.0:
            yield Verdict("outside", name, out, out, own, curve + _FINE)
        if part.edge is not None:
            off = abs(float(y0 if part.edge.value == "low" else Fraction(stock.width) - y1))
            yield Verdict("edge", name, off, off, own, curve + _FINE)
        return
    sheet = stock.sheets[marker.sheets[place.sheet]]
    outline = drawn[id(sheet.outline)]
    inside, beyond = clearance(lies, outline.shape())
    edge = _CHORD * outline.curved
    passed, blur = own + edge, curve + edge + _FINE
    if beyond > 0.0:
        yield Verdict("outside", name, stock.margin + beyond, None, passed + stock.margin, blur)
    elif inside < stock.margin:
        lack = stock.margin - inside
        yield Verdict("outside", name, lack, lack, passed, blur)
    worst: Verdict | None = None
    for hole in sheet.holes:
        flaw = drawn[id(hole)]
        both = curve + _CHORD * flaw.curved
        passed = _CONTACT * shape.size + both
        met = contact(lies, flaw.shape())
        lack = stock.margin + met.deep if met.deep > 0.0 else stock.margin - met.gap
        if lack > 0.0 or (met.gap == 0.0 and met.deep > 0.0):
            exact = lack if met.gap > 0.0 else None
            found = Verdict("flaw", name, lack, exact, passed, both + _FINE)
            worst = found if worst is None or found.least > worst.least else worst
    if worst is not None:
        yield worst
    if part.region is not None:
        yield from _region(part, place, shape, lies, marker, drawn)


def _region(
    part: Part,
    place: Placement,
    shape: Drawn,
    lies: Shape,
    marker: Marker,
    drawn: Mapping[int, Drawn],
) -> Iterator[Verdict]:
    """Yield what is wrong if no region of the part's name holds all of it.

    A region's rings, holes too, are those of one drawn shape, known by its first outline.
    """
    stock = marker.lay.stock
    assert isinstance(stock, Sheets)
    name, curve = frozenset({part.name}), _CHORD * shape.curved
    regions = [r for r in stock.sheets[marker.sheets[place.sheet]].regions if r.name == part.region]
    if not regions:
        yield Verdict("region", name)
        return
    out = [clearance(lies, drawn[id(r.outlines[0])].shape())[1] for r in regions]
    least = min(out)
    if least > 0.0:
        yield Verdict("region", name, least, None, _CONTACT * shape.size + curve, curve + _FINE)
    fits = [r for r, beyond in zip(regions, out, strict=True) if beyond == least]
    turns = [r.turns or part.turns for r in fits]
    wrong = [list(_turned(part, place, t.angles, t.slack)) for t in turns]
    yield from min(wrong, key=len)


def _together(marker: Marker) -> Iterator[Verdict]:
    groups: defaultdict[tuple[str, str], list[tuple[Part, Placement]]] = defaultdict(list)
    for place in marker.placements:
        part = marker.lay.parts[place.part]
        if part.turn_group is not None:
            groups["turn_group", part.turn_group].append((part, place))
        if part.mates is not None:
            groups["mates", part.mates].append((part, place))
        if part.binding is not None and part.binding.phase is not None:
            groups["lattice", part.binding.phase].append((part, place))
    for (kind, _), members in groups.items():
        names = frozenset(part.name for part, _ in members)
        sheets = {place.sheet for _, place in members}
        if kind == "turn_group":
            ways = [abs(math.remainder(p.angle - members[0][1].angle, 360.0)) for _, p in members]
            if max(ways) > 0.0:
                yield Verdict(kind, names, max(ways), max(ways), 2.0 * _TURN, 1e-9)
        elif len(sheets) > 1:
            yield Verdict(kind, names)
        elif kind == "lattice":
            yield from _congruent(members, names)


def _congruent(members: list[tuple[Part, Placement]], names: frozenset[str]) -> Iterator[Verdict]:
    """Yield a verdict if anchors of one match aren't congruent (a drop of none or of a half)."""
    assert members[0][0].binding is not None
    lattice = members[0][0].binding.lattice
    at = [
        [Fraction(v) for v in placed(place, part.binding.anchor)]
        for part, place in members
        if part.binding is not None
    ]
    if lattice.drop:
        worst, exact = _dropped(at, lattice)
    else:
        worst = max(
            _arc([p[axis] % Fraction(period) for p in at], Fraction(period))
            for axis, period in enumerate((lattice.along, lattice.across))
            if period is not None
        )
        exact = 2.0 * worst < min(lattice.along or math.inf, lattice.across or math.inf)
    off = worst - 2.0 * lattice.tolerance
    if off > 0.0:  # `check` measures from one of the anchors: the same while all are near it
        yield Verdict("lattice", names, off, off if exact else None, 2.0 * _LATTICE)


def _arc(at: list[Fraction], period: Fraction) -> float:
    """Return the least stretch of a circle that holds them all: all but the widest gap."""
    ring = sorted(at)
    gaps = [b - a for a, b in zip(ring, [*ring[1:], ring[0] + period], strict=True)]
    return float(period - max(gaps))


def _dropped(at: list[list[Fraction]], lattice: Lattice) -> tuple[float, bool]:
    """Return how far points are from congruent at least, and whether it is just so much.

    Two points by the nearest of all lattice vectors; more of them at least as far as the
    worst two, and just so far where all are near the first.
    """
    assert lattice.along is not None
    assert lattice.across is not None
    along, across = Fraction(lattice.along), Fraction(lattice.across)

    def way(a: list[Fraction], b: list[Fraction]) -> tuple[Fraction, Fraction]:
        dx, dy = b[0] - a[0], b[1] - a[1]
        rows = [math.floor(dy / across) + k for k in (-1, 0, 1, 2)]
        ways = []
        for row in rows:
            rest = (dx - (Fraction(lattice.drop) * along if row % 2 else 0)) % along
            ways.append((min(rest, rest - along, key=abs), dy - row * across))
        return min(ways, key=lambda w: max(abs(w[0]), abs(w[1])))

    pairs = [way(a, b) for k, a in enumerate(at) for b in at[:k]]
    worst = max((max(abs(x), abs(y)) for x, y in pairs), default=Fraction(0))
    return float(worst), worst < min(along, across) / 8


def box_of(shape: Shape) -> tuple[float, float, float, float]:
    """Return a shape's box in mm."""
    x0, y0, x1, y1 = (float(Fraction(v, GRID)) for v in shape.box)
    return x0, y0, x1, y1
