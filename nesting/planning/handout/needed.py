"""What a pattern asks to be bought, each number from a real lay: the requirement table.

A lay on a print whose place is not known begins wherever in the repeat saves most cloth, each
at a place of its own.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Unpack

from nesting.errors import JobError
from nesting.job.job import Job, Notion, refuse_unnamed
from nesting.marker.lay import Lay
from nesting.material.material import Cloth, Material, Nap, Width
from nesting.planning.begin import as_before, best_begun, is_open, placed, told
from nesting.planning.entry import entry_for
from nesting.planning.handout.everybody import for_everybody, top_unknown, usual_widths
from nesting.planning.handout.lent import better, lent
from nesting.planning.lay.lays import lays
from nesting.planning.on_width import OnWidth, cases_of, entry_on
from nesting.planning.plan import Entry, Plan
from nesting.planning.running.laying import lay_all
from nesting.planning.running.run import Options, Run, running
from nesting.program import program
from nesting.quantity import Unit
from nesting.search.result import Result
from nesting.shown import Brief
from nesting.units import LENGTH_UNITS, round_up

__all__ = ["Needed", "Needs", "needs"]

_METRIC_STEP, _YARD_STEP = 100.0, LENGTH_UNITS["yd"] / 8.0
"""Steps in which shops sell cloth (mm), where the job's own is another system's: 10 cm (common
practice, no source), an eighth of a yard (threadsmagazine.com)."""
_FINE, _SAME = 10.0, 0.01
"""Metric steps are whole cm; so near (mm) is the same."""


@dataclass(frozen=True, slots=True, kw_only=True, repr=False)
class Needed(Brief):
    """One row: goods laid in one way, and what they come to.

    `width`: of cloth. `one_way`: laid with one end of every piece up (True), or turned as well
    (False); None where that is the same. `entry`: its marker, judged; None where none could be
    made, and `why` says why not. `job`: by whose rules it was laid. `size`: which one of the
    pattern's, if it has several.
    """

    material: str
    job: Job
    width: Width | None = None
    one_way: bool | None = None
    entry: Entry | None = None
    why: str = ""
    size: str = ""

    @property
    def certain(self) -> bool:
        """Whether there is a marker that holds all parts, without faults."""
        return self.entry is not None and self.entry.good

    @property
    def gross(self) -> float:
        """The length that the marker takes, with ends and shrinkage (mm)."""
        return 0.0 if self.entry is None else self.entry.buying.gross.value

    @property
    def goods(self) -> Material:
        """What it was laid on."""
        found = self.job.material(self.material)
        assert found is not None
        return found

    def plan(self) -> Plan:
        """Return a plan of this marker alone, which can be stored and judged again."""
        assert self.entry is not None
        return Plan(
            job=self.job,
            entries=(self.entry,),
            seconds=self.entry.search.seconds,
            program=program(),
        )


@dataclass(frozen=True, slots=True, kw_only=True, repr=False)
class Needs(Brief):
    """What a pattern asks for: rows in the job's order of goods, notions, the margin on cloth.

    `job`: for one of each bag, of bought goods. `standing`: which pieces stand in the way of a
    table, a sentence each; then there is none.
    """

    job: Job
    rows: tuple[Needed, ...]
    margin: float
    standing: tuple[str, ...] = ()

    @property
    def certain(self) -> bool:
        """Whether every row that can be laid at all has a marker that holds all parts."""
        return not self.standing and all(row.certain or row.why for row in self.rows)

    @property
    def notions(self) -> tuple[Notion, ...]:
        """What is bought besides, for one of each bag."""
        found: dict[tuple[str, str], Notion] = {}
        for notion in (notion for bag in self.job.bags for notion in bag.notions):
            key = (notion.name, notion.unit)
            before = found.get(key)
            more = 0.0 if before is None else before.quantity
            found[key] = replace(notion, quantity=notion.quantity + more, price=None)
        return tuple(found.values())

    def of(self, material: str) -> tuple[Needed, ...]:
        """Return the rows of a material."""
        return tuple(row for row in self.rows if row.material == material)

    def metres(self, row: Needed) -> float:
        """Return the length to buy where cloth is sold by the metre (mm), margin included."""
        return self._bought(row, usual=_METRIC_STEP, grid=_FINE)

    def yards(self, row: Needed) -> float:
        """Return the length to buy where cloth is sold by the yard (mm), margin included."""
        return self._bought(row, usual=_YARD_STEP, grid=_YARD_STEP)

    def _bought(self, row: Needed, *, usual: float, grid: float) -> float:
        """Round a length up to the job's own step where that is one of the system's, or the usual.

        `grid`: what steps of the system are multiples of (mm).
        """
        own = row.goods.step
        times = round(own / grid)
        step = own if times and abs(own - times * grid) < _SAME else usual
        return round_up(row.gross * (1.0 + self.margin), step=step)


def needs(
    job: Job,
    *,
    widths: Sequence[float] | None = None,
    margin: float = 0.0,
    seconds: float | None = 10.0,
    **options: Unpack[Options],
) -> Needs:
    """Lay everything that a pattern is cut from in each way it may be bought.

    Parameters
    ----------
    job
        What is to be made: one of each bag is laid, of goods that are bought.
    widths
        Booked widths (mm) of every cloth; without them its own and the usual ones.
    margin
        How much more cloth is bought than the marker takes, as a share.
    seconds, rounds
        Wall time on one core for each row, on the average (what is harder gets more), or rounds;
        None does not limit. With `rounds` alone the answer is the same on any machine and day.
    seed, workers, observer, stop, executor
        As of `compare_widths`.

    Raises
    ------
    JobError
        The job contradicts itself, or a width leaves nothing inside the selvedges.

    """
    refuse_unnamed(job)
    every = for_everybody(job)
    rows = [row for size in every.sizes or ("",) for row in _in_size(every, size, widths)]
    count = sum(one.lay is not None for one in rows)
    with running(None, **options) as run:
        if seconds is not None:
            run = replace(run, seconds=seconds * count / max(1, run.executor.slots))
        rows = _begun(rows, run)
        found = tuple(_laid(rows, run.rest()))
    standing = tuple(
        said
        for size in every.sizes or ("",)
        for material in every.materials
        for said in _standing([r for r in found if (r.material, r.size) == (material.name, size)])
    )
    return Needs(job=every, rows=found, margin=margin, standing=standing)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Todo:
    """A row that is to be laid; `case` and `lay` are None where `row` says why not."""

    name: str
    row: Needed
    case: OnWidth | None = None
    lay: Lay | None = None


def _in_size(job: Job, size: str, widths: Sequence[float] | None) -> Iterator[_Todo]:
    """Give the rows of one size of a pattern, or of the only one."""
    job = replace(job.in_size(size), graded=())
    rows: list[_Todo] = []
    for material in job.materials:
        if material.taken_in is Unit.LENGTH:
            offered = usual_widths(material, widths, amounts=job.amounts)
            rows += _on_cloth(job, material, offered)
        else:
            rows += _on_sheets(job, material)
    for one in rows:
        name = f"{one.name}, size {size}" if size else one.name
        yield replace(one, name=name, row=replace(one.row, size=size))


def _on_cloth(job: Job, cloth: Cloth, widths: Sequence[Width]) -> Iterator[_Todo]:
    """Give a cloth's rows: each width with and without a right way up, if that differs."""
    for width in widths:
        if cloth.nap is Nap.ANY:
            yield from _way(job, cloth, width, one_way=None)
            continue
        free = [*_way(job, cloth, width, one_way=False)]
        bound = [*_way(job, cloth, width, one_way=True)]
        if unknown := top_unknown(job, cloth):
            why = f"which end of {', '.join(unknown)} is up is not known"
            bound = [replace(one, lay=None, row=replace(one.row, why=why)) for one in bound]
        if [_turns(one) for one in free] == [_turns(one) for one in bound]:
            yield from (replace(one, row=replace(one.row, one_way=None)) for one in free)
        else:
            yield from (*bound, *free)


def _turns(one: _Todo) -> object:
    """Return in which ways the parts of a row may lie; why not, where it can't be laid."""
    return one.row.why if one.lay is None else [part.turns for part in one.lay.parts]


def _way(job: Job, cloth: Cloth, width: Width, *, one_way: bool | None) -> Iterator[_Todo]:
    alone = replace(cloth, widths=(width,))
    if one_way is not None:
        alone = replace(alone, nap=Nap.ONE_WAY if one_way else Nap.NONE)
    job = job.with_material(alone)
    words = {True: ", one way up", False: ", either way up", None: ""}[one_way]
    name = f"{cloth.name}, {job.amounts.setting(width.booked)}{words}"
    row = Needed(material=cloth.name, job=job, width=width, one_way=one_way)
    try:
        cases, _ = cases_of(job, (alone,))
    except JobError as error:
        yield _Todo(name=name, row=replace(row, why=error.what))
        return
    yield from (_Todo(name=name, row=row, case=case, lay=case.lay) for case in cases.values())


def _on_sheets(job: Job, material: Material) -> Iterator[_Todo]:
    """Give the row of sheets or hides, if anything is cut from them."""
    row = Needed(material=material.name, job=job)
    try:
        found = lays(job, only=(material.name,))
    except JobError as error:
        yield _Todo(name=material.name, row=replace(row, why=error.what))
        return
    yield from (_Todo(name=material.name, row=row, lay=lay) for lay in found)


def _begun(rows: Sequence[_Todo], run: Run) -> list[_Todo]:
    """Return the rows with each lay on an open print begun where that is best."""
    todo = {
        one.name: one.lay
        for one in rows
        if one.case is not None and one.lay is not None and is_open(one.case.cloth)
    }
    if not todo:
        return list(rows)
    best = best_begun(todo, run, amounts=rows[0].row.job.amounts)
    return [
        _moved(one, told(placed(one.row.job, {one.row.material: best.get(one.name, 0.0)})))
        if one.name in todo
        else one
        for one in rows
    ]


def _moved(one: _Todo, job: Job) -> _Todo:
    """Return a row on a width as one of the same job with prints in other places."""
    assert one.case is not None
    cloth = next(cloth for cloth in job.cloths if cloth.name == one.row.material)
    ((_, case),) = cases_of(job, (cloth,))[0].items()
    return replace(one, row=replace(one.row, job=job), case=case, lay=case.lay)


def _laid(rows: Sequence[_Todo], run: Run) -> list[Needed]:
    """Return the rows with their markers, each the best of those that are good for it."""
    results = lay_all({one.name: one.lay for one in rows if one.lay is not None}, run)
    return [_row(one, rows, results) for one in rows]


def _row(one: _Todo, rows: Sequence[_Todo], results: Mapping[str, Result]) -> Needed:
    """Return a row with its marker, or a lender's, which begins where that one does."""
    if one.lay is None:
        return one.row
    result = results[one.name]
    if one.case is None:
        entry = entry_for(one.row.goods, result, width=None, amounts=one.row.job.amounts)
        return replace(one.row, entry=entry)
    own = replace(one.row, entry=entry_on(one.case, result))
    lenders = [other for other in rows if other.name in results and _lends(other, one)]
    return next((row for row in _lent(one, lenders, results) if row.certain), own)


def _lent(one: _Todo, lenders: Sequence[_Todo], results: Mapping[str, Result]) -> Iterator[Needed]:
    """Give a row with the markers of others that are better than its own; the best first."""
    own, by_name = results[one.name], {other.name: other for other in lenders}
    for name in better(own, {name: results[name] for name in by_name}):
        there, lender = one, by_name[name]
        if lender.case is not None and is_open(lender.case.cloth):
            there = _moved(one, told(as_before(one.row.job, lender.row.job)))
        if there.case is not None and there.lay is not None:
            result = lent(results[name], there.lay, own)
            yield replace(there.row, entry=entry_on(there.case, result))


def _lends(lender: _Todo, one: _Todo) -> bool:
    """Whether a marker of one row keeps the rules of another: it is no wider, and no freer."""
    if lender is one or lender.case is None or lender.lay is None or one.case is None:
        return False
    same = (lender.row.material, lender.row.size) == (one.row.material, one.row.size)
    narrow = lender.case.width.usable <= one.case.width.usable
    return same and narrow and (lender.row.one_way is True or lender.row.one_way == one.row.one_way)


def _standing(rows: Sequence[Needed]) -> Iterator[str]:
    """Say which piece stands in the way of goods that can't be laid in any way."""
    if rows and all(row.why for row in rows):
        widest = max(rows, key=lambda row: 0.0 if row.width is None else row.width.booked)
        yield f"size {widest.size}: {widest.why}" if widest.size else widest.why
