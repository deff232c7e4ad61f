"""Prints: motifs centred in parts, and prints that run on from part to part across seams.

Every bound part gets an anchor that must fall on the print's lattice. For a centred
part that is its motif. A part matched to another takes the anchor that falls on the
lattice whenever the other's does: with p and q the two points that are sewn together,
both parts turned alike, its anchor is p + (other's anchor - q). Parts that are matched
among themselves only share one unknown phase of the lattice.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Mapping, Sequence

from nesting.errors import JobError
from nesting.marker.lay import Binding, Lattice
from nesting.material.material import Goods, Print
from nesting.pattern.measure import bounds
from nesting.pattern.path import Point
from nesting.pattern.piece import Hand, Piece
from nesting.planning.lay.slots import Slot
from nesting.tolerance import TOLERANCE

__all__ = ["bindings", "lattice_of", "motif_of"]

Link = tuple[int, int, Point]
"""Slot, other slot, way from the other's anchor to its own (in the parts' upright axes)."""


def lattice_of(motif: Print, *, alone: bool = False) -> Lattice:
    """Return the lattice of a print; what is centred `alone` may lie a little off it.

    What is matched to another may not: both would be off, and the seam would show it.
    """
    return Lattice(
        along=motif.along,
        across=motif.across,
        drop=motif.drop,
        origin=motif.origin,
        tolerance=motif.off_centre if alone else 0.0,
    )


def motif_of(piece: Piece) -> Point:
    """Return the point to centre a motif on: the piece's own, or the middle of what is seen."""
    if piece.motif is not None:
        return piece.motif
    x0, y0, x1, y1 = bounds(piece.sew or piece.cut)
    return (0.5 * (x0 + x1), 0.5 * (y0 + y1))


def bindings(
    slots: Sequence[Slot], cloth: Goods, *, file: str | None = None
) -> dict[int, tuple[Binding, str | None]]:
    """Return the binding of each bound slot by its index, and the group that turns alike.

    Raises
    ------
    JobError
        If matches contradict each other, or name what is not cut from this cloth.

    """
    if cloth.print is None:
        return {}
    lattice = lattice_of(cloth.print)
    links = _links(slots, cloth, file=file)
    near: defaultdict[int, list[Link]] = defaultdict(list)
    for i, j, way in links:
        near[i].append((i, j, way))
        near[j].append((j, i, (-way[0], -way[1])))
    found: dict[int, tuple[Binding, str | None]] = {}
    for group in _groups(slots, near):
        centred = [i for i in group if slots[i].cut.centred]
        anchors = _anchors(group, near, slots, lattice, file=file)
        name = _group_name(slots, group) if len(group) > 1 else None
        bound = lattice if name else lattice_of(cloth.print, alone=True)
        for i in group:
            phase = None if centred else name
            found[i] = (Binding(anchor=anchors[i], lattice=bound, phase=phase), name)
    return found


def _group_name(slots: Sequence[Slot], group: Sequence[int]) -> str:
    first = slots[group[0]]
    copy = f" {first.copies[0]}" if first.of > 1 else ""
    return f"{first.bag.name} {first.number}: {first.cut.piece}{copy} {first.hand}"


def _links(slots: Sequence[Slot], cloth: Goods, *, file: str | None) -> list[Link]:
    by_piece: defaultdict[tuple[str, int, str], list[int]] = defaultdict(list)
    for i, slot in enumerate(slots):
        by_piece[slot.bag.name, slot.number, slot.cut.piece].append(i)
    links = []
    for i, slot in enumerate(slots):
        if slot.cut.matches is None:
            continue
        own, other, theirs = slot.cut.matches
        if slot.hand is Hand.LEFT and slot.cut.match_left is not None:
            theirs = slot.cut.match_left
        there = by_piece[slot.bag.name, slot.number, other]
        if not there:
            raise JobError(
                f"{slot.cut.piece} is to match {other}, which is not cut from {cloth.name}",
                file=file,
                field=f"piece.{slot.cut.piece}",
                hint="cut both from the same cloth",
            )
        p = _point(slot, own, file=file)
        for j in _partners(i, there, slots):
            q = _point(slots[j], theirs, file=file)
            links.append((i, j, (p[0] - q[0], p[1] - q[1])))
    return links


def _partners(i: int, there: Sequence[int], slots: Sequence[Slot]) -> list[int]:
    """Return which of the other piece's slots a slot is sewn to.

    A piece matched to itself goes on to its next copy; pieces with as many copies are
    taken copy by copy, and those in pairs right to right and left to left.
    """
    slot = slots[i]
    same = [j for j in there if slots[j].hand is slot.hand or not slots[j].cut.pairs]
    if slots[there[0]].cut.piece == slot.cut.piece:
        return [j for j in same if j != i and slots[j].copies[0] == slot.copies[0] + 1]
    if all(slots[j].of == slot.of for j in same):
        return [j for j in same if slots[j].copies == slot.copies]
    return same


def _point(slot: Slot, name: str, *, file: str | None) -> Point:
    for known, point in slot.piece.points:
        if known == name:
            return point
    raise JobError(
        f'the point "{name}" is not on {slot.cut.piece} as it is cut',
        file=file,
        field=f"piece.{slot.cut.piece}",
        hint="choose a point that trimming and folding back leave on it",
    )


def _groups(slots: Sequence[Slot], near: Mapping[int, Sequence[Link]]) -> list[list[int]]:
    """Return the bound slots in groups that hang together, centred ones first."""
    bound = [i for i, slot in enumerate(slots) if slot.cut.centred or i in near]
    seen: set[int] = set()
    groups = []
    for first in bound:
        if first in seen:
            continue
        group, todo = [], [first]
        seen.add(first)
        while todo:
            i = todo.pop()
            group.append(i)
            for _, j, _ in near.get(i, ()):
                if j not in seen:
                    seen.add(j)
                    todo.append(j)
        groups.append(sorted(group, key=lambda i: (not slots[i].cut.centred, i)))
    return groups


def _anchors(
    group: Sequence[int],
    near: Mapping[int, Sequence[Link]],
    slots: Sequence[Slot],
    lattice: Lattice,
    *,
    file: str | None,
) -> dict[int, Point]:
    """Return an anchor for each slot of a group, such that all fall on the lattice at once."""
    centred = {i: motif_of(slots[i].piece) for i in group if slots[i].cut.centred}
    anchors = {group[0]: motif_of(slots[group[0]].piece)}
    todo = [group[0]]
    while todo:
        j = todo.pop()
        for _, i, way in near.get(j, ()):
            anchor = (anchors[j][0] - way[0], anchors[j][1] - way[1])
            asked = anchors.get(i, centred.get(i, anchor))
            if not _congruent(anchor, asked, lattice):
                raise JobError(
                    f"matches of the print contradict each other at {slots[i].cut.piece}",
                    file=file,
                    field=f"piece.{slots[i].cut.piece}",
                    hint="leave one of them out, or move a named point",
                )
            if i not in anchors:
                anchors[i] = asked
                todo.append(i)
    return anchors


def _congruent(first: Point, second: Point, lattice: Lattice) -> bool:
    """Whether two anchors of a part can both be on the lattice."""
    reach = 2.0 * lattice.tolerance + TOLERANCE.lattice
    dx, dy = first[0] - second[0], first[1] - second[1]
    row = 0
    if lattice.across is not None:
        row = round(dy / lattice.across)
        if abs(dy - row * lattice.across) > reach:
            return False
    if lattice.along is None:
        return True
    shift = lattice.drop * lattice.along if row % 2 else 0.0
    return abs(math.remainder(dx - shift, lattice.along)) <= reach
