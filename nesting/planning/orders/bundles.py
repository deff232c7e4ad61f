"""What comes off the table: how many of each piece a spread gives."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

from nesting.job.job import Job, Spreading
from nesting.marker.lay import Part
from nesting.pattern.piece import Hand
from nesting.pattern.variants.symmetry import is_mirror_symmetric
from nesting.planning.plan import Entry

__all__ = ["Bundle", "bundles", "faces_each_other"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Bundle:
    """A piece as it is bundled. `hand` is None where there is no right and left of it.

    `design`: the bag it is of, where a job has several.
    `drawn`: outlines of it in the marker. `cut`: parts from all plies of a spread.
    """

    piece: str
    variant: str
    hand: Hand | None
    drawn: int
    cut: int
    design: str = ""


def faces_each_other(entry: Entry, job: Job) -> bool:
    """Whether the plies of an entry's spreads lie face to face, two for each of its bags."""
    return (
        bool(entry.bags)
        and not entry.material.folded
        and job.table.spreading is Spreading.FACE_TO_FACE
    )


def bundles(entry: Entry, job: Job, *, plies: int) -> tuple[Bundle, ...]:
    """Return what one spread of `plies` gives, piece by piece, right and left apart.

    Folded cloth gives two of everything that does not lie on the fold; of a single piece
    that is not its own mirror image only one of the two can be used, and is counted.
    """
    parts = [entry.marker.lay.parts[p.part] for p in entry.marker.placements]
    paired = {
        (p.design, p.piece.name, p.variant) for p in parts if p.hand is Hand.LEFT or p.both_hands
    }
    folded = entry.material.folded
    facing = faces_each_other(entry, job)
    drawn: Counter[tuple[str, str, str, Hand | None]] = Counter()
    cut: Counter[tuple[str, str, str, Hand | None]] = Counter()
    for part in parts:
        pair = (part.design, part.piece.name, part.variant) in paired
        hands: dict[Hand | None, int]
        if part.both_hands:
            each = plies // 2 if facing else plies
            hands = {Hand.RIGHT: each, Hand.LEFT: each}
        else:
            hands = {part.hand if pair else None: plies * (_layers(part) if folded else 1)}
        for hand, count in hands.items():
            key = (part.design, part.piece.name, part.variant, hand)
            drawn[key] += 1
            cut[key] += count
    return tuple(
        Bundle(piece=piece, variant=variant, hand=hand, drawn=drawn[key], cut=count, design=design)
        for key, count in cut.items()
        for design, piece, variant, hand in (key,)
    )


def _layers(part: Part) -> int:
    """Return how many good parts one cut through folded cloth gives."""
    if part.edge is not None:
        return 1
    return 2 if is_mirror_symmetric(part.piece, turns=(0.0, 180.0)) else 1
