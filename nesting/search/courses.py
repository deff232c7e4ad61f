"""Courses that a search takes beside the ordinary one: nothing to lay, boxes, too little room."""

from __future__ import annotations

from dataclasses import replace

from nesting.marker.marker import Marker
from nesting.search.account import Account
from nesting.search.problem import Problem, Start, first_marker
from nesting.search.rectangles.course import pack
from nesting.search.result import Result, Stopped, Unplaced
from nesting.search.squeezing import refine

__all__ = ["boxes", "nothing", "room_for", "without"]

_NO_ROOM = "no room was found for it beside the other parts in the time"


def nothing(account: Account) -> Result:
    """Answer that there is nothing to lay."""
    marker = Marker(lay=account.lay, placements=())
    return Result(
        marker=marker, stopped=Stopped.OPTIMAL, bound=account.least, seconds=account.spent(),
        first_seconds=0.0, rounds=0, seed=account.seed, workers=account.workers,
    )  # fmt: skip


def boxes(account: Account, problem: Problem) -> Result:
    """Pack rectangles on a strip."""
    hint = account.start
    if hint is None or len(hint.placements) < len(account.lay.parts):
        start = first_marker(problem, stop=account.ends, hurry=account.late)
        placements = tuple(start.world.placements(start.layout))
        hint = None if start.left else Marker(lay=account.lay, placements=placements)
    seconds = account.limits.seconds
    if seconds is not None:
        seconds = max(seconds - account.spent(), 0.0)
    got = pack(
        account.lay, seconds=seconds, rounds=account.limits.rounds, seed=account.seed,
        workers=account.workers, hint=hint, stop=account.stop, observer=account.observer,
    )  # fmt: skip
    return replace(got, seconds=account.spent())


def room_for(account: Account, start: Start, share: float = 0.95) -> Start:
    """Find room for parts that bottom-left could not lay, in a share of the time."""
    timed = account.limits.seconds is not None
    return refine.insert(
        start, seed=account.seed, ends=lambda: account.ends(share=share), timed=timed
    )


def without(
    account: Account, problem: Problem, start: Start, unfit: tuple[Unplaced, ...], *, none: bool
) -> Result:
    """Answer with what could be laid; the other parts are named.

    `none`: it is proved that the stock is too small.
    """
    why = "there is no room for all parts on the stock, which is proved" if none else _NO_ROOM
    more = tuple(Unplaced(part=problem.index[i], why=why) for i in start.left)
    unplaced = tuple(sorted((*unfit, *more), key=lambda u: u.part))
    account.first = account.spent()
    stopped = Stopped.INFEASIBLE if none else Stopped.NOT_FOUND
    if account.stop():
        stopped = Stopped.INTERRUPTED
    placements = start.world.placements(start.layout)
    return account.answer((problem, start.world), placements, unplaced, stopped, 0)
