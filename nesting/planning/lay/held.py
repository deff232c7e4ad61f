"""Parts of a lay held where the job says, and what tells a part from all others.

A part is known by its bag, piece, variant, copy and hand: these stay what they are when its
name on the marker changes because there is one more of it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from nesting.errors import JobError
from nesting.job.job import HeldPart, Job
from nesting.marker.holding import refuse_holds
from nesting.marker.lay import Held, Lay, Part
from nesting.names import listed
from nesting.pattern.path import Affine
from nesting.pattern.piece import Hand
from nesting.tolerance import TOLERANCE

__all__ = ["PartId", "held_numbers", "held_part", "part_ids", "with_held"]

PLAIN = "plain"
"""The variant of a part that is cut as its piece is drawn."""

PartId = tuple[str, int, str, str, int, Hand, int]
"""Bag, which of them, piece, variant, copy, hand, and which of several that are so alike."""


def part_ids(parts: Sequence[Part], job: Job) -> list[PartId]:
    """Return what each part of a lay of a job is known by, whatever it is called."""
    seen: dict[tuple[object, ...], int] = {}
    found = []
    for part in parts:
        bag = part.design or job.bags[0].name
        key = (bag, part.bag, part.piece.name, part.variant, part.copy, part.hand)
        seen[key] = seen.get(key, 0) + 1
        found.append((*key, seen[key]))
    return found


def held_numbers(parts: Sequence[Part], job: Job, material: str) -> dict[int, HeldPart]:
    """Return which parts of a material's lay a job holds.

    Raises
    ------
    JobError
        There is no such part, or it isn't said which of several; says in which line.

    """
    found: dict[int, HeldPart] = {}
    for held in job.held:
        if held.material != material:
            continue
        index = _part_of(held, parts, job)
        if index in found:
            raise _refused(f"{parts[index].name} is held twice", held, job)
        found[index] = held
    return found


def with_held(lay: Lay, held: dict[int, HeldPart], job: Job) -> Lay:
    """Return a lay with parts held where a job says, if no rule is broken by that.

    Raises
    ------
    JobError
        They overlap, leave the goods, lie on a flaw or against their rules.

    """
    if not held:
        return lay
    parts = list(lay.parts)
    for index, one in held.items():
        parts[index] = replace(parts[index], held=_place(one, parts[index], lay, job))
    lay = replace(lay, parts=tuple(parts))
    try:
        refuse_holds(lay, amounts=job.amounts)
    except JobError as error:
        raise error.located(file=job.file) from None
    return lay


def held_part(part: Part, lay: Lay, job: Job) -> HeldPart:
    """Return how a job says that a part of one of its lays is held where it is."""
    held = part.held
    assert held is not None
    x, y = _corner(part, held.angle, flipped=held.flipped)
    return HeldPart(
        material=lay.name,
        piece=part.piece.name,
        at=(held.x + x, held.y + y),
        turn=held.angle,
        mirrored=held.flipped,
        copy=part.copy,
        hand=part.hand,
        variant=part.variant or PLAIN,
        bag=part.design or job.bags[0].name,
        number=max(part.bag, 1),
        on="" if lay.stock.open_ended else lay.stock.sheets[held.sheet].name,
        sheet=held.number + 1,
    )


def _part_of(held: HeldPart, parts: Sequence[Part], job: Job) -> int:
    bag = held.bag or job.bags[0].name
    some = [
        i
        for i, part in enumerate(parts)
        if part.piece.name == held.piece
        and (part.design or job.bags[0].name) == bag
        and max(part.bag, 1) == held.number
        and part.copy == held.copy
        and (held.hand is None or part.both_hands or part.hand is held.hand)
        and (not held.variant or (part.variant or PLAIN) == held.variant)
    ]
    if len(some) == 1:
        return some[0]
    what = f"{held.piece}, copy {held.copy}"
    if not some:
        raise _refused(f"no part of {held.material} is {what}", held, job)
    hands = {parts[i].hand for i in some}
    variants = [parts[i].variant or PLAIN for i in some]
    raise _refused(
        f"{len(some)} parts of {held.material} are {what}",
        held,
        job,
        hint='give hand = "left" or "right"' if len(hands) > 1 else f"variant: {listed(variants)}",
    )


def _place(held: HeldPart, part: Part, lay: Lay, job: Job) -> Held:
    turn = held.turn
    if turn is None:
        turn = 0.0 if part.turns.free or not part.turns.angles else part.turns.angles[0]
    x, y = _corner(part, turn, flipped=held.mirrored)
    kind = _kind(held, lay, job)
    return Held(
        x=held.at[0] - x,
        y=held.at[1] - y,
        angle=turn,
        flipped=held.mirrored,
        sheet=kind,
        number=held.sheet - 1,
    )


def _kind(held: HeldPart, lay: Lay, job: Job) -> int:
    if lay.stock.open_ended:
        cloth = next((one for one in job.cloths if one.name == held.material), None)
        if cloth is not None and held.on in {remnant.name for remnant in cloth.remnants}:
            raise _refused(
                f"{held.piece} can't be held on {held.on}: what lies on a remnant of cloth is laid"
                " there anew",
                held,
                job,
                hint="leave it out, or hold it on the roll",
            )
        if held.on or held.sheet != 1:
            raise _refused(f"{held.material} is cloth and has no sheets", held, job)
        return 0
    names = [sheet.name for sheet in lay.stock.sheets]
    if held.on in names:
        return names.index(held.on)
    if not held.on and len(names) == 1:
        return 0
    said = f'{held.material} has no "{held.on}"' if held.on else "it is not said on what it lies"
    raise _refused(said, held, job, hint=f"on: {listed(names)}")


def _corner(part: Part, angle: float, *, flipped: bool) -> tuple[float, float]:
    """Return the lower left corner of a part's box, turned about its origin (mm)."""
    turn = Affine.turn(angle)
    cut = part.piece.cut.transformed(turn.after(Affine.mirror()) if flipped else turn)
    points = cut.points(TOLERANCE.chord)
    return min(x for x, _ in points), min(y for _, y in points)


def _refused(what: str, held: HeldPart, job: Job, *, hint: str | None = None) -> JobError:
    return JobError(what, file=job.file, line=held.line, field="held", hint=hint)
