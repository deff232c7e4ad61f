"""An order of many bags: for each material the spreads, their markers, all laid for real."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace
from typing import Unpack

from nesting.errors import JobError
from nesting.job.job import Job, refuse_unnamed
from nesting.material.material import Material, Width
from nesting.names import listed
from nesting.planning.begin import as_before, begun, told
from nesting.planning.buying.settle import chosen_width
from nesting.planning.entry import entry_for
from nesting.planning.lay.face_to_face import marked_for_one
from nesting.planning.lay.lays import lays
from nesting.planning.orders.cloth_order import ClothOrder
from nesting.planning.orders.effort import Effort
from nesting.planning.orders.order_widths import Contest
from nesting.planning.orders.ratios import Ratio
from nesting.planning.plan import Entry, Plan
from nesting.planning.records import MaterialBound
from nesting.planning.running.laying import lay_all
from nesting.planning.running.run import Run, StoredOptions, running
from nesting.planning.sparing import SPARING, may_spare, spared
from nesting.program import program
from nesting.quantity import of_length
from nesting.search.result import Result
from nesting.search.starting.patterns import SheetPatterns

__all__ = ["make_order_plan"]

_MOST_DECISIONS = 8
# Share of the time that goes into laying what remnants of cloth take.
_REMNANTS = 0.1
_MOST_HOPES = 4
# Share of the time for finding out which markers the plan is made of.
_DECIDING = 0.5
# Seconds for one decision, and for one bound, of one cloth; and at most this share of the time.
_DECISION = 2.0
_SHARE = 0.1


def make_order_plan(
    job: Job,
    *,
    seconds: float | None = 60.0,
    only: Collection[str] | None = None,
    widths: Mapping[str, Width] | None = None,
    spare: float = 0.0,
    **options: Unpack[StoredOptions],
) -> Plan:
    """Plan an order: which markers, how many plies of each, for every material.

    Marker lengths are estimated first; the markers of the best plan are then laid for
    real and the plan is decided again with their true lengths, until every marker of
    the plan is a real one. Hides are laid whole; so are sheets, unless the order is so
    large that a sheet laid once is better cut many times. A cloth on sale in several widths
    is planned at each, and laid for good at the cheapest. Lengths, sheets and remnants at
    hand are used first.

    Parameters
    ----------
    job
        What is ordered: bags and how many of each, materials, the cutting table.
    seconds, rounds
        Wall time for all of it, or rounds for each lay; None does not limit.
        With `rounds` alone the answer is the same on any machine and day.
    seed
        Seed of every search.
    workers
        Worker processes (default: one a core).
    only
        Names of the materials to lay; None is all.
    widths
        Settles the width of a cloth, by its name, beforehand.
    spare
        The share that is bought more of each material (0.05 is 5 %).
    observer
        Told how far each lay is (`Progress`).
    stop
        Asked now and then; True ends every search with the best it has.
    executor
        Where to run instead of processes of this machine: `processes` or `cluster`.
    store
        Keeps finished searches, so that an interrupted plan can go on.

    Returns
    -------
    Plan
        Its entries say what of the order each marker holds (`bags`) and the plies it is
        cut in (`spreads`).

    Raises
    ------
    JobError
        The order can't be met; the rule that stands in the way is named.

    Examples
    --------
    >>> order = replace(job, bags=(replace(pouch, count=6),), table=CuttingTable(plies=3))
    >>> plan = make_order_plan(order, seconds=None, rounds=1, workers=1)
    >>> [(entry.bags, entry.spreads) for entry in plan.entries]
    [((('pouch', 6),), (1,))]

    """
    refuse_unnamed(job)
    if job.held:
        raise JobError(
            "parts are held on the marker of one job, an order has markers of its own",
            file=job.file,
            line=job.held[0].line,
            field="held",
            hint="leave out [[held]], or use lay",
        )
    with running(seconds, **options) as run:
        job = _begun(job, only, run)
        return _plan(job, _wanted(job, only), run, widths=widths or {}, spare=spare)


def _begun(job: Job, only: Collection[str] | None, run: Run) -> Job:
    """Return an order whose prints lie where a lay of one of each bag is best begun."""
    one = replace(job, bags=tuple(replace(bag, count=1) for bag in job.bags))
    wanted = _wanted(job, only)
    return as_before(job, begun(one, [cloth for cloth in job.cloths if cloth in wanted], run))


def _plan(
    job: Job,
    materials: Sequence[Material],
    run: Run,
    *,
    widths: Mapping[str, Width],
    spare: float,
) -> Plan:
    """Lay what remnants take, decide and lay by turns, lay for good, reckon up."""
    effort = Effort(seconds=_decision(run), seed=run.seed)
    cloths = {
        cloth.name: Contest(job, cloth, effort, width=widths.get(cloth.name), spare=spare)
        for cloth in job.cloths
        if cloth in materials
    }
    _take_remnants(cloths, run.part("remnants", share=_REMNANTS))
    whole = [m.name for m in materials if m.name not in cloths]
    sheets = {
        lay.name: SheetPatterns(lay, effort.solver)
        for lay in (lays(job, only=whole) if whole else ())
    }
    for name, order in sheets.items():
        _refuse_short(order, name, job)
    _decide_all(cloths, sheets, _deciding(run, cloths, sheets))
    tried = {name: contest.choose() for name, contest in cloths.items()}
    # What the plan is made of is laid again with the time that is left, unless there is none.
    again = run.rounds is None and not run.stopped
    results = _lay_for_good(job, cloths if again else {}, sheets, run.rest())
    for contest in cloths.values():
        for ratio in contest.plan.ratios if again else ():
            contest.order.note(ratio, results[contest.order.key(ratio)])
        contest.decide(only_laid=True)
    entries: list[Entry] = []
    bounds: list[MaterialBound] = []
    for material in materials:
        name = material.name
        if name in cloths:
            contest = cloths[name]
            made = contest.entries()
            entries += [*contest.from_remnants(), *made]
            tried[name] = chosen_width(tried[name], made, contest.cloth, spare=spare)
            least = of_length(0.0 if contest.order.done else contest.order.bound())
        else:
            result = sheets[name].whole(results.get(name))
            entries.append(entry_for(material, result, width=None, amounts=job.amounts))
            least = result.bound.of(material.taken_in)
        bounds.append(MaterialBound(material=name, amount=least))
    return Plan(
        job=_saying(job, cloths),
        entries=tuple(entries),
        seconds=run.spent,
        program=program(),
        bounds=tuple(bounds),
        widths_tried=tuple(one for of in tried.values() for one in of),
        spare=spare,
    )


def _decision(run: Run) -> float:
    """Return the seconds of one decision, and of one bound."""
    return _DECISION if run.seconds is None else min(_DECISION, max(0.3, _SHARE * run.seconds))


def _take_remnants(cloths: Mapping[str, Contest], run: Run) -> None:
    """Lay what remnants of cloth may take."""
    todo = {
        name: lay for contest in cloths.values() for name, lay in contest.for_remnants().items()
    }
    laid = lay_all(todo, run)
    for contest in cloths.values():
        contest.take(laid)


def _deciding(run: Run, cloths: Mapping[str, Contest], sheets: Mapping[str, SheetPatterns]) -> Run:
    """Return the run in which is found out which markers the plan is made of."""
    many = len(cloths) + sum(order.portion() is not None for order in sheets.values())
    share = _DECIDING * many / max(1, len(cloths) + len(sheets))
    return replace(run.part("deciding", share=share), began=run.began)


def _lay_for_good(
    job: Job, again: Mapping[str, Contest], sheets: Mapping[str, SheetPatterns], run: Run
) -> dict[str, Result]:
    """Lay the markers of the cloths that are laid again, and what is left of sheets and hides."""
    todo = {name: rest for name, order in sheets.items() if (rest := order.rest()) is not None}
    for contest in again.values():
        for ratio in contest.plan.ratios:
            todo[contest.order.key(ratio)] = contest.order.lay(ratio)
    sparing = any(m.name in sheets and may_spare(job, m) for m in job.materials)
    share = 1.0 - SPARING * sparing
    results = lay_all(todo, run.part("laying", share=share))
    at_once = {
        name: results[name]
        for name, order in sheets.items()
        if name in results and results[name].marker.lay == order.lay
    }
    return results | spared(job, at_once, run.part(share=1.0 - share))


def _saying(job: Job, cloths: Mapping[str, Contest]) -> Job:
    """Return the job, with sentences on marks and remnants that the order leaves out."""
    facing = [contest.cloth for contest in cloths.values() if contest.order.twice]
    twice = [cloth.name for cloth in facing if cloth.remnants]
    spared = [name for name, contest in cloths.items() if contest.spared]
    job = told(job)
    said = list(job.assumptions)
    if marked := listed(dict.fromkeys(n for cloth in facing for n in marked_for_one(job, cloth))):
        said.insert(
            0,
            f"{marked}: marks for one hand only are left out where plies lie face to face:"
            " transfer them by hand",
        )
    if twice:
        said.append(f"{', '.join(twice)}: remnants are not used where plies lie face to face")
    if spared:
        said.append(
            f"{', '.join(spared)}: remnants are not used, as the plan without them costs less or"
            " takes less"
        )
    return replace(job, assumptions=tuple(said))


def _wanted(job: Job, only: Collection[str] | None) -> list[Material]:
    """Return the materials that something is cut from, those asked for."""
    used = {cut.material for bag in job.bags for cut in bag.cuts}
    return [m for m in job.wanted(only) if m.name in used]


def _refuse_short(order: SheetPatterns, name: str, job: Job) -> None:
    """Refuse an order that asks for more sheets or hides than there are."""
    if order.short:
        need = int(order.bound.value)
        raise JobError(
            f"{name}: the order needs {need} sheets or hides at least, {need - order.short} are "
            "at hand (count)",
            file=job.file,
            hint="more of them, or fewer bags",
        )


def _decide_all(
    cloths: Mapping[str, Contest], sheets: Mapping[str, SheetPatterns], run: Run
) -> None:
    """Decide, lay what was chosen, decide again, until the plans hold only laid markers.

    When they do, markers that might make a better plan are laid as well, a few times.
    Meanwhile portions of what is cut from sheets are laid, until little of it is left.
    """
    hopes = 0
    for attempt in range(_MOST_DECISIONS):
        missing = _missing(cloths, hopeful=False)
        hoping = not missing and hopes < _MOST_HOPES
        if hoping:
            hopes += 1
            missing = _missing(cloths, hopeful=True)
        portions = {
            f"{name}, {len(lay.parts)} parts": (name, lay)
            for name, order in sheets.items()
            if (lay := order.portion()) is not None
        }
        if not missing and not portions:
            break
        if attempt and run.left == 0.0:
            break
        part = 1.0 if hoping else 2.0
        results = lay_all(
            {key: order.lay(ratio) for key, (order, ratio) in missing.items()}
            | {key: lay for key, (_, lay) in portions.items()},
            run.rest().part(share=min(1.0, part / (_MOST_DECISIONS - attempt))),
        )
        for key, (order, ratio) in missing.items():
            order.note(ratio, results[key])
        for key, (name, _) in portions.items():
            sheets[name].note(results[key])
    for contest in cloths.values():
        contest.decide(only_laid=True)


def _missing(
    cloths: Mapping[str, Contest], *, hopeful: bool
) -> dict[str, tuple[ClothOrder, Ratio]]:
    """Decide for every cloth and return what its plan lacks."""
    found: dict[str, tuple[ClothOrder, Ratio]] = {}
    for contest in cloths.values():
        contest.decide(hopeful=hopeful)
        found |= contest.missing()
    return found
