"""One slot for everything that a job cuts from one material, before it is named."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, replace

from nesting.job.job import Bag, Cut, Job
from nesting.marker.lay import Edge
from nesting.material.material import Goods, Material
from nesting.pattern.piece import Hand, Mark, Piece
from nesting.pattern.variants.fold import halved
from nesting.pattern.variants.variant import marks_for
from nesting.planning.lay.variants import (
    lies_on_fold,
    ready,
    serves_both_plies,
    variant_words,
    with_marks,
)

__all__ = ["Had", "PartKey", "Slot", "slots_of"]

PartKey = tuple[str, str, int, Hand]
"""What tells a part from the others of its bag: piece, variant, copy, hand."""

Had = Mapping[str, Collection[PartKey]]
"""Parts that bags have already, by the bag's name: they are not cut again."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Slot:
    """One thing to lay: which bag it is for, which line of the cutting list, what is cut.

    `copies`: the numbers of the copies that it gives, two where one cut through both
    plies of folded cloth serves two. `of`: how many copies the line has (in this bag).
    `spare`: the second ply gives one that its bag has no use for, but another has:
    `other_bag`.
    `both_hands`: it gives a right and a left at once. `edge`: it is a half on the fold.
    `bit`: which one it is of the `bits` that the piece is put together from.
    """

    bag: Bag
    number: int
    line: int
    cut: Cut
    piece: Piece
    copies: tuple[int, ...]
    spare: bool = False
    other_bag: int | None = None
    hand: Hand = Hand.RIGHT
    both_hands: bool = False
    edge: Edge | None = None
    bit: str = ""
    bits: int = 1

    @property
    def of(self) -> int:
        """How many copies the line of the cutting list has per bag."""
        return self.cut.copies


def slots_of(job: Job, material: Material, *, had: Had | None = None) -> list[Slot]:
    """Return a slot for everything that is cut from a material, bag by bag; not what it `had`."""
    found: list[Slot] = []
    for bag in job.bags:
        pieces = {piece.name: piece for piece in bag.pieces}
        lines = [
            (i, cut, pieces[cut.piece])
            for i, cut in enumerate(bag.cuts)
            if cut.material == material.name
        ]
        once = [slot for i, cut, piece in lines for slot in _slots(bag, i, cut, piece, material)]
        if had and bag.name in had:
            once = [slot for slot in once if _key(slot) not in had[bag.name]]
        for n in range(1, bag.count + 1):
            other = n + 1 if n % 2 and n < bag.count else None
            for slot in once:
                if not slot.spare:
                    found.append(replace(slot, number=n))
                elif n % 2:  # that of an even bag comes from the second ply of the one before
                    found.append(replace(slot, number=n, other_bag=other))
    return found


def _key(slot: Slot) -> PartKey:
    return (slot.cut.piece, variant_words(slot.cut), slot.copies[0], slot.hand)


def _is_matched(bag: Bag, cut: Cut) -> bool:
    """Whether the print runs on from a piece to another, or from another to it."""
    others = (c.matches[1] for c in bag.cuts if c.matches and c.material == cut.material)
    return cut.matches is not None or cut.piece in others


def _slots(bag: Bag, line: int, cut: Cut, piece: Piece, material: Material) -> Iterator[Slot]:
    """Yield the slots of one line of the cutting list for one bag."""
    edge: Edge | None = None
    hands = cut.hands
    shapes = {hand: ready(piece, cut, material, hand=hand) for hand in hands}
    copies: list[tuple[int, ...]] = [(copy,) for copy in range(1, cut.copies + 1)]
    both = paired = False
    if material.folded:
        shape = shapes[hands[0]]
        if cut.pairs:
            hands, both = (Hand.RIGHT,), True
        elif lies_on_fold(shape):
            edge, shapes = Edge.LOW, {hands[0]: halved(shape)}
        elif serves_both_plies(shape, cut, material):
            # What is centred, or matched across a seam, stays with its bag.
            paired = not (cut.centred or _is_matched(bag, cut))
            copies = _in_twos(shape, cut, material)
    for numbers in copies:
        for hand in hands:
            yield Slot(
                bag=bag,
                number=1,
                line=line,
                cut=cut,
                piece=with_marks(
                    shapes[hand],
                    material.name,
                    copies=numbers,
                    hands=tuple(Hand) if both else (hand,),
                ),
                copies=numbers,
                spare=paired and len(numbers) == 1,
                hand=hand,
                both_hands=both,
                edge=edge,
            )


def _in_twos(piece: Piece, cut: Cut, material: Goods) -> list[tuple[int, ...]]:
    """Return the copies in twos that one cut through both plies gives: they carry the same marks.

    What is marked goes through both plies, or is on none.
    """
    alike: dict[tuple[Mark, ...], list[int]] = {}
    for copy in range(1, cut.copies + 1):
        marks = marks_for(piece, material=material.name, copy=copy, hand=cut.hands[0])
        alike.setdefault(marks, []).append(copy)
    twos = [tuple(same[k : k + 2]) for same in alike.values() for k in range(0, len(same), 2)]
    return sorted(twos)
