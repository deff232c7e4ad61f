"""Lays of rectangles: beams of skylines from above, CP-SAT and bounds from below."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Future, ThreadPoolExecutor, wait
from dataclasses import replace

import numpy as np

from nesting.marker.bound import lower_bound
from nesting.marker.lay import Lay
from nesting.marker.marker import Marker
from nesting.search.box_model import Effort, reachable, solve_boxes
from nesting.search.boxes import Boxes, Spot, boxes_of, is_rectangular, marker_of, spots_of
from nesting.search.fill import Beam, Filler
from nesting.search.result import Observer, Progress, Result, Stopped, Unplaced

__all__ = ["is_rectangular", "pack"]

_POLL = 0.02  # s between two looks at the clock and the stop rule
_EXACT_BOXES = 40  # beyond this many, a second beam finds more than CP-SAT does
_WORK = 3_000_000  # states × ways a level: a kernel call stays well under a second
_MEMORY = 40_000_000  # steps kept of all states of two levels
_ROUND = 0.02  # deterministic time of CP-SAT in its first round, about a second


class _Race:
    """The best spots and the bound, shared by those who work on them."""

    def __init__(self, boxes: Boxes, bound: int, ends: Callable[[], bool]) -> None:
        self.boxes = boxes
        self.bound = bound
        self.reach: int | None = None
        self.spots: tuple[Spot, ...] | None = None
        self.rounds = 0
        self.begin = time.monotonic()
        self.history: list[tuple[float, float]] = []
        self._sums: int | None = None
        self._ends = ends
        self._over = False
        self._lock = threading.Lock()
        self._stoppers: dict[int, Callable[[], None]] = {}
        self.raise_bound(bound)

    def seconds(self) -> float:
        return time.monotonic() - self.begin

    def offer(self, spots: Sequence[Spot]) -> None:
        """Take spots if they reach less far than the best."""
        items = self.boxes.items
        reach = max(s.x + box.sizes[s.way][0] for s, box in zip(spots, items, strict=True))
        with self._lock:
            if self.reach is None or reach < self.reach:
                self.reach, self.spots = reach, tuple(spots)
                self.history.append((self.seconds(), self.boxes.millimetres(reach)))

    def raise_bound(self, bound: int) -> None:
        """Take a proven bound, and the least sum of lengths not below it."""
        with self._lock:
            if self._sums is None:
                self._sums = reachable(self.boxes, 2 * bound + 1, axis=0) or 0
            above = self._sums >> bound
            if above:
                bound += (above & -above).bit_length() - 1
            self.bound = max(self.bound, bound)

    def solved(self) -> bool:
        return self.reach is not None and self.reach <= self.bound

    def over(self) -> bool:
        """Whether to come to an end."""
        return self._over or self.solved() or self._ends()

    def finish(self) -> None:
        """End everybody's work."""
        self._over = True
        for stopper in list(self._stoppers.values()):
            stopper()

    def keep(self, stopper: Callable[[], None]) -> None:
        """Remember how to end the calling thread's CP-SAT."""
        self._stoppers[threading.get_ident()] = stopper


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
            rough=float(rng.choice([0.03, 0.05, 0.1, 0.2])),
            tall=float(rng.choice([0.0, 0.1, 0.3])),
            large=float(rng.choice([0.1, 0.3])),
            noise=float(rng.choice([0.0, 0.0, 0.1])),
            upright=turn % 2 == 1,
            seed=int(rng.integers(1 << 30)),
        )
        turn += 1
        width *= 1.3


def _first(race: _Race, filler: Filler) -> None:
    """Find some packing at once: a narrow beam with no limit to the length."""
    far = sum(max(size[0] for size in box.sizes) for box in race.boxes.items)
    spots = filler.run(far, Beam(width=4))
    assert spots is not None
    race.offer(spots)


def _squeeze(race: _Race, filler: Filler, beam: Beam) -> None:
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


def _fill(race: _Race, filler: Filler, beams: Iterator[Beam]) -> None:
    for beam in beams:
        if race.over():
            return
        _squeeze(race, filler, beam)


# --- from below ---------------------------------------------------------------------


def _close_in(race: _Race, effort: Effort, *, slices: int | None = None) -> None:
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
    boxes = replace(every, items=tuple(every.items[i] for i in fitting))
    unplaced = tuple(
        Unplaced(part=i, why="wider than the cloth in every turn allowed it")
        for i, box in enumerate(every.items)
        if not box.sizes
    )
    true_bound = lower_bound(lay)
    if not fitting:
        return Result(
            marker=Marker(lay=lay, placements=()),
            stopped=Stopped.INFEASIBLE,
            bound=true_bound,
            seconds=time.monotonic() - begin,
            first_seconds=0.0,
            rounds=0,
            seed=seed,
            workers=workers,
            unplaced=unplaced,
        )

    def ends() -> bool:
        late = seconds is not None and time.monotonic() - begin >= seconds
        return late or (stop is not None and stop())

    race = _Race(boxes, boxes.units(true_bound), ends)
    race.begin = begin
    filler = Filler(boxes)
    _first(race, filler)
    first = race.seconds()
    if hint is not None:
        given = spots_of(hint, every)
        if given is not None and all(given[i] is not None for i in fitting):
            race.offer([spot for spot in given if spot is not None])
    watch = _Watch(lay, race, true_bound, observer)
    if rounds is not None:
        _in_turn(race, filler, rounds=rounds, seed=seed, watch=watch)
    else:
        _at_once(race, filler, seconds=seconds, seed=seed, workers=workers, watch=watch)
    return _result(
        lay, race, fitting, true_bound, unplaced, first=first, rounds=rounds, seed=seed,
        workers=workers, stop=stop,
    )  # fmt: skip


class _Watch:
    """Tells the observer of improvements, from one thread."""

    def __init__(self, lay: Lay, race: _Race, true_bound: float, observer: Observer | None) -> None:
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
                length=length,
                sheets=0,
                density=full / length if length > 0 else 0.0,
                bound=_proven(race, self._bound),
                rounds=race.rounds,
                seconds=race.seconds(),
            )
        )


def _net_area(boxes: Boxes) -> int:
    return sum(
        (box.sizes[0][0] - boxes.along) * (box.sizes[0][1] - boxes.across) for box in boxes.items
    )


def _proven(race: _Race, true_bound: float) -> float:
    """Return the bound in mm: what is proven of boxes counts if they are the parts themselves."""
    boxes = race.boxes
    if boxes.exact and boxes.along == boxes.across == 0:
        return max(true_bound, boxes.millimetres(race.bound))
    return true_bound


def _in_turn(race: _Race, filler: Filler, *, rounds: int, seed: int, watch: _Watch) -> None:
    """Spend rounds one after another: beams, and every fourth a slice of CP-SAT."""
    beams = _beams(race.boxes, seed=seed, upright=0)
    turn, time_given = 0, _ROUND
    while race.rounds < rounds and not race.over():
        turn += 1
        if turn % 4 == 0 and len(race.boxes.items) <= _EXACT_BOXES:
            race.rounds += 1
            _close_in(race, Effort(deterministic=time_given, seed=seed), slices=2)
            time_given *= 1.5
        else:
            _squeeze(race, filler, next(beams))
        watch()


def _at_once(
    race: _Race,
    filler: Filler,
    *,
    seconds: float | None,
    seed: int,
    workers: int,
    watch: _Watch,
) -> None:
    """Let threads work side by side until all is proven, or time or stop rule end it."""
    tasks: list[Callable[[], None]] = []
    exact = len(race.boxes.items) <= _EXACT_BOXES
    beams = 1 if exact else max(1, workers)
    for k in range(beams):
        guides = _beams(race.boxes, seed=seed, upright=k)
        tasks.append(lambda guides=guides: _fill(race, filler, guides))  # type: ignore[misc]
    if exact:
        effort = Effort(seconds=seconds, workers=max(1, workers - 1), seed=seed)
        tasks.append(lambda: _close_in(race, effort))
    with ThreadPoolExecutor(len(tasks)) as pool:
        running: list[Future[None]] = [pool.submit(task) for task in tasks]
        try:
            while not race.over() and any(not task.done() for task in running):
                wait(running, timeout=_POLL)
                watch()
                if any(task.done() and task.exception() for task in running):
                    break
        finally:
            race.finish()
        for task in running:
            task.result()
    watch()


def _result(
    lay: Lay,
    race: _Race,
    fitting: list[int],
    true_bound: float,
    unplaced: tuple[Unplaced, ...],
    *,
    first: float,
    rounds: int | None,
    seed: int,
    workers: int,
    stop: Callable[[], bool] | None,
) -> Result:
    assert race.spots is not None
    every = boxes_of(lay)
    spots: list[Spot | None] = [None] * len(lay.parts)
    for i, spot in zip(fitting, race.spots, strict=True):
        spots[i] = spot
    length = race.boxes.millimetres(race.reach or 0)
    bound = _proven(race, true_bound)
    limit = getattr(lay.stock, "longest", None)
    if limit is not None and length > limit * (1.0 + 1e-9):
        for i, spot in zip(fitting, race.spots, strict=True):
            reach = race.boxes.millimetres(spot.x + every.items[i].sizes[spot.way][0])
            if reach > limit * (1.0 + 1e-9):
                spots[i] = None
                unplaced += (Unplaced(part=i, why="beyond the longest marker allowed"),)
    if unplaced:
        stopped = Stopped.INFEASIBLE
    elif length <= bound * (1.0 + 1e-9):
        stopped = Stopped.OPTIMAL
    elif race.solved():
        stopped = Stopped.STALLED
    elif stop is not None and stop():
        stopped = Stopped.INTERRUPTED
    else:
        stopped = Stopped.ROUNDS if rounds is not None and race.rounds >= rounds else Stopped.TIME
    return Result(
        marker=marker_of(lay, every, spots),
        stopped=stopped,
        bound=min(bound, length) if not unplaced else bound,
        seconds=race.seconds(),
        first_seconds=first,
        rounds=race.rounds,
        seed=seed,
        workers=workers,
        unplaced=unplaced,
        history=tuple(race.history),
    )
