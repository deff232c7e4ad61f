"""Plies face to face: what one marker gives when every other ply is turned over.

Two plies are the unit. Each outline of the marker is cut once in a ply that lies right
side up and once in one that is turned over, whose part is the mirror image. So

- of a mirrored pair one outline a bag is drawn, whichever hand: the two plies give both;
- of a piece that is its own mirror image one outline serves two, so half of them are
  drawn, and their number has to be even;
- a single piece that is not its own mirror image can't be cut so at all.

Source: what F/F does to hands is common practice, no source; that plies come in twos
follows from it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import groupby

from nesting.errors import JobError
from nesting.job.job import Job
from nesting.material.material import Cloth, Goods
from nesting.pattern.piece import Hand, Mark
from nesting.planning.lay.slots import Slot
from nesting.planning.lay.variants import ready, serves_both_plies, with_marks

__all__ = ["drawn_once", "marked_for_one", "needs_even", "refuse_face_to_face"]


def refuse_face_to_face(slots: Sequence[Slot], cloth: Cloth, *, job: Job) -> None:
    """Raise a `JobError` if something can't be cut from plies that lie face to face."""
    if cloth.print is not None and not cloth.fold_print:
        raise JobError(
            f"{cloth.name} is printed: spread face to face its print can't be seen, and falls "
            "differently on the two plies",
            file=job.file,
            field="table.spreading",
            hint="spread it face one way, or say fold_print = true if that does not matter",
        )
    for slot in slots:
        if not slot.cut.pairs and not serves_both_plies(slot.piece, slot.cut, cloth):
            raise JobError(
                f"{slot.cut.piece} of {slot.bag.name} is not its own mirror image: from plies of "
                f"{cloth.name} face to face half of them would come out mirrored",
                file=job.file,
                field="table.spreading",
                hint="spread face one way, or cut it in pairs",
            )


def marked_for_one(job: Job, cloth: Cloth) -> list[str]:
    """Return the pieces cut in pairs that have a mark for one hand, which no pair can carry."""
    return [
        piece.name
        for bag in job.bags
        for cut in bag.cuts
        for piece in bag.pieces
        if cut.pairs and cut.piece == piece.name and cut.material == cloth.name
        if any(_for_one(mark, cloth) for mark in piece.marks)
    ]


def _for_one(mark: Mark, cloth: Cloth) -> bool:
    here = mark.materials is None or cloth.name in mark.materials
    return here and mark.hands is not None and len(set(mark.hands)) == 1


def needs_even(slots: Sequence[Slot]) -> bool:
    """Whether one bag's slots can be cut from two plies only for an even number of bags."""
    return any(odd for _, odd in _odd_lines(slots))


def _odd_lines(slots: Sequence[Slot]) -> Iterator[tuple[int, bool]]:
    for line, same in groupby(slots, key=lambda slot: slot.line):
        of = list(same)
        # Marks for chosen copies: a copy can share its outline only with its like.
        marked = any(m.copies is not None for slot in of for m in slot.piece.marks)
        yield line, not of[0].cut.pairs and (len(of) % 2 == 1 or marked)


def drawn_once(slots: Sequence[Slot], cloth: Goods) -> list[Slot]:
    """Return what a marker holds whose two plies give all of `slots`.

    Hands alternate where a pair is drawn more than once, for they nest into each other.
    """
    drawn: list[Slot] = []
    ordered = sorted(slots, key=lambda s: (id(s.bag), s.line))
    for _, same in groupby(ordered, key=lambda s: (id(s.bag), s.line)):
        of = list(same)
        if of[0].cut.pairs:
            drawn += _pairs(of, cloth)
        else:
            drawn += _singles(of, cloth)
    return drawn


def _pairs(slots: Sequence[Slot], cloth: Goods) -> Iterator[Slot]:
    """Yield one slot for each right and its left, in one of the two hands."""
    rights = [slot for slot in slots if slot.hand is Hand.RIGHT]
    lefts = [slot for slot in slots if slot.hand is Hand.LEFT]
    for i, (right, left) in enumerate(zip(rights, lefts, strict=True)):
        yield replace((right, left)[i % 2], both_hands=True)


def _singles(slots: Sequence[Slot], cloth: Goods) -> Iterator[Slot]:
    """Yield one slot for every two: two of the same copy of two bags, or two copies of one."""
    by_copy = sorted(slots, key=lambda s: (s.copies, s.number))
    bags = {slot.number for slot in slots}
    paired = by_copy if len(bags) % 2 == 0 else sorted(slots, key=lambda s: (s.number, s.copies))
    for first, second in zip(paired[::2], paired[1::2], strict=True):
        copies = tuple(dict.fromkeys((*first.copies, *second.copies)))
        piece = first.piece
        if copies != first.copies:
            whole = {p.name: p for p in first.bag.pieces}[first.cut.piece]
            shape = ready(whole, first.cut, cloth, hand=first.hand)
            piece = with_marks(shape, cloth.name, copies=copies, hands=(first.hand,))
        yield replace(first, piece=piece, copies=copies)
