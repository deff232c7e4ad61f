"""Sheets of many copies: good sheets, cut again and again, are where to begin."""

from __future__ import annotations

import random
import time
from dataclasses import replace
from typing import TYPE_CHECKING

from nesting.marker.check import is_good
from nesting.marker.figures import figures
from nesting.marker.lay import Lay
from nesting.pattern.measure import area as path_area
from nesting.search.effort import Effort, Run
from nesting.search.result import Limits, Observer, Result, Stopped
from nesting.search.starting.given import score
from nesting.search.starting.patterns import SheetPatterns, may_repeat

if TYPE_CHECKING:
    from ortools.sat.python import cp_model

__all__ = ["patterns_of", "stamped"]

_FEWEST = 120, 4
"""So many parts and sheets at least are laid by patterns."""

_PARTS, _SHEETS = 80, 5
"""What is laid for its sheets: so many parts, or as many as fill so many sheets…"""

_FULL = 0.85
"""…to this share."""

_TRIES, _SHARE = 12, 0.05
"""So often, and with which share of the effort."""

_DECISION, _MOST = 1.0, 0.05
"""How long one decision may take: in CP-SAT's own measure, and as a share of the time."""


def patterns_of(lay: Lay, limits: Limits, *, seed: int) -> SheetPatterns | None:
    """Return what is to be known of a lay on many sheets that can be cut again, else None."""

    def solver() -> cp_model.CpSolver:
        from ortools.sat.python import cp_model  # it loads much, and few decide by it

        solver = cp_model.CpSolver()
        solver.parameters.max_deterministic_time = _DECISION
        if limits.seconds is not None:
            solver.parameters.max_time_in_seconds = _MOST * limits.seconds
        solver.parameters.catch_sigint_signal = False  # Ctrl-C is the caller's
        solver.parameters.random_seed = seed
        solver.parameters.num_workers = 1
        return solver

    parts, sheets = _FEWEST
    if len(lay.parts) < parts or not may_repeat(lay):
        return None
    patterns = SheetPatterns(lay, solver)
    return patterns if patterns.bound.value >= sheets else None


def stamped(
    patterns: SheetPatterns, run: Run, limits: Limits, observer: Observer | None, number: int
) -> Result:
    """Search portions, cut their sheets again and again, then search the whole from there."""
    effort, lay = Effort(run, limits, observer, number), patterns.lay
    first = effort.search(lay, replace(effort.share(0.0), rounds=0, seconds=limits.seconds))
    if first.stopped in (Stopped.INTERRUPTED, Stopped.TARGET, Stopped.OPTIMAL) or first.unplaced:
        return effort.whole(first)
    found = _put_together(patterns, effort, first)
    start = min((first.marker, found.marker), key=score)
    if not is_good(start):
        start = first.marker
    got = effort.search(lay, effort.share(1.0), start)
    patterns.keep(got)
    last = patterns.whole(None)
    best = min((got.marker, start, last.marker), key=score)
    if best is not got.marker and is_good(best):
        got = replace(got, marker=best, unplaced=(), stopped=last.stopped)
        effort.history.append((effort.seconds, figures(best).last_length))
    return effort.whole(got)


def _put_together(patterns: SheetPatterns, effort: Effort, first: Result) -> Result:
    """Lay some parts, in another mix each time, and put the sheets together to the whole."""
    dice = random.Random(first.seed)
    begin, before = time.monotonic(), effort.seconds
    patterns.keep(first)
    sheets = min(patterns.bound.value / 2, _SHEETS)
    area = sheets * _FULL * path_area(patterns.lay.stock.sheets[0].outline)
    some = replace(effort.share(_SHARE), sheets=None)
    for _ in range(_TRIES):
        mixed = patterns.mixed(dice, area=area, parts=_PARTS)
        if not mixed.parts or effort.left <= 0.0:
            continue
        got = effort.search(mixed, some, part=True)
        patterns.keep(got)
        if got.stopped is Stopped.INTERRUPTED:
            break
    found = patterns.whole(None)
    # What was decided took its time, too.
    effort.seconds = max(effort.seconds, before + time.monotonic() - begin)
    return found
