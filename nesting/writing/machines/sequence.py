"""The order of cutting: what lies inside first, little travel, entries away from corners.

Work is done layer by layer as the file asks for it (by pen, layer or colour): marking
before drilling before notching before cutting. In one layer, everything inside a
contour, and all that belongs to its part, is done before the contour itself: holes,
notches and marks before outlines, a part that lies in another's cut-out before the
cut-out, and so on inwards. So nothing is worked on after it has come loose or dropped.
Sources: inner contours first, the published guides of two workshops (a university's and
a hire shop's); small before large and short travel are common practice, no source.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from shapely import Point as At
from shapely import STRtree

from nesting.pattern.path import Point
from nesting.pattern.polygon import polygon
from nesting.tolerance import TOLERANCE
from nesting.writing.machines.contour import chord_length
from nesting.writing.machines.entry import Way, chosen, ways
from nesting.writing.machines.formats import Format
from nesting.writing.machines.machine import RUN, Machine
from nesting.writing.machines.sequence_route import route
from nesting.writing.neutral.drawing import Drawing, Operation, Role, Stroke

__all__ = ["CuttingSequence", "in_sequence", "phases", "travel"]


@dataclass(frozen=True, slots=True, kw_only=True)
class CuttingSequence:
    """A drawing whose strokes are in the order in which they are run, and what that saves.

    `travel_before`, `travel_after`: mm between strokes, from the bed's origin, in the
    drawing's own order (layer by layer) and in this one. `run`: mm along the strokes.
    `lifts`: how often a tool is lifted. `seconds`: run and travel at the speeds the user
    typed, without starts, stops and tool changes; None without speeds.
    """

    drawing: Drawing
    travel_before: float
    travel_after: float
    run: float
    lifts: int
    seconds: float | None


def in_sequence(
    drawing: Drawing,
    machine: Machine,
    *,
    form: Format,
    start: Point = (0.0, 0.0),
    rounds: int = 4,
) -> CuttingSequence:
    """Put a drawing's strokes in the order of cutting.

    Parameters
    ----------
    drawing
        Strokes of operations that the machine has tools for.
    machine
        Its tools and speeds.
    form
        The format of the file, which says what is done alike.
    start
        Where the tools begin, in mm.
    rounds
        How often the order is gone through to improve it; the same rounds give the same
        order. No clock decides anything.

    """
    given = phases(drawing.strokes, machine, form=form)
    done: list[Stroke] = []
    at = start
    for strokes in given:
        done += _arranged(strokes, start=at, rounds=rounds)
        at = done[-1].path.end
    before = travel([s for strokes in given for s in strokes], start=start)
    after = travel(done, start=start)
    run = sum(chord_length(segment) for stroke in done for segment in stroke.path.segments)
    time = None
    if machine.travel_speed and machine.cutting_speed:
        time = after / machine.travel_speed + run / machine.cutting_speed
    return CuttingSequence(
        drawing=replace(drawing, strokes=tuple(done)),
        travel_before=before,
        travel_after=after,
        run=run,
        lifts=len(done),
        seconds=time,
    )


def travel(strokes: Sequence[Stroke], *, start: Point = (0.0, 0.0)) -> float:
    """Return how far a tool moves between strokes (mm), from `start` on."""
    total, at = 0.0, start
    for stroke in strokes:
        total += math.dist(at, stroke.path.start)
        at = stroke.path.end
    return total


def phases(strokes: Sequence[Stroke], machine: Machine, *, form: Format) -> list[list[Stroke]]:
    """Split strokes into what is done one after the other, marking first, cutting last.

    A pen, layer or colour that stands for several operations has its turn when the last
    of them is due. Outlines that share edges come after all else of their layer: cutting one
    may free another.
    """
    turn: dict[str, int] = {}
    for tool in machine.tools:
        key = tool.asked_in(form)
        turn[key] = max(turn.get(key, 0), RUN.index(tool.operation))
    groups: dict[tuple[int, str, bool], list[Stroke]] = {}
    for stroke in strokes:
        doer = machine.tool(stroke.operation)
        if doer is None:
            raise ValueError(f"the machine has no tool for {stroke.operation!s}")
        key = doer.asked_in(form)
        groups.setdefault((turn[key], key, _shares_edges(stroke)), []).append(stroke)
    return [groups[key] for key in sorted(groups)]


def _shares_edges(stroke: Stroke) -> bool:
    return stroke.operation is Operation.CUT and stroke.role is Role.SHARED


def _arranged(strokes: list[Stroke], *, start: Point, rounds: int) -> list[Stroke]:
    """Return one phase's strokes in order: twice arranged, entries chosen after each time."""
    text = _lines_of_text(strokes)
    inside = _inside(strokes, text)
    choices = _choices(strokes)
    way = [options[0] for options in choices]
    best: tuple[float, list[Stroke]] | None = None
    for last in (False, True):
        tour = _Tour(inside=inside, text=text, way=way, rounds=rounds if last else 0)
        order = tour.of(None, start=start, rounds=rounds)
        picked = chosen([choices[i] for i in order], start=start)
        for i, choice in zip(order, picked, strict=True):
            way[i] = choice
        done = [replace(strokes[i], path=way[i].of(strokes[i].path)) for i in order]
        moved = travel(done, start=start)
        if best is None or moved < best[0]:
            best = moved, done
    assert best is not None
    return best[1]


def _choices(strokes: list[Stroke]) -> list[list[Way]]:
    feet: dict[int, list[Point]] = {}
    for stroke in strokes:
        if stroke.operation is Operation.NOTCH and stroke.part is not None:
            feet.setdefault(stroke.part, []).extend((stroke.path.start, stroke.path.end))
    return [
        [Way(start=stroke.path.start, end=stroke.path.end)]
        if stroke.line is not None
        else ways(stroke.path, avoid=feet.get(stroke.part, ()) if stroke.part is not None else ())
        for stroke in strokes
    ]


def _lines_of_text(strokes: list[Stroke]) -> dict[int, list[int]]:
    """Return the last letter of each line of text, and those before it."""
    lines: dict[int, list[int]] = {}
    for i, stroke in enumerate(strokes):
        if stroke.line is not None:
            lines.setdefault(stroke.line, []).append(i)
    return {letters[-1]: letters[:-1] for letters in lines.values()}


def _inside(strokes: list[Stroke], text: dict[int, list[int]]) -> dict[int | None, list[int]]:
    """Return for each contour (None: for the bed) what has to be done right before it."""
    contours = [
        i
        for i, s in enumerate(strokes)
        if s.operation is Operation.CUT and s.path.closed and len(s.path.points(1.0)) > 2
    ]
    outline = {
        strokes[i].part: i for i in contours if strokes[i].part is not None and not strokes[i].inner
    }
    shapes = [polygon(strokes[i].path, chord=TOLERANCE.search_chord) for i in contours]
    tree, shape = STRtree(shapes), dict(zip(contours, shapes, strict=True))
    found: dict[int | None, list[int]] = {}
    led = {i for letters in text.values() for i in letters}
    for i, stroke in enumerate(strokes):
        if i in led:
            continue
        own = outline.get(stroke.part)
        if own is not None and own != i:
            found.setdefault(own, []).append(i)
            continue
        # A point of the stroke that is surely inside what surrounds it.
        at = At(stroke.path.segments[0].at(0.5))
        probe = shape[i].representative_point() if i in shape else at
        size = (shape[i].area, i) if i in shape else (0.0, i)
        around = [
            (shapes[k].area, contours[k])
            for k in tree.query(probe, predicate="within")
            if (shapes[k].area, contours[k]) > size
        ]
        found.setdefault(min(around)[1] if around else None, []).append(i)
    return found


@dataclass(frozen=True, slots=True, kw_only=True)
class _Tour:
    """The order within and among contours, given which way each stroke is run.

    `text`: strokes before which letters are drawn, in the order in which they are read.
    """

    inside: dict[int | None, list[int]]
    text: dict[int, list[int]]
    way: list[Way]
    rounds: int

    def of(self, contour: int | None, *, start: Point | None, rounds: int) -> list[int]:
        """Return what lies inside a contour in order, and the contour itself at the end."""
        if contour in self.text:
            return [*self.text[contour], contour]
        groups = [self.of(i, start=None, rounds=self.rounds) for i in self.inside.get(contour, ())]
        order = route(
            [self.way[group[0]].start for group in groups],
            [self.way[group[-1]].end for group in groups],
            start=start,
            end=None if contour is None else self.way[contour].start,
            rounds=rounds,
        )
        flat = [i for k in order for i in groups[k]]
        return flat if contour is None else [*flat, contour]
