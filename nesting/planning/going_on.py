"""Going on from a plan: what of it still fits the job is where its searches begin.

Parts are known by bag, piece, variant, copy and hand (`planning.lay.held`), whatever they are
called. What is held on the plan's markers stays held; what the job file holds, it may let go.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

from nesting.amounts import Amounts
from nesting.errors import JobError
from nesting.job.job import HeldPart, Job
from nesting.marker.lay import Lay, Part
from nesting.marker.marker import Marker, Placement
from nesting.material.material import Cloth, Width
from nesting.names import listed
from nesting.pattern.path import Path
from nesting.planning.lay.held import PartId, held_numbers, held_part, part_ids, with_held
from nesting.planning.lay.lays import lays
from nesting.planning.plan import Entry, Plan
from nesting.quantity import Unit

__all__ = ["GoingOn", "going_on"]

_FEW = 6
"""So many parts are named where several are told."""


@dataclass(frozen=True, slots=True, kw_only=True)
class GoingOn:
    """A job that goes on from a plan.

    `job`: with what is held on the plan's markers. `told`: what of the plan does not fit any
    more, a line each. `widths`: what its cloths lie on, by name.
    """

    plan: Plan
    job: Job
    told: tuple[str, ...] = ()
    widths: Mapping[str, Width] = field(default_factory=dict)

    def start(self, lay: Lay) -> Marker | None:
        """Return a marker of a lay of the job with all that lies on the plan's and still fits."""
        entry = _entry(self.plan, lay.name)
        if entry is None:
            return None
        there, here = _ids(entry, self.plan), part_ids(lay.parts, self.job)
        numbers = {key: i for i, key in enumerate(here)}
        sheets, kinds = _sheets(entry.marker, lay)
        placements = tuple(
            replace(p, part=numbers[key], sheet=sheets[p.sheet])
            for key, p in there.items()
            if key in numbers and p.sheet in sheets
        )
        return Marker(lay=lay, placements=placements, sheets=kinds) if placements else None

    def starts(self, todo: Mapping[str, Lay]) -> dict[str, Marker]:
        """Return where the searches of some lays begin, by the lays' keys."""
        found = ((key, self.start(lay)) for key, lay in todo.items())
        return {key: marker for key, marker in found if marker is not None}


def going_on(job: Job, plan: Plan) -> GoingOn:
    """Return how a job goes on from a plan, made of it or of an earlier state of it."""
    told: list[str] = []
    held: list[HeldPart] = []
    widths: dict[str, Width] = {}
    for material in job.materials:
        entry = _entry(plan, material.name)
        if entry is None:
            if any(cut.material == material.name for bag in job.bags for cut in bag.cuts):
                told.append(f"{material.name}: laid anew, as the plan has no one marker of it")
            continue
        if entry.loads and entry.marker.lay.stock.open_ended:
            told.append(f"{material.name}: laid anew, as it is cut in loads of the bed")
        for other in plan.entries_of(material.name):
            if other is not entry and any(part.held for part in other.marker.lay.parts):
                told.append(f"{material.name}: what was held on left-overs is let go")
        if material.taken_in is Unit.LENGTH:
            widths[material.name] = _width(material, entry, told, job.amounts)
        made = lays(
            job, only=[material.name], widths={n: widths[n] for n in widths if n == material.name}
        )
        for lay in made:
            told += _changes(entry, plan, lay, job)
            held += _still_held(entry, plan, lay, job, told)
    return GoingOn(
        plan=plan, job=replace(job, held=(*job.held, *held)), told=tuple(told), widths=widths
    )


def _entry(plan: Plan, material: str) -> Entry | None:
    """Return the entry of a material's one marker; that of its remnants is laid anew."""
    some = [e for e in plan.entries_of(material) if e.marker.lay.name == material]
    return some[0] if len(some) == 1 and not some[0].bags else None


def _ids(entry: Entry, plan: Plan) -> dict[PartId, Placement]:
    """Return where what the plan laid of a material lies, by what it is known by."""
    keys = part_ids(entry.marker.lay.parts, plan.job)
    return {keys[p.part]: p for p in entry.marker.placements}


def _width(cloth: Cloth, entry: Entry, told: list[str], amounts: Amounts) -> Width:
    """Return the width that a cloth goes on with: that of the plan if it is on sale."""
    before = entry.width
    if before is None or before in cloth.widths:
        return before or cloth.widths[0]
    near = min(cloth.widths, key=lambda width: abs(width.usable - before.usable))
    said = [amounts.setting(width.booked) for width in (before, near)]
    told.append(f"{cloth.name}: {said[0]} wide in the plan, {said[1]} now")
    return near


def _sheets(old: Marker, lay: Lay) -> tuple[dict[int, int], tuple[int, ...]]:
    """Return the new number of each sheet that is still there, and the kinds of those."""
    if old.lay.stock.open_ended or lay.stock.open_ended:
        both = old.lay.stock.open_ended and lay.stock.open_ended
        return ({0: 0} if both else {}), ()
    names = [sheet.name for sheet in lay.stock.sheets]
    numbers: dict[int, int] = {}
    kinds: list[int] = []
    for n, sheet in enumerate(old.used):
        kind = names.index(sheet.name) if sheet.name in names else -1
        count = lay.stock.sheets[kind].count if kind >= 0 else 0
        if count is None or kinds.count(kind) < count:
            numbers[n] = len(kinds)
            kinds.append(kind)
    return numbers, tuple(kinds)


def _changes(entry: Entry, plan: Plan, lay: Lay, job: Job) -> Iterator[str]:
    """Yield what of the parts and the goods is not as it was in the plan."""
    old, new = entry.marker.lay, lay
    there = dict(zip(part_ids(old.parts, plan.job), old.parts, strict=True))
    here = dict(zip(part_ids(new.parts, job), new.parts, strict=True))
    more = [part.name for key, part in here.items() if key not in there]
    less = [part.name for key, part in there.items() if key not in here]
    other = [
        part.name for key, part in here.items() if key in there and _cut(part) != _cut(there[key])
    ]
    for what, names in (("new", more), ("no longer cut", less), ("of another shape", other)):
        if names:
            yield f"{lay.name}: {what}: {_named(names)}"
    still, _ = _sheets(entry.marker, new)
    gone = [sheet.name for n, sheet in enumerate(entry.marker.used) if n not in still]
    if gone:
        yield f"{lay.name}: no longer there: {_named(list(dict.fromkeys(gone)))}"


def _cut(part: Part) -> tuple[Path, tuple[Path, ...]]:
    return part.piece.cut, part.piece.holes


def _named(names: Sequence[str]) -> str:
    some = listed(names[:_FEW])
    return some if len(names) <= _FEW else f"{some} and {len(names) - _FEW} more"


def _still_held(
    entry: Entry, plan: Plan, lay: Lay, job: Job, told: list[str]
) -> Iterator[HeldPart]:
    """Yield what is held on the plan's marker and may be held in the job; tell what may not."""
    old = entry.marker.lay
    by_job = held_numbers(old.parts, plan.job, lay.name) if plan.job.held else {}
    now = held_numbers(lay.parts, job, lay.name)
    known = part_ids(lay.parts, job)
    mine = {known[i] for i in now}
    kept: list[HeldPart] = []
    for i, (key, part) in enumerate(zip(part_ids(old.parts, plan.job), old.parts, strict=True)):
        if part.held is None or key in mine:
            continue
        if key not in known:
            told.append(f"{lay.name}: {part.name} was held and is no longer cut")
        elif i in by_job and by_job[i].line is not None:
            told.append(f"{lay.name}: {part.name} is let go, as the job file holds it no longer")
        else:
            one = held_part(part, old, plan.job)
            trial = replace(job, held=(*job.held, *kept, one))
            try:
                with_held(lay, held_numbers(lay.parts, trial, lay.name), job)
            except JobError as error:
                told.append(f"{lay.name}: {part.name} is let go: {error.what}")
                continue
            kept.append(one)
    yield from kept
