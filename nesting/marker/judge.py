"""The judge asked about one part: what faults it has here, among the others as they lie.

The same rules on the same outlines as `check`; only what has to do with that part is looked
at. What is known of the others is kept from one question to the next.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from nesting.amounts import METRIC, Amounts
from nesting.errors import Finding
from nesting.marker.check import clash_told, marks, outlines
from nesting.marker.contact import Solid, clashes, outline_solid
from nesting.marker.counted import copies, lies, numbers, sheets
from nesting.marker.lay import Part
from nesting.marker.marker import Marker, Placement
from nesting.marker.on_stock import stocks
from nesting.marker.rules import Laid, groups, held, held_sheets, lone_rules
from nesting.pattern.path import Affine
from nesting.pattern.piece import Piece

__all__ = ["Judge"]

_HAIR = 1.0
"""Boxes are looked at so much (mm) beyond the spacing: more than any tolerance."""


class Judge:
    """The judge of a marker whose parts are moved one at a time.

    Parameters
    ----------
    marker
        The marker to begin with, good or not.
    amounts
        The units in which findings are told (``job.amounts``; cm if not given).

    Examples
    --------
    >>> judge = Judge(marker)
    >>> nudged = replace(first, x=first.x - 1)
    >>> [finding.kind for finding in judge.faults(nudged)]
    ['outside']
    >>> judge.move(nudged)
    >>> judge.marker == spoilt
    True

    """

    def __init__(self, marker: Marker, *, amounts: Amounts = METRIC) -> None:
        self.marker = marker
        self._amounts = amounts
        self._solids: dict[int, Solid] = {}
        self._boxes: dict[int, npt.NDArray[np.float64]] = {}
        self._laid: dict[int, Laid] = {}
        self._stocks = stocks(marker, amounts)
        self._where = {p.part: i for i, p in enumerate(marker.placements)}
        reach = [self._reach(p) for p in marker.placements]
        self._reaches = np.array(reach, dtype=np.float64).reshape(-1, 4)
        self._on = np.array([p.sheet for p in marker.placements], dtype=np.int64)
        self._together: defaultdict[tuple[str, str], list[int]] = defaultdict(list)
        for index, part in enumerate(marker.lay.parts):
            for key in _groups(part):
                self._together[key].append(index)

    def faults(self, placement: Placement) -> tuple[Finding, ...]:
        """Return all that `check` would find of a part if it lay here.

        Parameters
        ----------
        placement
            Where the part (`placement.part`) is to lie; it need not be there already.

        Returns
        -------
        tuple of Finding
            Those that name the part, notes too; empty if there is nothing to say.

        """
        part = self.marker.lay.parts[placement.part]
        marker = self._with(placement)
        of_it = tuple(p for p in marker.placements if p.part == placement.part)
        alone = replace(marker, placements=of_it)
        found = [*copies(alone, only=placement.part), *numbers(alone), *sheets(alone)]
        if lies(marker, placement):
            found += self._rules(marker, placement)
        return tuple(finding for finding in found if part.name in finding.parts)

    def move(self, placement: Placement) -> None:
        """Let a part lie here from now on.

        Parameters
        ----------
        placement
            Where the part (`placement.part`) lies.

        """
        self.marker = self._with(placement)
        self._laid.pop(placement.part, None)
        at = self._where.setdefault(placement.part, len(self.marker.placements) - 1)
        if at == len(self._reaches):
            self._reaches = np.vstack([self._reaches, [self._reach(placement)]])
            self._on = np.append(self._on, placement.sheet)
        self._reaches[at], self._on[at] = self._reach(placement), placement.sheet

    def _with(self, placement: Placement) -> Marker:
        placements = list(self.marker.placements)
        if placement.part in self._where:
            placements[self._where[placement.part]] = placement
        else:
            placements.append(placement)
        return replace(self.marker, placements=tuple(placements))

    def _rules(self, marker: Marker, placement: Placement) -> Iterator[Finding]:
        amounts, lay = self._amounts, marker.lay
        one = self._lying(placement)
        yield from outlines([one])
        yield from marks([one], amounts)
        yield from lone_rules(one, amounts)
        others = [o for o in self._kin(one.part) if o.placement.part != placement.part]
        kin = sorted([one, *others], key=lambda laid: self._rank(laid.placement))
        if one.part.held is not None:
            yield from held(one, held_sheets(marker), amounts)
        yield from self._stocks(placement.sheet, [one])
        for other in self._near(one):
            pair = [one, other]
            if self._rank(other.placement) < self._rank(placement):
                pair.reverse()
            names = pair[0].name, pair[1].name
            for clash in clashes([laid.solid for laid in pair], spacing=lay.spacing):
                yield clash_told(clash, names, amounts, spacing=lay.spacing)
        yield from groups(kin, amounts, spacing=lay.spacing)

    def _near(self, one: Laid) -> Iterator[Laid]:
        """Yield the other parts on its sheet that may touch a part."""
        x0, y0, x1, y1 = one.solid.area.bounds
        room, boxes = self.marker.lay.spacing + _HAIR, self._reaches
        near = (self._on == one.placement.sheet) & (boxes[:, 0] < x1 + room)
        near &= (boxes[:, 1] < y1 + room) & (boxes[:, 2] > x0 - room) & (boxes[:, 3] > y0 - room)
        for at in np.flatnonzero(near):
            placement = self.marker.placements[int(at)]
            if placement.part != one.placement.part and lies(self.marker, placement):
                yield self._lying(placement)

    def _kin(self, part: Part) -> Sequence[Laid]:
        """Return the parts that some rule binds to a part."""
        kin = {other for key in _groups(part) for other in self._together[key]}
        at = [self.marker.placements[self._where[i]] for i in sorted(kin) if i in self._where]
        return [self._lying(placement) for placement in at if lies(self.marker, placement)]

    def _rank(self, placement: Placement) -> int:
        return self._where.get(placement.part, len(self.marker.placements))

    def _lying(self, placement: Placement) -> Laid:
        known = self._laid.get(placement.part)
        if known is None or known.placement != placement:
            part = self.marker.lay.parts[placement.part]
            solid = self._solid(part.piece).placed(placement.affine)
            known = Laid(part=part, placement=placement, solid=solid)
            self._laid[placement.part] = known
        return known

    def _solid(self, piece: Piece) -> Solid:
        if id(piece) not in self._solids:
            self._solids[id(piece)] = outline_solid(piece.cut, holes=piece.holes)
        return self._solids[id(piece)]

    def _reach(self, placement: Placement) -> tuple[float, float, float, float]:
        """Return a box (mm) that surely holds a part; one of nothing if it lies nowhere."""
        if not lies(self.marker, placement):
            return (1.0, 1.0, -1.0, -1.0)
        piece = self.marker.lay.parts[placement.part].piece
        if id(piece) not in self._boxes:
            x0, y0, x1, y1 = self._solid(piece).area.bounds
            self._boxes[id(piece)] = np.array([(x0, y0), (x1, y0), (x1, y1), (x0, y1)])
        by: Affine = placement.affine
        corners = self._boxes[id(piece)]
        xs = by.a * corners[:, 0] + by.b * corners[:, 1] + by.e
        ys = by.c * corners[:, 0] + by.d * corners[:, 1] + by.f
        return (float(xs.min()), float(ys.min()), float(xs.max()), float(ys.max()))


def _groups(part: Part) -> Iterator[tuple[str, str]]:
    """Yield the groups of parts that a part is judged with."""
    if part.binding is not None and part.binding.phase is not None:
        yield "phase", part.binding.phase
    if part.turn_group is not None:
        yield "turn", part.turn_group
    if part.mates is not None:
        yield "mates", part.mates
    if part.match is not None:
        yield "match", part.match
