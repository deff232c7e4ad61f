"""The stock in order for what is held on it, and markers carried there and back.

The sheets that something is held on come first; a match of a print that something held
belongs to is no longer free to fall anywhere.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from nesting.marker.holding import placement_of
from nesting.marker.lay import Binding, Lay, Part, Sheet
from nesting.marker.marker import Marker, Placement
from nesting.marker.rules import lattice_miss

__all__ = ["HeldFirst", "held_first"]


@dataclass(frozen=True, slots=True, kw_only=True)
class HeldFirst:
    """A lay with the sheets in front that something is held on, and what they were.

    `kinds`: the place of each sheet in the whole lay's stock.
    """

    whole: Lay
    lay: Lay
    kinds: tuple[int, ...]
    held_on: tuple[tuple[int, int], ...]

    def inward(self, marker: Marker) -> Marker:
        """Return a marker of the whole lay as one of the lay in order, held parts in place.

        The sheets that something is held on come first.
        """
        if self.whole.stock.open_ended:
            return replace(marker, lay=self.lay, placements=self._in_place(marker, {}))
        number: dict[int, int] = {}
        kept = {p.part: p.sheet for p in marker.placements}
        for n, place in enumerate(self.held_on):
            held = [i for i, p in enumerate(self.whole.parts) if _on(p, place) and i in kept]
            some = [kept[i] for i in held if marker.sheets[kept[i]] == place[0]]
            some += [s for s, kind in enumerate(marker.sheets) if kind == place[0]]
            free = [s for s in some if s not in number]
            if free:
                number[free[0]] = n
        first = len(self.held_on)
        rest = [s for s in range(len(marker.sheets)) if s not in number]
        sheets = list(range(first))
        for s in rest:
            kind = marker.sheets[s]
            number[s] = len(sheets)
            at = next((n for n, k in enumerate(self.kinds) if n >= first and k == kind), None)
            if at is None:
                number.pop(s)
                continue
            sheets.append(at)
        placements = self._in_place(marker, number)
        return Marker(lay=self.lay, placements=placements, sheets=tuple(sheets))

    def _in_place(self, marker: Marker, number: dict[int, int]) -> tuple[Placement, ...]:
        """Return placements on sheets of new numbers, those of held parts as they are held."""
        cloth = self.whole.stock.open_ended
        out = [
            p if cloth else replace(p, sheet=number[p.sheet])
            for p in marker.placements
            if self.lay.parts[p.part].held is None and (cloth or p.sheet in number)
        ]
        for i, part in enumerate(self.lay.parts):
            if part.held is not None:
                out.append(placement_of(i, part.held, sheet=part.held.sheet))
        return tuple(sorted(out, key=lambda p: p.part))

    def outward(self, marker: Marker) -> Marker:
        """Return a marker of the lay in order as one of the whole lay, holds to the last digit."""
        placements = tuple(
            p
            if (held := self.whole.parts[p.part].held) is None
            else placement_of(p.part, held, sheet=p.sheet)
            for p in marker.placements
        )
        sheets = tuple(self.kinds[kind] for kind in marker.sheets)
        return Marker(lay=self.whole, placements=placements, sheets=sheets)


def _on(part: Part, place: tuple[int, int]) -> bool:
    return part.held is not None and (part.held.sheet, part.held.number) == place


def held_first(lay: Lay) -> HeldFirst:
    """Return a lay whose held parts break no rule, made ready for the search."""
    cloth = lay.stock.open_ended
    places = sorted({(p.held.sheet, p.held.number) for p in lay.parts if p.held is not None})
    held_on = () if cloth else tuple(places)
    parts = [_settled(part, held_on) for part in _matched(lay)]
    if lay.stock.open_ended:
        whole = replace(lay, parts=tuple(parts))
        return HeldFirst(whole=lay, lay=whole, kinds=(), held_on=())
    # What something is held on is opened in any case.
    free = {lay.stock.sheets[kind].origin for kind, _ in held_on} - {None}
    stocked = [replace(s, cost=0.0) if s.origin in free else s for s in lay.stock.sheets]
    sheets: list[Sheet] = []
    kinds: list[int] = []
    for kind, _ in held_on:
        origin = stocked[kind].origin
        alone = -1 - len(sheets) if origin is None and stocked[kind].cost else origin
        sheets.append(replace(stocked[kind], count=1, cost=0.0, origin=alone))
        kinds.append(kind)
    for kind, sheet in enumerate(stocked):
        left = None if sheet.count is None else sheet.count - kinds[: len(held_on)].count(kind)
        if left is None or left > 0:
            sheets.append(replace(sheet, count=left))
            kinds.append(kind)
    stock = replace(lay.stock, sheets=tuple(sheets))
    whole = replace(lay, parts=tuple(parts), stock=stock)
    return HeldFirst(whole=lay, lay=whole, kinds=tuple(kinds), held_on=held_on)


def _settled(part: Part, held_on: tuple[tuple[int, int], ...]) -> Part:
    """Return a held part without the rules that its place has met."""
    held = part.held
    if held is None:
        return part
    sheet = held_on.index((held.sheet, held.number)) if held_on else 0
    return replace(part, held=replace(held, sheet=sheet, number=0), binding=None, edge=None)


def _matched(lay: Lay) -> list[Part]:
    """Return the parts, those of a match that something held belongs to on the repeat it has."""
    anchors: dict[str, list[tuple[float, float]]] = {}
    for part in lay.parts:
        binding, held = part.binding, part.held
        if binding is not None and binding.phase is not None and held is not None:
            anchor = placement_of(0, held).affine(binding.anchor)
            anchors.setdefault(binding.phase, []).append(anchor)
    return [_fallen(part, anchors, cloth=lay.stock.open_ended) for part in lay.parts]


def _fallen(part: Part, anchors: dict[str, list[tuple[float, float]]], *, cloth: bool) -> Part:
    """Return a part of a match as one that is bound to where the print falls by now."""
    binding = part.binding
    if binding is None or binding.phase is None or binding.phase not in anchors:
        return part
    first, *_ = held = anchors[binding.phase]
    grid = replace(binding.lattice, origin=first)
    misses = np.array([lattice_miss(anchor, grid) for anchor in held])
    middle = np.array(first) + 0.5 * (misses.min(axis=0) + misses.max(axis=0))
    origin = (float(middle[0]), float(middle[1]))
    bound = Binding(anchor=binding.anchor, lattice=replace(grid, origin=origin))
    mates = part.mates if cloth or part.mates is not None else f"match {binding.phase}"
    return replace(part, binding=bound, mates=mates)
