"""Parts that may turn freely, first laid square to the grain: odd turns have to pay.

Freedom makes a search slower, and parts a few degrees askew for nothing are a nuisance to
ruler and knife. So what is found at right angles stands until the free search beats it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from nesting.marker.figures import figures
from nesting.marker.lay import Lay, Turns
from nesting.search.prepared.holds import Pins
from nesting.search.result import Limits, Observer, Progress, Result, Stopped

__all__ = ["first_square", "pays", "squared"]

_RIGHT = Turns(angles=(0.0, 90.0, 180.0, 270.0))

_SHARE = 0.4
"""Share of the time in which parts are laid square to the grain."""

_PAYS = 0.005
"""An odd turn pays if it makes the marker shorter by more than this share (our choice)."""

Run = Callable[[Lay, Limits, Observer | None], Result]


def squared(lay: Lay) -> Lay | None:
    """Return the lay with right angles alone for what may turn freely; None if nothing may.

    Hides are left as they are: nothing on them is square.
    """
    hides = any(sheet.cost or sheet.regions for sheet in lay.stock.sheets)
    if hides or not any(part.turns.free for part in lay.parts):
        return None
    pins = Pins(lay)
    parts = tuple(
        replace(p, turns=_RIGHT) if p.turns.free and p.held is None and pins.turn(p) is None else p
        for p in lay.parts
    )
    return replace(lay, parts=parts)


def pays(length: float, square: float) -> bool:
    """Whether a marker with odd turns is so much shorter than a square one (mm) that they pay."""
    return length < square * (1.0 - _PAYS)


def first_square(
    lay: Lay, square: Lay, run: Run, limits: Limits, observer: Observer | None
) -> Result:
    """Search at right angles, then freely, and return the better.

    `run` searches a lay within limits. The bound is that of the free lay.
    """
    first = run(square, _share_of(limits), observer)
    whole = replace(first, marker=replace(first.marker, lay=lay))
    if first.stopped is Stopped.INTERRUPTED:
        return whole
    rest = limits
    if limits.seconds is not None:
        rest = replace(limits, seconds=max(limits.seconds - first.seconds, 0.0))

    def tell(progress: Progress) -> None:
        """Pass on what is better than the square marker."""
        if observer is not None and (progress.sheets, progress.length) < _size(first):
            observer(progress)

    free = run(lay, rest, tell)
    best = free if _beats(free, first) else whole
    return replace(
        best,
        bound=free.bound,
        stopped=free.stopped,
        seconds=first.seconds + free.seconds,
        rounds=first.rounds + free.rounds,
        first_seconds=first.first_seconds,
        history=(*first.history, *((first.seconds + s, n) for s, n in free.history)),
    )


def _share_of(limits: Limits) -> Limits:
    return limits if limits.seconds is None else replace(limits, seconds=_SHARE * limits.seconds)


def _size(result: Result) -> tuple[int, float]:
    found = figures(result.marker)
    return found.sheets, found.length


def _beats(free: Result, first: Result) -> bool:
    """Whether the free search lays more, on fewer sheets, or so much shorter that it pays."""
    if len(free.unplaced) != len(first.unplaced):
        return len(free.unplaced) < len(first.unplaced)
    (sheets, length), (before, square) = _size(free), _size(first)
    return sheets < before or (sheets == before and pays(length, square))
