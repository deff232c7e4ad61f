"""The rules of a lay that need no areas: turns, flips, the print's repeat, edges, groups."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import product

import numpy as np
import shapely

from nesting.amounts import Amounts
from nesting.errors import Finding, Severity
from nesting.marker.contact import Solid
from nesting.marker.lay import Binding, Edge, Lattice, Part, Turns
from nesting.marker.marker import Marker, Placement
from nesting.pattern.path import Point
from nesting.tolerance import TOLERANCE

__all__ = [
    "Laid",
    "angle_between",
    "edge",
    "flip",
    "groups",
    "held",
    "held_sheets",
    "lattice_miss",
    "lone_rules",
    "turn",
]

Bounds = tuple[float, float, float, float]

_CLOSE = 20.0
"""Mates that lie no more than this (mm) beyond the spacing apart lie close together."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Laid:
    """A part where it lies: its placement and its area in the stock's coordinates."""

    part: Part
    placement: Placement
    solid: Solid

    @property
    def name(self) -> str:
        """The part's name."""
        return self.part.name

    @property
    def centre(self) -> Point:
        """The middle of its bounding box (mm)."""
        x0, y0, x1, y1 = self.solid.area.bounds
        return (0.5 * (x0 + x1), 0.5 * (y0 + y1))


def angle_between(first: float, second: float) -> float:
    """Return the angle between two directions, 0…180 degrees."""
    return abs(math.remainder(first - second, 360.0))


def lone_rules(laid: Laid, amounts: Amounts) -> Iterator[Finding]:
    """Yield what is wrong with one part wherever the others lie: flip, lattice."""
    yield from flip(laid)
    binding = laid.part.binding
    if binding is not None and binding.phase is None:
        yield from _off_lattice(laid, binding, amounts)


def turn(laid: Laid, turns: Turns) -> Iterator[Finding]:
    """Yield a finding if a part lies at none of the turns; the amount is beyond the slack."""
    if turns.free:
        return
    angle = laid.placement.angle
    off = min((angle_between(angle, a) for a in turns.angles), default=180.0) - turns.slack
    if off > TOLERANCE.turn:
        allowed = ", ".join(f"{a:g}°" for a in turns.angles) or "none"
        slack = f" ± {turns.slack:g}°" if turns.slack else ""
        yield Finding(
            kind="turn",
            text=f"{laid.name} is turned by {angle % 360.0:.6g}°; allowed is {allowed}{slack}",
            parts=(laid.name,),
            amount=off,
            at=laid.centre,
        )


def flip(laid: Laid) -> Iterator[Finding]:
    """Yield a finding if a part lies face down that may not."""
    if laid.placement.flipped and not laid.part.flip:
        yield Finding(
            kind="flip",
            text=f"{laid.name} lies face down and may not be flipped",
            parts=(laid.name,),
            at=laid.centre,
        )


def edge(laid: Laid, stock: Bounds, amounts: Amounts) -> Iterator[Finding]:
    """Yield a finding if a part is off the edge of the stock that it must touch."""
    if laid.part.edge is None:
        return
    _, low, _, high = laid.solid.area.bounds
    gap = low - stock[1] if laid.part.edge is Edge.LOW else stock[3] - high
    if abs(gap) > laid.solid.own:
        yield Finding(
            kind="edge",
            text=f"{laid.name} lies {amounts.fine(abs(gap))} off the {laid.part.edge} edge"
            " that it must touch",
            parts=(laid.name,),
            amount=abs(gap),
            at=laid.centre,
        )


def held_sheets(marker: Marker) -> dict[tuple[int, int], int]:
    """Return on which of a marker's sheets each kind and number is that something is held on.

    Which of a kind is which, the parts that are held on it tell: the first of them does.
    """
    found: dict[tuple[int, int], int] = {}
    for placement in marker.placements:
        if not 0 <= placement.part < len(marker.lay.parts):
            continue
        hold, sheet = marker.lay.parts[placement.part].held, placement.sheet
        if hold is None or sheet in found.values():
            continue
        if marker.lay.stock.open_ended or marker.sheets[sheet : sheet + 1] == (hold.sheet,):
            found.setdefault((hold.sheet, hold.number), sheet)
    return found


def held(one: Laid, sheets: Mapping[tuple[int, int], int], amounts: Amounts) -> Iterator[Finding]:
    """Yield a finding if a part lies elsewhere, or otherwise, than it is held.

    `sheets`: what `held_sheets` says.
    """
    hold, lies = one.part.held, one.placement
    if hold is None:
        return
    off = math.hypot(lies.x - hold.x, lies.y - hold.y)
    turned = angle_between(lies.angle, hold.angle)
    told: tuple[str, float | None] | None = None
    if sheets.get((hold.sheet, hold.number)) != lies.sheet:
        told = "lies on another sheet than the one it is held on", None
    elif lies.flipped != hold.flipped:
        told = "lies the other side up than it is held", None
    elif turned > TOLERANCE.turn:
        told = f"is turned by {turned:.6g}° from how it is held", turned
    elif off > TOLERANCE.held:
        told = f"lies {amounts.fine(off)} from where it is held", off
    if told is not None:
        text, amount = f"{one.name} {told[0]}", told[1]
        yield Finding(kind="held", text=text, parts=(one.name,), amount=amount, at=one.centre)


def lattice_miss(point: Point, lattice: Lattice) -> Point:
    """Return the way from the nearest lattice point to a point (mm along, mm across).

    Nearest by the longer of the two ways; an axis without a repeat is never off.
    """
    x, y = point[0] - lattice.origin[0], point[1] - lattice.origin[1]
    if lattice.across is None:
        return (_from_multiple(x, lattice.along), 0.0)
    row = math.floor(y / lattice.across)
    misses = [
        (
            _from_multiple(x - _shift(lattice, j), lattice.along),
            y - j * lattice.across,
        )
        for j in range(row - 1, row + 3)
    ]
    return min(misses, key=lambda miss: max(abs(miss[0]), abs(miss[1])))


def groups(laid: Sequence[Laid], amounts: Amounts, *, spacing: float) -> Iterator[Finding]:
    """Yield what is wrong between parts that belong together: phase, turn group, mates, match."""
    for phase, members in _grouped(laid, lambda part: part.binding.phase if part.binding else None):
        yield from _phase(phase, members, amounts)
    for group, members in _grouped(laid, lambda part: part.turn_group):
        yield from _same_turn(group, members)
    for mates, members in _grouped(laid, lambda part: part.mates):
        yield from _near(mates, members, amounts, spacing=spacing)
    for _, members in _grouped(laid, lambda part: part.match):
        yield from _repeats_apart(members, amounts, spacing=spacing)


def _grouped(
    laid: Sequence[Laid], key: Callable[[Part], str | None]
) -> Iterator[tuple[str, list[Laid]]]:
    found: defaultdict[str, list[Laid]] = defaultdict(list)
    for one in laid:
        name = key(one.part)
        if name is not None:
            found[name].append(one)
    return ((name, members) for name, members in found.items() if len(members) > 1)


def _anchor(laid: Laid, binding: Binding) -> Point:
    return laid.placement.affine(binding.anchor)


def _off_lattice(laid: Laid, binding: Binding, amounts: Amounts) -> Iterator[Finding]:
    lattice = binding.lattice
    anchor = _anchor(laid, binding)
    dx, dy = lattice_miss(anchor, lattice)
    off = max(abs(dx), abs(dy)) - lattice.tolerance
    if off > TOLERANCE.lattice:
        yield Finding(
            kind="lattice",
            text=f"{laid.name} lies {amounts.fine(dx)} along and {amounts.fine(dy)} across off the"
            f" print's repeat; {amounts.fine(lattice.tolerance)} is allowed",
            parts=(laid.name,),
            amount=off,
            at=anchor,
        )


def _phase(phase: str, members: Sequence[Laid], amounts: Amounts) -> Iterator[Finding]:
    """Yield a finding if no shift of the repeat serves all anchors at once."""
    names = tuple(one.name for one in members)
    bindings = [one.part.binding for one in members if one.part.binding is not None]
    lattice = bindings[0].lattice
    anchors = [_anchor(one, b) for one, b in zip(members, bindings, strict=True)]
    if any(one.placement.sheet != members[0].placement.sheet for one in members):
        yield Finding(
            kind="lattice",
            text=f"the parts of match {phase!r} lie on different sheets, where the print falls"
            " differently",
            parts=names,
        )
        return
    slack = max(b.lattice.tolerance for b in bindings)
    apart = _spread(anchors, lattice) - 2.0 * slack
    if any(_repeat(b.lattice) != _repeat(lattice) for b in bindings):
        text = f"the parts of match {phase!r} are bound to different repeats"
        yield Finding(kind="lattice", text=text, parts=names, at=anchors[0])
    elif apart > 2.0 * TOLERANCE.lattice:
        yield Finding(
            kind="lattice",
            text=f"the print misses by {amounts.fine(apart + 2.0 * slack)} between the parts of"
            f" match {phase!r}; {amounts.fine(2.0 * slack)} is allowed",
            parts=names,
            amount=apart,
            at=anchors[-1],
        )


def _repeat(lattice: Lattice) -> tuple[float | None, float | None, float]:
    return lattice.along, lattice.across, lattice.drop


def _spread(anchors: Sequence[Point], lattice: Lattice) -> float:
    """Return how far anchors are from congruent (mm, the longer way).

    Measured from each of them in turn, as if it lay on an even or an odd row: from one of
    them none of the others is half a repeat off, where a way would change its sign.
    """
    least = math.inf
    for (x, y), row in product(anchors, (0, 1)):
        origin = (x - _shift(lattice, row), y - row * (lattice.across or 0.0))
        misses = [lattice_miss(anchor, replace(lattice, origin=origin)) for anchor in anchors]
        along, across = [miss[0] for miss in misses], [miss[1] for miss in misses]
        least = min(least, max(max(along) - min(along), max(across) - min(across)))
    return least


def _shift(lattice: Lattice, row: int) -> float:
    return lattice.drop * lattice.along if lattice.along is not None and row % 2 else 0.0


def _from_multiple(value: float, period: float | None) -> float:
    return 0.0 if period is None else math.remainder(value, period)


def _same_turn(group: str, members: Sequence[Laid]) -> Iterator[Finding]:
    first = members[0].placement.angle
    off = max(angle_between(one.placement.angle, first) for one in members)
    if off > 2.0 * TOLERANCE.turn:
        yield Finding(
            kind="turn_group",
            text=f"the parts of {group!r} must keep the same turn and differ by {off:.6g}°",
            parts=tuple(one.name for one in members),
            amount=off,
        )


def _near(
    mates: str, members: Sequence[Laid], amounts: Amounts, *, spacing: float
) -> Iterator[Finding]:
    names = tuple(one.name for one in members)
    sheets = {one.placement.sheet for one in members}
    if len(sheets) > 1:
        text = f"the parts of {mates!r} belong on one sheet and lie on {len(sheets)}"
        yield Finding(kind="mates", text=text, parts=names, amount=float(len(sheets)))
        return
    for apart, one, other in _links(members):
        if apart > spacing + _CLOSE:
            yield Finding(
                kind="mates",
                severity=Severity.NOTE,
                text=f"{one.name} and {other.name} belong close together and lie"
                f" {amounts.size(apart)} apart",
                parts=(one.name, other.name),
                amount=apart,
                at=one.centre,
            )


def _repeats_apart(
    members: Sequence[Laid], amounts: Amounts, *, spacing: float
) -> Iterator[Finding]:
    """Yield a note on parts that match and lie more than a repeat apart, or on two sheets."""
    bindings = [one.part.binding for one in members if one.part.binding is not None]
    step = bindings[0].lattice.step if bindings else math.inf
    on: defaultdict[int, list[Laid]] = defaultdict(list)
    for one in members:
        on[one.placement.sheet].append(one)
    for some in on.values():
        for apart, one, other in _links(some):
            if apart > spacing + step:
                yield Finding(
                    kind="match",
                    severity=Severity.NOTE,
                    text=f"{one.name} and {other.name} of one match lie {amounts.size(apart)}"
                    f" apart, {apart / step:.1f} repeats: see that the print still runs on",
                    parts=(one.name, other.name),
                    amount=apart / step,
                    at=one.centre,
                )
    first, *others = on.values()
    for some in others:
        pair = first[0].name, some[0].name
        text = f"{pair[0]} and {pair[1]} of one match lie on different sheets"
        yield Finding(kind="match", severity=Severity.NOTE, text=text, parts=pair)


def _links(members: Sequence[Laid]) -> Iterator[tuple[float, Laid, Laid]]:
    """Yield the shortest distances (mm) that link all members (R. C. Prim 1957)."""
    areas = np.array([one.solid.area for one in members], dtype=object)
    left = list(range(1, len(members)))
    near = shapely.distance(areas, areas[0])
    link = [0] * len(members)
    while left:
        i = min(left, key=lambda n: near[n])
        yield float(near[i]), members[link[i]], members[i]
        left.remove(i)
        for n in left:
            if (gap := shapely.distance(areas[i], areas[n])) < near[n]:
                near[n], link[n] = gap, i
