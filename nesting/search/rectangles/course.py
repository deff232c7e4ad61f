"""Lays of rectangles: beams of skylines from above, CP-SAT and bounds from below."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import replace
from functools import partial

from nesting.marker.bound import least_and_how
from nesting.marker.impossible import fits_nowhere
from nesting.marker.lay import Lay
from nesting.marker.marker import Marker
from nesting.quantity import of_length
from nesting.search.rectangles.boxes import Boxes, Spot, boxes_of, marker_of, spots_of
from nesting.search.rectangles.effort import Effort
from nesting.search.rectangles.fill import Filler
from nesting.search.rectangles.from_above import pack_at_once
from nesting.search.rectangles.from_below import proven, spaced_bound
from nesting.search.rectangles.race import Race
from nesting.search.rectangles.side_by_side import FIRST_ROUND, Watch, at_once, in_turn, together
from nesting.search.result import Observer, Result, Stopped, Unplaced

__all__ = ["pack"]


def pack(
    lay: Lay,
    *,
    seconds: float | None = 30.0,
    rounds: int | None = None,
    seed: int = 1,
    workers: int = 2,
    hint: Marker | None = None,
    stop: Callable[[], bool] | None = None,
    observer: Observer | None = None,
) -> Result:
    """Lay rectangles on a strip, to the proven shortest length where time allows.

    Parameters
    ----------
    lay
        A lay for which `is_rectangular` holds.
    seconds
        Wall time, None for no limit.
    rounds
        If given, the search runs in one thread for so many rounds, a beam or a slice of
        CP-SAT each, and finds the same marker on any machine.
    seed
        Of beams and CP-SAT.
    workers
        Threads: one beam, the others CP-SAT or beams.
    hint
        A marker of the lay to start from.
    stop
        Asked every few hundredths of a second; True ends the search.
    observer
        Told of every improvement.

    Returns
    -------
    Result
        `bound` holds for every marker of the lay. With spacing, boxes grown by it are
        what is packed, though corners might lie nearer: then only a bound that holds
        for true distances is given, and a packing of boxes that can't be bettered ends
        the search as "no improvement" unless it meets that bound.

    """
    begin = time.monotonic()
    every = boxes_of(lay)
    fitting = [i for i, box in enumerate(every.items) if box.sizes]
    fit = replace(lay, parts=tuple(lay.parts[i] for i in fitting))
    least, how = least_and_how(fit)
    bound = least.value

    def ends() -> bool:
        late = seconds is not None and time.monotonic() - begin >= seconds
        return late or (stop is not None and stop())

    boxes = replace(every, items=tuple(every.items[i] for i in fitting))
    race = Race(boxes, boxes.units(bound), ends)
    race.begin = begin
    first = 0.0
    if fitting:
        filler = Filler(boxes)
        pack_at_once(race, filler)
        first = race.seconds()
        _take_hint(race, every, fitting, hint)
        watch = Watch(lay, race, bound, observer)
        effort = Effort(seconds=seconds, workers=max(1, workers - 1), seed=seed)
        if rounds is not None:
            effort = Effort(deterministic=FIRST_ROUND, seed=seed)
            alone = partial(in_turn, race, filler, rounds=rounds, effort=effort)
            together([alone], race=race, until=race.over, watch=watch)
        else:
            at_once(race, filler, workers=workers, effort=effort, watch=watch)
        bound = proven(race, bound)
        if lay.spacing and race.solved() and boxes.exact:
            found: list[float] = []
            together(
                [lambda: found.append(spaced_bound(fit, race, bound, effort))],
                race=race,
                until=race.late,
                watch=watch,
            )
            bound = max(bound, *found)
        if bound > least.value:
            how = "by all ways to lay the rectangles"
    spots, unplaced = _allowed(lay, race, every, fitting)
    length = race.boxes.millimetres(race.reach or 0)
    if unplaced and (fits_nowhere(lay) or bound > lay.stock.most * (1.0 + 1e-6)):
        stopped = Stopped.INFEASIBLE
    elif not unplaced and length <= bound * (1.0 + 1e-9):
        stopped = Stopped.OPTIMAL
    elif race.interrupted or (stop is not None and stop()):
        stopped = Stopped.INTERRUPTED
    elif unplaced:
        stopped = Stopped.NOT_FOUND
    elif race.solved():
        stopped = Stopped.STALLED
    else:
        stopped = Stopped.ROUNDS if rounds is not None and race.rounds >= rounds else Stopped.TIME
    return Result(
        marker=marker_of(lay, every, spots),
        stopped=stopped,
        bound=of_length(min(bound, length)),
        bound_by=how,
        seconds=race.seconds(),
        first_seconds=first,
        rounds=race.rounds,
        seed=seed,
        workers=workers,
        unplaced=unplaced,
        history=tuple(race.history),
    )


def _take_hint(race: Race, every: Boxes, fitting: list[int], hint: Marker | None) -> None:
    given = spots_of(hint, every) if hint is not None else None
    if given is not None:
        spots = [spot for spot in (given[i] for i in fitting) if spot is not None]
        if len(spots) == len(fitting):
            race.offer(spots)


def _allowed(
    lay: Lay, race: Race, every: Boxes, fitting: list[int]
) -> tuple[list[Spot | None], tuple[Unplaced, ...]]:
    """Return the spots of all parts, and those that have none or lie too far out."""
    spots: list[Spot | None] = [None] * len(lay.parts)
    why = ["wider than the cloth in every turn allowed it"] * len(lay.parts)
    limit = lay.stock.most * (1.0 + 1e-9)
    for i, spot in zip(fitting, race.spots or (), strict=True):
        if every.millimetres(spot.x + every.items[i].sizes[spot.way][0]) <= limit:
            spots[i] = spot
        else:
            why[i] = "no room was found for it within the longest marker allowed"
    unplaced = (Unplaced(part=i, why=why[i]) for i, spot in enumerate(spots) if spot is None)
    return spots, tuple(unplaced)
