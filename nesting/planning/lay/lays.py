"""From a job to its lays: one problem for each material, every rule of the trade as data."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace

from nesting.errors import JobError
from nesting.job.job import Job
from nesting.limits import LONGEST, MOST_LAID
from nesting.marker.lay import Binding, Lay, Part, Sheets, Strip, Turns
from nesting.material.material import Goods, Grade, Material, Nap, Width
from nesting.pattern.measure import area
from nesting.pattern.piece import Hand
from nesting.planning.lay.face_to_face import drawn_once, refuse_face_to_face
from nesting.planning.lay.ground import Asked, on_known_grain, region_name, slack_asked, stock_of
from nesting.planning.lay.held import held_numbers, with_held
from nesting.planning.lay.piecing import pieced_slots
from nesting.planning.lay.poorer import held_to
from nesting.planning.lay.prints import bindings
from nesting.planning.lay.sheet_loads import on_bed
from nesting.planning.lay.slots import Had, Slot, slots_of
from nesting.planning.lay.too_big import refuse_too_big, too_big
from nesting.planning.lay.turns import flips, turns_of
from nesting.planning.lay.variants import variant_words
from nesting.quantity import Unit

__all__ = ["lays", "too_big"]

_ANY_ZONE = Grade.D


def lays(
    job: Job,
    *,
    only: Collection[str] | None = None,
    widths: Mapping[str, Width] | None = None,
    face_to_face: bool = False,
    sparing: float | None = None,
    had: Had | None = None,
) -> tuple[Lay, ...]:
    """Return the lay of each material that something is cut from, in the job's order.

    Parameters
    ----------
    job
        What is to be made.
    only
        Names of the materials wanted; None is all.
    widths
        The width to lay a cloth on, by the cloth's name; the first on sale otherwise.
    face_to_face
        The lays are such that two plies face to face give everything, for single cloth.
    sparing
        On hides parts are held to the poorest grade that they accept, until leather of that
        grade is filled to this share.
    had
        Parts that bags have already.

    Raises
    ------
    JobError
        If a piece fits none of a material's widths, sheets or hides, if matches of a
        print contradict each other, or if no motif lies where a piece can be cut.

    """
    made = (
        _lay(
            job,
            material,
            width=(widths or {}).get(material.name),
            twice=face_to_face,
            sparing=sparing,
            had=had,
        )
        for material in job.wanted(only)
    )
    return tuple(lay for lay in made if lay is not None)


def _lay(
    job: Job,
    material: Material,
    *,
    width: Width | None,
    twice: bool,
    sparing: float | None,
    had: Had | None,
) -> Lay | None:
    slots = slots_of(job, material, had=had)
    if not slots:
        return None
    if twice and material.taken_in is Unit.LENGTH and not material.folded:
        refuse_face_to_face(slots, material, job=job)
        slots = drawn_once(slots, material)
    asked = [region for slot in slots if (region := _region(slot, material)) is not None]
    stock = stock_of(material, width=width, regions=asked)
    slots = pieced_slots(slots, stock, material, bed=_load(job, material))
    if len(slots) > MOST_LAID:
        raise JobError(
            f"{len(slots)} parts of {material.name} in one lay, at most {MOST_LAID} go into one",
            file=job.file,
            hint="make fewer bags at once, or plan them with order",
        )
    wishes = [_region(slot, material) for slot in slots]
    parts = _parts(slots, material, wishes, job=job)
    kept = held_numbers(parts, job, material.name)
    if not stock.open_ended:
        parts = on_known_grain(parts, material)
    if material.is_leather and sparing is not None:
        poorer = held_to(wishes, slots, material, fill=sparing)
        stock = stock_of(material, width=width, regions=[a for a in (*asked, *poorer) if a])
        parts = _in_poorer(parts, poorer, stock, but=kept)
    lay = Lay(
        name=material.name,
        parts=parts,
        stock=stock,
        spacing=material.spacing + _room_for_drift(parts, material),
    )
    refuse_too_big(lay, material, job=job)
    _refuse_endless(lay, job)
    return with_held(on_bed(lay, job), kept, job)


def _refuse_endless(lay: Lay, job: Job) -> None:
    """Refuse parts that take more cloth than any roll has, however tightly they lie."""
    if not lay.stock.open_ended:
        return
    least = sum(area(part.piece.cut) for part in lay.parts) / lay.stock.width
    if least > LONGEST:
        raise JobError(
            f"the parts of {lay.name} need more than 1 km of cloth",
            file=job.file,
            hint="make fewer bags at once, or check the sizes of the pieces",
        )


def _in_poorer(
    parts: tuple[Part, ...],
    poorer: Sequence[Asked | None],
    stock: Strip | Sheets,
    *,
    but: Collection[int],
) -> tuple[Part, ...]:
    """Return the parts in the regions that they are held to, but for those that fit none there.

    `but`: numbers of parts that stay in their own.
    """
    moved = tuple(
        replace(part, region=None if asked is None else region_name(asked))
        for part, asked in zip(parts, poorer, strict=True)
    )
    fit_none = {big.part for big in too_big(Lay(name="", parts=moved, stock=stock))}
    return tuple(parts[i] if i in fit_none or i in but else part for i, part in enumerate(moved))


def _room_for_drift(parts: Sequence[Part], material: Material) -> float:
    """Return how much further apart parts lie, so that each can be moved onto its motif (mm)."""
    if material.print is None:
        return 0.0
    bound = any(part.binding is not None for part in parts)
    return 2.0 * material.print.drift if bound else 0.0


def _load(job: Job, material: Material) -> tuple[float, float] | None:
    """Return how long and wide a part may be to fit a load of the bed (mm)."""
    bed = job.table.bed
    return None if bed is None else (bed[0] - material.spacing, bed[1] - material.spacing)


def _region(slot: Slot, material: Material) -> Asked | None:
    """Return what a slot asks of the zones of a hide, if anything."""
    if not material.is_leather:
        return None
    grade, nap = slot.cut.grade or _ANY_ZONE, slot.cut.nap or material.nap
    known = nap is Nap.ANY or all(hide.grain_known for hide in material.hides)
    slack = slack_asked(slot.cut, material)
    own = slack if nap is Nap.ANY else None
    tight = any(zone.binds(own) for hide in material.hides for zone in hide.zones)
    if grade is _ANY_ZONE and known and not tight:
        return None
    return Asked(grade=grade, nap=nap, slack=slack, bias=tight and slot.cut.on_bias)


def _parts(
    slots: Sequence[Slot], material: Material, wishes: Sequence[Asked | None], *, job: Job
) -> tuple[Part, ...]:
    bound = _bindings(slots, material, job=job)
    names = _names(slots, job)
    mates = _mates(slots)
    free: dict[tuple[object, ...], tuple[Turns, bool]] = {}
    ways = []
    for i, slot in enumerate(slots):
        binding, _ = bound.get(i, (None, None))
        key = (id(slot.bag), slot.line, slot.hand, slot.edge, slot.bit, binding is None)
        if key not in free:
            free[key] = _freedom(slot, material, binding)
        ways.append(free[key])
    groups = [
        bound.get(i, (None, None))[1] or _leather_mates(mates[i], ways[i][0], material)
        for i in range(len(slots))
    ]
    alike = _alike(groups, [turns for turns, _ in ways])
    parts = []
    for i, slot in enumerate(slots):
        binding, group = bound.get(i, (None, None))
        turns, flip = alike[i], ways[i][1]
        region = wishes[i]
        nap = slot.cut.nap or material.nap
        parts.append(
            Part(
                name=names[i],
                piece=slot.piece,
                copy=slot.copies[0],
                copies=slot.cut.copies,
                bag=slot.number,
                other_bag=slot.other_bag,
                hand=slot.hand,
                variant=", ".join(filter(None, (variant_words(slot.cut), slot.bit))),
                turns=turns,
                flip=flip,
                region=None if region is None else region_name(region),
                binding=binding,
                edge=slot.edge,
                turn_group=None if _fixed(turns) else groups[i],
                mates=mates[i],
                match=group,
                grain=nap is not Nap.ANY,
                one_way=nap is Nap.ONE_WAY,
                both_hands=slot.both_hands,
                pieced=slot.bits,
                design=slot.bag.name if len(job.bags) > 1 else "",
            )
        )
    return tuple(parts)


def _bindings(
    slots: Sequence[Slot], goods: Goods, *, job: Job
) -> dict[int, tuple[Binding, str | None]]:
    """Return the bindings to a print, if there is one; trouble says where the piece stands."""
    try:
        return bindings(slots, goods)
    except JobError as error:
        places = {field: (file, line) for field, file, line in job.places}
        file, line = places.get(error.field or "", (job.file, None))
        raise error.located(file=file, line=line) from None


def _freedom(slot: Slot, material: Material, binding: Binding | None) -> tuple[Turns, bool]:
    """Return a slot's turns, and whether it may lie face down."""
    if slot.edge is not None:  # a turn would take the half off the fold
        return Turns(), False
    bound = binding is not None
    turns = turns_of(slot.piece, slot.cut, material, bound=bound)
    flip = not slot.both_hands and flips(slot.piece, turns, material, bound=bound)
    return turns, flip


def _leather_mates(mates: str | None, turns: Turns, material: Material) -> str | None:
    """Return the group of mates that must turn alike: on leather, which stretches one way."""
    return mates if material.is_leather and not _fixed(turns) else None


def _fixed(turns: Turns) -> bool:
    return len(turns.angles) == 1 and not turns.slack


def _alike(groups: Sequence[str | None], turns: Sequence[Turns]) -> list[Turns]:
    """Return the turns of parts, those of a group that must turn alike the ones they all have."""
    common: dict[str, Turns] = {}
    for group, own in zip(groups, turns, strict=True):
        if group is not None:
            common[group] = _common(common[group], own) if group in common else own
    return [
        own if group is None else common[group] for group, own in zip(groups, turns, strict=True)
    ]


def _common(first: Turns, second: Turns) -> Turns:
    """Return the turns that two parts both have; the grain's own is always among them."""
    if first.free or second.free:
        return second if first.free else first
    angles = tuple(angle for angle in first.angles if angle in second.angles)
    return Turns(angles=angles, slack=min(first.slack, second.slack))


def _mates(slots: Sequence[Slot]) -> list[str | None]:
    """Return the group of parts that each slot is cut close to."""
    leads = {
        (slot.bag.name, slot.cut.piece): slot.cut.mate
        for slot in slots
        if slot.cut.mate is not None
    }
    led = {(bag, mate) for (bag, _), mate in leads.items()}

    def lead(bag: str, piece: str) -> str:
        seen = {piece}
        while (mate := leads.get((bag, piece))) is not None and mate not in seen:
            seen.add(mate)
            piece = mate
        return min(seen) if leads.get((bag, piece)) in seen else piece

    return [
        f"{slot.bag.name} {slot.number}: {lead(slot.bag.name, slot.cut.piece)}"
        if slot.cut.mates or (slot.bag.name, slot.cut.piece) in led
        else None
        for slot in slots
    ]


def _names(slots: Sequence[Slot], job: Job) -> list[str]:
    """Return a readable name for each slot, unique within the lay."""
    lines = {(slot.bag.name, slot.line): slot.cut.piece for slot in slots}
    often = Counter((bag, piece) for (bag, _), piece in lines.items())
    bags = sum(bag.count for bag in job.bags)
    taken: Counter[str] = Counter()
    names = []
    for slot in slots:
        name = _name(slot, twice=often[slot.bag.name, slot.cut.piece] > 1)
        number = f"{slot.number}" if slot.other_bag is None else f"{slot.number}+{slot.other_bag}"
        if len(job.bags) > 1:
            name += f" ({slot.bag.name} {number})"
        elif bags > 1:
            name += f" (bag {number})"
        taken[name] += 1
        names.append(name if taken[name] == 1 else f"{name} #{taken[name]}")
    return names


def _name(slot: Slot, *, twice: bool) -> str:
    words = [slot.cut.piece]
    if (twice or slot.cut.reversed) and (variant := variant_words(slot.cut)):
        words.append(variant)
    if slot.of > 1:
        words.append(f"{'+'.join(map(str, slot.copies))} of {slot.of}")
    if slot.both_hands:
        words.append("R+L")
    elif slot.cut.pairs:
        words.append("R" if slot.hand is Hand.RIGHT else "L")
    if slot.bit:
        words.append(slot.bit)
    return " ".join(words)
