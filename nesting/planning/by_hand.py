"""A marker changed by hand, part by part: asked about, moved, undone and done again.

The judge answers for each place that is tried. What the rules forbid is done and said.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import replace

from nesting.amounts import METRIC, Amounts
from nesting.errors import Finding, JobError
from nesting.marker.check import check
from nesting.marker.figures import figures
from nesting.marker.holding import hold, release
from nesting.marker.judge import Judge
from nesting.marker.marker import Marker, Placement
from nesting.marker.slide import slide, slide_together
from nesting.pattern.path import Point
from nesting.planning.buying.bought import buying
from nesting.planning.buying.settle import chosen_width, settled
from nesting.planning.in_hand import (
    Change,
    changed,
    laid_down,
    on_sheet,
    together,
    with_placements,
)
from nesting.planning.lay.sheet_loads import sheet_loads
from nesting.planning.plan import Entry, Plan
from nesting.planning.records import WidthTried
from nesting.quantity import Unit

__all__ = ["BY_HAND", "ByHand", "Change", "refusal", "with_marker"]

BY_HAND = "made by hand"
"""Why the search of a marker ended that was changed by hand afterwards."""


class ByHand:
    """A marker in hand: every step can be undone, without end, and done again.

    Parameters
    ----------
    marker
        To begin with, good or not.
    amounts
        The units in which findings are told.

    """

    def __init__(self, marker: Marker, *, amounts: Amounts = METRIC) -> None:
        self._amounts = amounts
        self._judge = Judge(marker, amounts=amounts)
        self._before: list[Marker] = []
        self._after: list[Marker] = []

    @property
    def marker(self) -> Marker:
        """The marker as it is now."""
        return self._judge.marker

    @property
    def first(self) -> Marker:
        """The marker as it was when it was taken in hand."""
        return self._before[0] if self._before else self.marker

    @property
    def steps(self) -> tuple[int, int]:
        """How many steps can be undone, and how many done again."""
        return len(self._before), len(self._after)

    def placement(self, part: int) -> Placement:
        """Return where a part lies (its index in the lay).

        Raises
        ------
        JobError
            It doesn't lie on this marker.

        """
        for placement in self.marker.placements:
            if placement.part == part:
                return placement
        raise JobError("this part does not lie on the marker")

    def tried(self, part: int, change: Change) -> tuple[Finding, ...]:
        """Return what the judge says of a part if it were changed so."""
        return self._judge.faults(changed(self.marker, self.placement(part), change))

    def change(self, part: int, change: Change) -> tuple[Finding, ...]:
        """Change a part, and return what the judge says of it there."""
        return self._moved(changed(self.marker, self.placement(part), change))

    def tried_together(self, parts: Collection[int], change: Change) -> tuple[Finding, ...]:
        """Return what the judge says of several parts if they were changed as one."""
        marker = together(self.marker, self._lying(parts), change)
        return self._faults(Judge(marker, amounts=self._amounts), parts)

    def together(self, parts: Collection[int], change: Change) -> tuple[Finding, ...]:
        """Change several parts as one, and return what the judge says of them there."""
        return self._put(together(self.marker, self._lying(parts), change), parts)

    def to_sheet(
        self, parts: Collection[int], *, sheet: int | None = None, kind: int | None = None
    ) -> tuple[Finding, ...]:
        """Lay parts in the same place on another sheet that is used, or a further one of a kind."""
        marker = on_sheet(self.marker, self._lying(parts), sheet=sheet, kind=kind)
        return self._put(marker, parts)

    def lay(self, part: int, *, sheet: int = 0) -> tuple[Finding, ...]:
        """Lay a part that does not lie yet: behind the others, or in a corner of a sheet."""
        return self._put(laid_down(self.marker, part, sheet=sheet), [part])

    def slide(self, part: int, direction: Point) -> tuple[Finding, ...]:
        """Move a part until it touches, and return what the judge says of it there."""
        return self._moved(slide(self.marker, self.placement(part), direction))

    def slide_together(self, parts: Collection[int], direction: Point) -> tuple[Finding, ...]:
        """Move several parts as one until the first of them touches."""
        there = slide_together(self.marker, self._lying(parts), direction)
        return self._put(with_placements(self.marker, there), parts)

    def hold(self, *parts: int) -> None:
        """Hold parts where they lie (none named: all), for searches to lay the rest round them."""
        self.take(hold(self.marker, self._names(parts)))

    def release(self, *parts: int) -> None:
        """Let parts go that are held (none named: all)."""
        self.take(release(self.marker, self._names(parts)))

    def _names(self, parts: Collection[int]) -> list[str] | None:
        return [self.marker.lay.parts[part].name for part in self._lying(parts)] or None

    def push(self) -> None:
        """Push the parts together, each with its neighbours as they are; what is held stays."""
        # What searches loads much: a page on which nothing is pushed does without.
        from nesting.search.squeezing.push import push_together

        self.take(push_together(self.marker))

    def next_turn(self, part: int) -> float:
        """Return how many degrees it is to the next turn that its rules allow.

        A quarter where any will do; a half where none but the one it lies at is allowed, which
        the judge will mind.
        """
        turns, angle = self.marker.lay.parts[part].turns, self.placement(part).angle
        if turns.free:
            return 90.0
        ways = sorted((allowed - angle) % 360.0 for allowed in turns.angles)
        return next((way for way in ways if 1e-6 < way < 360.0 - 1e-6), 180.0)

    def take(self, marker: Marker) -> None:
        """Go on with another marker of the same parts; that is one step."""
        if marker != self.marker:
            self._step()
            self._judge = Judge(marker, amounts=self._amounts)

    def undo(self) -> bool:
        """Take the last step back; False if there is none."""
        return self._go(self._before, self._after)

    def redo(self) -> bool:
        """Do a step again that was undone; False if there is none."""
        return self._go(self._after, self._before)

    def _moved(self, placement: Placement) -> tuple[Finding, ...]:
        """Let a part lie there; one that is held is held there from then on."""
        before = self.placement(placement.part)
        if placement != before:
            self._step()
            self._judge.move(placement)
            part = self.marker.lay.parts[placement.part]
            if part.held is not None:
                held = hold(release(self.marker, [part.name]), [part.name])
                self._judge = Judge(held, amounts=self._amounts)
        return self._judge.faults(placement)

    def _lying(self, parts: Collection[int]) -> list[int]:
        """Return parts that lie on the marker, or refuse."""
        return [self.placement(part).part for part in parts]

    def _put(self, marker: Marker, parts: Collection[int]) -> tuple[Finding, ...]:
        """Go on with parts elsewhere; those that are held are held there from then on."""
        stay = [marker.lay.parts[p].name for p in parts if marker.lay.parts[p].held is not None]
        self.take(hold(release(marker, stay), stay) if stay else marker)
        return self._faults(self._judge, parts)

    def _faults(self, judge: Judge, parts: Collection[int]) -> tuple[Finding, ...]:
        """Return what the judge says of some parts, each thing once."""
        lie = {p.part: p for p in judge.marker.placements}
        return tuple(dict.fromkeys(f for part in parts for f in judge.faults(lie[part])))

    def _step(self) -> None:
        self._before.append(self.marker)
        self._after.clear()

    def _go(self, there: list[Marker], back: list[Marker]) -> bool:
        if not there:
            return False
        back.append(self.marker)
        self._judge = Judge(there.pop(), amounts=self._amounts)
        return True


def refusal(plan: Plan, number: int) -> str:
    """Return why a plan's marker can't be changed by hand; empty if it can."""
    entry = plan.entries[number]
    shared = [e for e in plan.entries_of(entry.material.name) if e.marker.lay.stock.open_ended]
    if entry.spreads != (1,) or len(shared) > 1:
        return "this marker is one of an order's, whose spreads are planned together"
    if entry.loads and entry.marker.lay.stock.open_ended:
        return "this marker is cut in loads of a bed, each laid by itself"
    return ""


def with_marker(plan: Plan, number: int, marker: Marker, *, found: str = BY_HAND) -> Plan:
    """Return a plan with another marker in place of one of its, judged and reckoned up anew.

    Parameters
    ----------
    plan
        The plan.
    number
        Which of its entries.
    marker
        Of the same material, on the same width.
    found
        How it came about, in place of why the search ended.

    Raises
    ------
    JobError
        The entry's marker can't be changed by itself.

    """
    if why := refusal(plan, number):
        raise JobError(f"{plan.entries[number].material.name}: {why}", hint="lay the job anew")
    entry = _entry(plan, plan.entries[number], marker, found)
    entries = (*plan.entries[:number], entry, *plan.entries[number + 1 :])
    return replace(plan, entries=entries, widths_tried=_widths(plan, entries, entry))


def _entry(plan: Plan, entry: Entry, marker: Marker, found: str) -> Entry:
    material, length = entry.material, figures(marker).length
    made = replace(
        entry,
        marker=marker,
        search=replace(entry.search, stopped=found),
        buying=buying(marker, material, width=entry.width, length=length),
        findings=check(marker, amounts=plan.job.amounts),
        unplaced=_unlaid(entry, marker),
        laid_from=(),
        unmatched=None,  # what rules cost was reckoned against the marker before
        freed=(),
        loads=sheet_loads(marker),
    )
    if material.taken_in is Unit.LENGTH and marker.lay.stock.open_ended:
        table, seed = plan.job.table, entry.search.seed
        (made,) = settled((made,), material, table=table, seed=seed)
    return made


def _unlaid(entry: Entry, marker: Marker) -> tuple[tuple[str, str], ...]:
    """Return the parts that don't lie on a marker, each with why not, as far as it is known."""
    known, parts = dict(entry.unplaced), marker.lay.parts
    laid = {placement.part for placement in marker.placements}
    ours = {part.name for part in parts}
    missing = [part.name for i, part in enumerate(parts) if i not in laid]
    others = [name for name in known if name not in ours]
    return tuple((name, known.get(name, "taken off by hand")) for name in (*missing, *others))


def _widths(plan: Plan, entries: Sequence[Entry], entry: Entry) -> tuple[WidthTried, ...]:
    cloth = entry.material
    if cloth.taken_in is not Unit.LENGTH or not entry.marker.lay.stock.open_ended:
        return plan.widths_tried
    mine = [e for e in entries if e.material.name == cloth.name and e.width is not None]
    anew = iter(chosen_width(plan.widths_tried, mine, cloth))
    return tuple(next(anew) if one.material == cloth.name else one for one in plan.widths_tried)
