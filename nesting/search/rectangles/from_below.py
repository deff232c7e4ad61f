"""Bounds of packings from below: what CP-SAT proves of boxes, and what that says of parts."""

from __future__ import annotations

import math
from dataclasses import replace

from nesting.marker.lay import Lay
from nesting.search.rectangles.boxes import boxes_of
from nesting.search.rectangles.effort import Effort
from nesting.search.rectangles.race import Race

__all__ = ["close_in", "proven", "spaced_bound"]


def close_in(race: Race, effort: Effort, *, slices: int | None = None) -> None:
    """Let CP-SAT decide the bound and minimise below the best, in turn, ever longer."""
    from nesting.search.rectangles.box_model import solve_boxes  # loads much; few lays are of boxes

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


def spaced_bound(lay: Lay, race: Race, bound: float, effort: Effort) -> float:
    """Return a bound (mm) for a lay with spacing from boxes grown by less.

    Parts nearer than g in x are at least sqrt(spacing² − g²) apart in y: boxes grown by
    g along and by that across never overlap, whichever g. Grown by the whole spacing
    both ways they might, since corners may lie nearer.
    """
    from nesting.search.rectangles.box_model import solve_boxes

    best = race.boxes.millimetres(race.reach or 0)
    s, unit = lay.spacing, race.boxes.unit
    half = math.floor(s * math.sqrt(0.5) / unit) * unit
    for along, across in ((s, 0.0), (0.0, s), (half, half)):
        boxes = boxes_of(lay, along=along, across=across)
        high = boxes.units(best * (1 - 1e-9)) - 1
        low = min(boxes.units(bound), high)  # what is less than a unit below is to be shown, too
        if not boxes.proves or bound >= best * (1 - 1e-9) or race.late():
            continue
        part = effort
        if effort.seconds is not None:
            part = replace(effort, seconds=(effort.seconds - race.seconds()) / 3)
        answer = solve_boxes(boxes, low=low, high=high, effort=part, keep=race.keep)
        if answer.bound > low:  # else there may be packings shorter than the true distances allow
            bound = max(bound, min(best, boxes.millimetres(answer.bound)))
    return bound


def proven(race: Race, true_bound: float) -> float:
    """Return the bound in mm: what is proven of boxes counts if they are the parts themselves."""
    boxes = race.boxes
    if boxes.proves and boxes.along == boxes.across == 0:
        return max(true_bound, boxes.millimetres(race.bound))
    return true_bound
