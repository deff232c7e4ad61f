"""What the labels of cut parts say: which part of which bag each one is."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace

from nesting.job.job import Job
from nesting.material.material import Material, Nap
from nesting.pattern.piece import Face, Hand, Mark
from nesting.pattern.variants.variant import marks_for
from nesting.planning.lay.slots import Slot, slots_of
from nesting.planning.lay.variants import variant_words
from nesting.planning.plan import Plan
from nesting.writing.neutral.keys import Keys, job_keys
from nesting.writing.neutral.mark_words import marks_in_words
from nesting.writing.pages.report_tables import zone_words

__all__ = ["PartLabel", "part_labels"]


@dataclass(frozen=True, slots=True, kw_only=True)
class PartLabel:
    """What one label says. `side`: of a mirrored pair.

    `key`: as on all that is made from the job. `zone`: in which of its hide a leather part
    lies. `arrow`: whether the part has a grain, and `one_way` whether that has one head.
    """

    key: str
    piece: str
    bag: str
    material: str
    copy: str
    side: str
    marks: str
    arrow: bool
    one_way: bool = False
    zone: str = ""


_Part = tuple[str, str, str, int, int, Hand, str]
"""Material, bag, piece, number of the bag, copy, hand, variant: one part of a job."""


def part_labels(plan: Plan, *, only: Collection[str] | None = None) -> tuple[PartLabel, ...]:
    """Return a label for every part that is cut, bag by bag, in the order of the cutting list.

    A cut through both plies of folded cloth gives two parts, and two labels. `only`: of
    materials of these names.
    """
    job, zones = plan.job, _zones(plan)
    keys = job_keys(job)
    found: list[tuple[tuple[int, int, int], PartLabel]] = []
    for material in job.wanted(only):
        for slot in slots_of(job, material):
            key = (job.bags.index(slot.bag), slot.number, slot.line)
            hands = tuple(Hand) if slot.both_hands else (slot.hand,)
            found += [
                (key, _label(slot, material, copy=copy, hand=hand, job=job, keys=keys, zones=zones))
                for copy in slot.copies
                for hand in hands
            ]
    return tuple(label for _, label in sorted(found, key=lambda item: item[0]))


def _zones(plan: Plan) -> dict[_Part, str]:
    """Return in which zones the parts of a plan's hides lie, in words."""
    found = {}
    for entry in plan.entries:
        zones, parts = zone_words(entry), entry.marker.lay.parts
        for part in (parts[placement.part] for placement in entry.marker.placements):
            if words := zones.get(part.name):
                bag = part.design or plan.job.bags[0].name
                line = (entry.material.name, bag, part.piece.name, part.bag, part.copy)
                found[*line, part.hand, part.variant] = words
    return found


def _label(
    slot: Slot,
    material: Material,
    *,
    copy: int,
    hand: Hand,
    job: Job,
    keys: Keys,
    zones: Mapping[_Part, str],
) -> PartLabel:
    marks = marks_for(slot.piece, material=material.name, copy=copy, hand=hand)
    variant = variant_words(slot.cut)
    several = len(job.bags) > 1 or slot.bag.count > 1
    nap = slot.cut.nap or material.nap
    line = (material.name, slot.bag.name, slot.cut.piece, slot.number, copy, hand, variant)
    return PartLabel(
        key=keys.key_of(slot.cut.piece, variant, slot.bag.name),
        piece=slot.cut.piece + (f", {variant}" if variant else ""),
        bag=slot.bag.name
        + (f", size {job.size}" if job.size else "")
        + (f", bag {slot.number} of {slot.bag.count}" if several else ""),
        material=material.name,
        copy=f"{copy} of {slot.of}",
        side=hand.value if slot.cut.pairs else "",
        marks=_words(marks),
        arrow=nap is not Nap.ANY and not material.is_leather,
        one_way=nap is Nap.ONE_WAY,
        zone=zones.get(line, ""),
    )


def _words(marks: Sequence[Mark]) -> str:
    """Say what is transferred to one part: which copy, hand and face, its label says already."""
    right = [_alone(mark) for mark in marks if mark.face is not Face.WRONG]
    wrong = [_alone(mark) for mark in marks if mark.face is Face.WRONG]
    said = []
    if right:
        said.append(f"Marks: {marks_in_words(right)}")
    if wrong:
        said.append(f"Marks on the wrong side: {marks_in_words(wrong)}")
    return ". ".join(said) or "No marks"


def _alone(mark: Mark) -> Mark:
    return replace(mark, copies=None, hands=None, face=Face.RIGHT)
