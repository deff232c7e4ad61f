"""Lays of rectangles: beams of skylines from above, CP-SAT and bounds from below."""

from __future__ import annotations

import math
import sys
import time
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor, wait
from dataclasses import replace
from functools import partial

import numpy as np

from nesting.marker.bound import lower_bound
from nesting.marker.lay import Lay
from nesting.marker.marker import Marker
from nesting.quantity import of_length
from nesting.search.rectangles.box_model import Effort, solve_boxes
from nesting.search.rectangles.boxes import (
    Boxes,
    Spot,
    boxes_of,
    is_rectangular,
    marker_of,
    spots_of,
)
from nesting.search.rectangles.fill import Beam, Filler
from nesting.search.rectangles.race import Race
from nesting.search.result import Observer, Progress, Result, Stopped, Unplaced

__all__ = ["is_rectangular", "pack"]

_POLL = 0.02  # s between two looks at the clock and the stop rule
_EXACT_BOXES = 40  # beyond this many, a second beam finds more than CP-SAT does
_WORK = 3_000_000  # states × ways a level: a kernel call stays well under a second
_MEMORY = 40_000_000  # steps kept of all states of two levels
_ROUND = 0.02  # deterministic time of CP-SAT in its first round, about a second


# --- from above ---------------------------------------------------------------------


def _beams(boxes: Boxes, *, seed: int, upright: int) -> Iterator[Beam]:
    """Yield beams, ever wider, their guides varied."""
    rng = np.random.default_rng((seed, upright))
    total = len(boxes.items)
    ways = sum(len(sizes) for sizes in {box.sizes for box in boxes.items})
    widest = max(1, min(_WORK // ways, _MEMORY // (2 * total + 6)))
    width = 32.0
    turn = upright
    while True:
        yield Beam(
            width=min(widest, int(width)),
            flare=float(rng.choice([0.0, 0.5, 1.0])),
            rough=float(rng.choice([0.025, 0.05, 0.05, 0.1, 0.2])),
            tall=float(rng.choice([0.0, 0.1, 0.2, 0.4])),
            large=float(rng.choice([0.0, 0.1, 0.1, 0.3])),
            noise=float(rng.choice([0.0, 0.0, 0.02])),
            both=bool(rng.integers(2)),
            upright=turn % 3 == 1,
            seed=int(rng.integers(1 << 30)),
        )
        turn += 1
        width *= 1.3


def _first(race: Race, filler: Filler) -> None:
    """Find some packing at once: a narrow beam with no limit to the length."""
    far = sum(max(size[0] for size in box.sizes) for box in race.boxes.items)
    spots = filler.run(far, Beam(width=4 if len(race.boxes.items) <= 1000 else 1))
    assert spots is not None
    race.offer(spots)


def _squeeze(race: Race, filler: Filler, beam: Beam) -> None:
    """Try the bound, then halve the range between what fails and the best found."""
    assert race.reach is not None
    failed, target = race.bound - 1, race.bound
    least = max(1, race.reach // 1000)
    while not race.over() and race.reach - failed > least:
        race.rounds += 1
        spots = filler.run(target, beam, race.over)
        if spots is not None:
            race.offer(spots)
        else:
            failed = target
        target = (failed + race.reach) // 2


def _fill(race: Race, filler: Filler, beams: Iterator[Beam]) -> None:
    for beam in beams:
        if race.over():
            return
        _squeeze(race, filler, beam)


# --- from below ---------------------------------------------------------------------


def _close_in(race: Race, effort: Effort, *, slices: int | None = None) -> None:
    """Let CP-SAT decide the bound and minimise below the best, in turn, ever longer."""
    share = 2.0
    done = 0
    while not race.over() and (slices is None or done < slices):
        assert race.reach is not None
        decide = done % 2 == 0
        low = race.bound
        high = low if decide else race.reach - 1
        part = effort
        if effort.deterministic is None:
            rest = share if effort.seconds is None else effort.seconds - race.seconds()
            part = replace(effort, seconds=min(share, rest))
        answer = solve_boxes(
            race.boxes,
            low=low,
            high=high,
            effort=part,
            hint=race.spots,
            found=race.offer,
            keep=race.keep,
        )
        if answer.spots is not None:
            race.offer(answer.spots)
        race.raise_bound(answer.bound)
        done += 1
        share *= 1.0 if decide else 1.5


def _spaced_bound(lay: Lay, race: Race, bound: float, effort: Effort) -> float:
    """Return a bound (mm) for a lay with spacing from boxes grown by less.

    Parts nearer than g in x are at least sqrt(spacing² − g²) apart in y: boxes grown by
    g along and by that across never overlap, whichever g. Grown by the whole spacing
    both ways they might, since corners may lie nearer.
    """
    best = race.boxes.millimetres(race.reach or 0)
    s, unit = lay.spacing, race.boxes.unit
    half = math.floor(s * math.sqrt(0.5) / unit) * unit
    for along, across in ((s, 0.0), (0.0, s), (half, half)):
        boxes = boxes_of(lay, along=along, across=across)
        low, high = boxes.units(bound), boxes.units(best * (1 - 1e-9)) - 1
        if not boxes.exact or low > high or race.late():
            continue
        part = effort
        if effort.seconds is not None:
            part = replace(effort, seconds=(effort.seconds - race.seconds()) / 3)
        answer = solve_boxes(boxes, low=low, high=high, effort=part, keep=race.keep)
        bound = max(bound, min(best, boxes.millimetres(answer.bound)))
    return bound


# --- the whole ----------------------------------------------------------------------


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
    bound = lower_bound(fit).value

    def ends() -> bool:
        late = seconds is not None and time.monotonic() - begin >= seconds
        return late or (stop is not None and stop())

    boxes = replace(every, items=tuple(every.items[i] for i in fitting))
    race = Race(boxes, boxes.units(bound), ends)
    race.begin = begin
    first = 0.0
    if fitting:
        filler = Filler(boxes)
        _first(race, filler)
        first = race.seconds()
        _take_hint(race, every, fitting, hint)
        watch = _Watch(lay.name, race, bound, observer)
        effort = Effort(seconds=seconds, workers=max(1, workers - 1), seed=seed)
        if rounds is not None:
            effort = Effort(deterministic=_ROUND, seed=seed)
            alone = partial(_in_turn, race, filler, rounds=rounds, effort=effort)
            _together([alone], race=race, until=race.over, watch=watch)
        else:
            _at_once(race, filler, workers=workers, effort=effort, watch=watch)
        bound = _proven(race, bound)
        if lay.spacing and race.solved() and boxes.exact:
            found: list[float] = []
            _together(
                [lambda: found.append(_spaced_bound(fit, race, bound, effort))],
                race=race,
                until=race.late,
                watch=watch,
            )
            bound = max(bound, *found)
    spots, unplaced = _allowed(lay, race, every, fitting)
    length = race.boxes.millimetres(race.reach or 0)
    if unplaced:
        stopped = Stopped.INFEASIBLE
    elif length <= bound * (1.0 + 1e-9):
        stopped = Stopped.OPTIMAL
    elif race.solved():
        stopped = Stopped.STALLED
    elif race.interrupted or (stop is not None and stop()):
        stopped = Stopped.INTERRUPTED
    else:
        stopped = Stopped.ROUNDS if rounds is not None and race.rounds >= rounds else Stopped.TIME
    return Result(
        marker=marker_of(lay, every, spots),
        stopped=stopped,
        bound=of_length(min(bound, length)),
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
            why[i] = "beyond the longest marker allowed"
    unplaced = (Unplaced(part=i, why=why[i]) for i, spot in enumerate(spots) if spot is None)
    return spots, tuple(unplaced)


class _Watch:
    """Tells the observer of improvements, from one thread."""

    def __init__(self, lay: str, race: Race, true_bound: float, observer: Observer | None) -> None:
        self._lay = lay
        self._race, self._bound, self._observer = race, true_bound, observer
        width = race.boxes.width - race.boxes.across
        self._full = _net_area(race.boxes) / width
        self._told = 0

    def __call__(self) -> None:
        race = self._race
        if self._observer is None or len(race.history) == self._told:
            return
        self._told = len(race.history)
        length = race.history[-1][1]
        full = self._full * race.boxes.unit
        self._observer(
            Progress(
                lay=self._lay,
                length=length,
                sheets=0,
                density=full / length if length > 0 else 0.0,
                bound=of_length(_proven(race, self._bound)),
                rounds=race.rounds,
                seconds=race.seconds(),
            )
        )


def _net_area(boxes: Boxes) -> int:
    return sum(
        (box.sizes[0][0] - boxes.along) * (box.sizes[0][1] - boxes.across) for box in boxes.items
    )


def _proven(race: Race, true_bound: float) -> float:
    """Return the bound in mm: what is proven of boxes counts if they are the parts themselves."""
    boxes = race.boxes
    if boxes.exact and boxes.along == boxes.across == 0:
        return max(true_bound, boxes.millimetres(race.bound))
    return true_bound


def _in_turn(
    race: Race,
    filler: Filler,
    *,
    rounds: int,
    effort: Effort,
) -> None:
    """Spend rounds one after another: beams, and every fourth a slice of CP-SAT."""
    beams = _beams(race.boxes, seed=effort.seed, upright=0)
    turn = 0
    while race.rounds < rounds and not race.over():
        turn += 1
        if turn % 4 == 0 and len(race.boxes.items) <= _EXACT_BOXES:
            race.rounds += 1
            _close_in(race, effort, slices=2)
            effort = replace(effort, deterministic=1.5 * (effort.deterministic or _ROUND))
        else:
            _squeeze(race, filler, next(beams))


def _at_once(race: Race, filler: Filler, *, workers: int, effort: Effort, watch: _Watch) -> None:
    """Let beams, and CP-SAT if the boxes are few, work side by side."""
    exact = len(race.boxes.items) <= _EXACT_BOXES
    if workers <= 1:
        slices = replace(effort, seconds=None, deterministic=_ROUND)
        alone = partial(_in_turn, race, filler, rounds=sys.maxsize, effort=slices)
        _together([alone], race=race, until=race.over, watch=watch)
        return
    guides = [
        _beams(race.boxes, seed=effort.seed, upright=k) for k in range(1 if exact else workers)
    ]
    tasks = [partial(_fill, race, filler, beams) for beams in guides]
    if exact:
        tasks.append(partial(_close_in, race, effort))
    _together(tasks, race=race, until=race.over, watch=watch)


def _together(
    tasks: Sequence[Callable[[], object]],
    *,
    race: Race,
    until: Callable[[], bool],
    watch: _Watch,
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
