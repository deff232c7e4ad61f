"""The search, from lay to marker."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import partial

from nesting.marker.bound import least_and_how
from nesting.marker.check import is_good
from nesting.marker.figures import figures
from nesting.marker.holding import refuse_holds
from nesting.marker.impossible import fits_nowhere, too_little
from nesting.marker.lay import Lay
from nesting.marker.marker import Marker
from nesting.search import opening
from nesting.search.account import Account
from nesting.search.courses import boxes, nothing, room_for, without
from nesting.search.freedom import freed
from nesting.search.leaving import kept_for, leaving
from nesting.search.prepared.held_first import held_first
from nesting.search.prepared.holds import has_held
from nesting.search.print_bound import printed_length
from nesting.search.problem import Start, first_marker, on_used, prepare
from nesting.search.rectangles.boxes import is_rectangular
from nesting.search.result import Limits, Observer, Result, Stopped
from nesting.search.square import may_turn
from nesting.search.squeezing import refine
from nesting.search.starting import given
from nesting.search.starting.blocks import blocks_of
from nesting.search.starting.clusters import laid_as_one
from nesting.search.starting.copies import repeated
from nesting.search.starting.jigsaw import put_together
from nesting.search.starting.sheet_copies import patterns_of, stamped
from nesting.search.team import Team

__all__ = ["search"]

_PROOF = 0.15
"""Share of the time after which nothing more is proved of a print."""

_SOME = 0.3
"""Share of the time in which room is looked for on the sheets of a marker that was given."""


def search(
    lay: Lay,
    *,
    limits: Limits = Limits(),  # noqa: B008
    seed: int = 1,
    workers: int = 2,
    observer: Observer | None = None,
    stop: Callable[[], bool] | None = None,
    start: Marker | None = None,
) -> Result:
    """Lay all parts on as little of the stock as can be found within the limits.

    Parts that are held stay where they are held.

    Parameters
    ----------
    lay
        The problem.
    limits
        When to end. With `rounds` and no other limit that bites, the same lay, seed and
        workers give the same marker on any machine.
    seed
        Of all random choices.
    workers
        Searches side by side, each but the first in a process of its own.
    observer
        Told of every improvement.
    stop
        Asked every few hundredths of a second; True ends the search.
    start
        A marker of this lay to go on from, with all its parts or some. If the judge finds no
        fault in it, and all parts lie, the answer is never worse.

    Returns
    -------
    Result
        The best marker found. Parts that could not be laid are named in `unplaced`; a lay
        that can't be met is a result, not an exception.

    Raises
    ------
    JobError
        Held parts break a rule where they are held.

    Examples
    --------
    >>> result = lay_parts(lay, limits=Limits(seconds=None, rounds=5), workers=1)
    >>> result.unplaced, check(result.marker)
    ((), ())

    """
    never = stop or (lambda: False)
    first: Marker | None = None

    def one(
        lay: Lay, limits: Limits, observer: Observer | None, begin: Marker | None, number: int,
        *, side: int = workers,
    ) -> Result:  # fmt: skip
        account = Account(lay, limits, seed + number, max(1, side), observer, never, start=begin)
        team = Team(account)
        try:
            return _course(account, team)
        finally:
            team.dismiss()

    def run(
        lay: Lay, limits: Limits, observer: Observer | None, begin: Marker | None, number: int
    ) -> Result:
        if begin is not None or limits.rounds == 0:
            return one(lay, limits, observer, begin, number)
        if sizes := blocks_of(lay):
            return replace(repeated(sizes, one, limits, observer, number), seed=seed)
        if (patterns := patterns_of(lay, limits, seed=seed)) is not None:
            return replace(stamped(patterns, one, limits, observer, number), seed=seed)
        return one(lay, limits, observer, begin, number)

    def across(lay: Lay, limits: Limits) -> Result:
        return one(lay, limits, None, None, 0, side=1)

    def found(lay: Lay) -> Result:
        return leaving(laid(lay, kept_for(lay, limits)), across, limits)

    def laid(lay: Lay, limits: Limits) -> Result:
        if start is not None or not may_turn(lay) or too_little(lay):
            return _proved(lay, run(lay, limits, observer, first, 0))
        return _proved(lay, replace(freed(lay, run, limits, observer), seed=seed))

    if start is None and not has_held(lay):
        return found(lay)
    refuse_holds(lay)
    order = held_first(lay)
    if start is not None:
        first = order.inward(replace(start, lay=lay))
    result = found(order.lay)
    result = replace(result, marker=order.outward(result.marker))
    if first is None or not is_good(whole := order.outward(first)):
        return result
    return given.better(result, whole)


def _proved(lay: Lay, result: Result) -> Result:
    """Return a result that is called infeasible if some part certainly fits nowhere."""
    if not result.unplaced or result.stopped is Stopped.INTERRUPTED or not fits_nowhere(lay):
        return result
    return replace(result, stopped=Stopped.INFEASIBLE)


def _course(account: Account, team: Team) -> Result:
    """Search: first marker, search side by side, last squeeze."""
    if not account.lay.parts:
        return nothing(account)
    if team.may_be_many():
        team.hire()
    problem, unfit = prepare(account.lay)
    if not problem.lay.parts:
        return account.answer(None, None, unfit, Stopped.NOT_FOUND, 0)
    if not unfit and is_rectangular(account.lay):
        team.dismiss()
        return boxes(account, problem)
    begun = None if account.start is None else given.given(problem, account.start)
    if begun is not None and begun.left and not account.lay.stock.open_ended:
        begun = room_for(account, begun, _SOME)
        begun = None if begun.left else begun
    if begun is not None:
        start = begun
    elif opening.has_costs(account.lay):
        start = opening.cheapest(
            problem, partial(room_for, account), stop=account.ends, hurry=account.late
        )
    else:
        start = first_marker(problem, stop=account.ends, hurry=account.late)
        problem, start = put_together(problem, start, stop=account.late)
    if start.left:
        none = too_little(problem.lay)
        start = room_for(account, start, 0.0 if none else 0.95)
        if start.left:
            return without(account, problem, start, unfit, none=none)
        start = on_used(problem, start)
    account.first = account.spent()
    _bounded(account, problem.lay if unfit else account.lay, start)
    team.aside = partial(laid_as_one, seed=account.seed, stop=account.ends)
    why, world, layout, rounds = team.search(problem, start)
    placements = refine.finish(
        problem, world, layout, seed=account.seed,
        ends=lambda share: why is Stopped.INTERRUPTED or account.ends(share),
        left=account.left,
    )  # fmt: skip
    return account.answer((problem, world), placements, unfit, why, rounds)


def _bounded(account: Account, lay: Lay, start: Start) -> None:
    """Note what no marker is below, by a print only after the first marker is told."""
    least, account.bound_by = least_and_how(lay)
    account.bound = least.value
    _tell_first(account, start)
    if lay.stock.open_ended:
        high = start.world.used_length(start.layout)
        ends = partial(account.ends, _PROOF)
        printed = printed_length(lay, low=account.bound, high=high, ends=ends)
        if printed > account.bound:
            account.bound, account.bound_by = printed, "by the print's repeat, as it lies here"


def _tell_first(account: Account, start: Start) -> None:
    """Tell of the first marker; of one that was given, as long as it is."""
    boards, length = len(start.world.sheets), start.world.used_length(start.layout)
    given_one = account.start
    if given_one is not None and given.score(given_one)[0] == 0 and is_good(given_one):
        length = min(length, figures(given_one).last_length)
    account.tell((boards, length), start.world)
