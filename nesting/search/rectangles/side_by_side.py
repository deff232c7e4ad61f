"""Beams and CP-SAT at work on one race of packings: in turn, or side by side in threads."""

from __future__ import annotations

import sys
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor, wait
from dataclasses import replace
from functools import partial

from nesting.marker.lay import Lay
from nesting.quantity import of_length
from nesting.search.rectangles.effort import Effort
from nesting.search.rectangles.fill import Filler
from nesting.search.rectangles.from_above import beams_for, fill, squeeze
from nesting.search.rectangles.from_below import close_in, proven
from nesting.search.rectangles.race import Race
from nesting.search.result import Observer, Progress

__all__ = ["FIRST_ROUND", "Watch", "at_once", "in_turn", "together"]

_POLL = 0.02  # s between two looks at the clock and the stop rule
_EXACT_BOXES = 40  # beyond this many, a second beam finds more than CP-SAT does
FIRST_ROUND = 0.02  # deterministic time of CP-SAT in its first round, about a second


class Watch:
    """Tells the observer of improvements, from one thread."""

    def __init__(self, lay: Lay, race: Race, true_bound: float, observer: Observer | None) -> None:
        assert lay.stock.open_ended, "boxes are packed on a strip"
        self._lay = lay.name
        self._race, self._bound, self._observer = race, true_bound, observer
        # The boxes' own width is rounded down to what they can make use of.
        self._full = race.boxes.net_area * race.boxes.unit**2 / lay.stock.width
        self._told = 0

    def __call__(self) -> None:
        """Tell what was found since the last call, if anything was."""
        race = self._race
        if self._observer is None or len(race.history) == self._told:
            return
        self._told = len(race.history)
        length = race.history[-1][1]
        self._observer(
            Progress(
                lay=self._lay,
                length=length,
                sheets=0,
                density=self._full / length if length > 0 else 0.0,
                bound=of_length(proven(race, self._bound)),
                rounds=race.rounds,
                seconds=race.seconds(),
            )
        )


def in_turn(
    race: Race,
    filler: Filler,
    *,
    rounds: int,
    effort: Effort,
) -> None:
    """Spend rounds one after another: beams, and every fourth a slice of CP-SAT."""
    beams = beams_for(race.boxes, seed=effort.seed, upright=0)
    turn = 0
    while race.rounds < rounds and not race.over():
        turn += 1
        if turn % 4 == 0 and len(race.boxes.items) <= _EXACT_BOXES:
            race.rounds += 1
            close_in(race, effort, slices=2)
            effort = replace(effort, deterministic=1.5 * (effort.deterministic or FIRST_ROUND))
        else:
            squeeze(race, filler, next(beams))


def at_once(race: Race, filler: Filler, *, workers: int, effort: Effort, watch: Watch) -> None:
    """Let beams, and CP-SAT if the boxes are few, work side by side."""
    exact = len(race.boxes.items) <= _EXACT_BOXES
    if workers <= 1:
        slices = replace(effort, seconds=None, deterministic=FIRST_ROUND)
        alone = partial(in_turn, race, filler, rounds=sys.maxsize, effort=slices)
        together([alone], race=race, until=race.over, watch=watch)
        return
    guides = [
        beams_for(race.boxes, seed=effort.seed, upright=k) for k in range(1 if exact else workers)
    ]
    tasks = [partial(fill, race, filler, beams) for beams in guides]
    if exact:
        tasks.append(partial(close_in, race, effort))
    together(tasks, race=race, until=race.over, watch=watch)


def together(
    tasks: Sequence[Callable[[], object]],
    *,
    race: Race,
    until: Callable[[], bool],
    watch: Watch,
) -> None:
    """Run tasks in threads until one fails, all are done, `until` says so, or Ctrl-C."""
    with ThreadPoolExecutor(len(tasks)) as pool:
        running = [pool.submit(task) for task in tasks]
        try:
            while not until() and not all(task.done() for task in running):
                wait(running, timeout=_POLL)
                watch()
                if any(task.done() and task.exception() for task in running):
                    break
        except KeyboardInterrupt:
            race.interrupted = True
        finally:
            race.finish()
        for task in running:
            task.result()
    watch()
