"""What a machine does within its parts: lines to mark, holes to drill, notches."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from typing import Any

import shapely

from ..asked.pattern import Mark
from ..asked.shapes import Pt
from ..rules.judge import Laid
from .marks import NOTCH, carried
from .runs import Run

__all__ = ["worked_wrong"]

_NEAR = 0.1
"""Places in a file for a machine are rounded, curves are chords (mm)."""


def worked_wrong(
    name: str, runs: Sequence[Run], mine: Sequence[Laid], tools: dict[str, Any]
) -> Iterator[str]:
    """Yield what a file doesn't do within its parts, and what it does that nobody asks for.

    `runs` are mapped to where the parts lie. What the shop has no tool for is left out.
    """
    if any(one.on_fold or one.bit for one, _ in mine):
        return  # marks are parted with the piece
    for tool, kinds, near in (
        ("drill", ("drill",), _hole),
        ("mark", ("line", "outline"), _line),
        ("notch", ("notch",), _notch),
    ):
        if tool in tools:
            yield from _done(
                name, tool, [r for r in runs if r.operation == tool], mine, kinds, near
            )


def _done(
    name: str,
    tool: str,
    made: list[Run],
    mine: Sequence[Laid],
    kinds: Sequence[str],
    near: Callable[[Mark, Run], bool],
) -> Iterator[str]:
    used: set[int] = set()
    for lying, asked in mine:
        # Folded cloth has its right sides together.
        turned = (asked.goods.wrong_side_up or asked.goods.folded) != lying.flipped
        for mark in carried(lying, asked):
            if mark.kind not in kinds or (tool == "mark" and (mark.face == "wrong") != turned):
                continue  # what belongs on the underside is made by hand, and told
            # Two notches at one place are one to the eye; of other marks each has its own run.
            free = [k for k, run in enumerate(made) if tool == "notch" or k not in used]
            found = [k for k in free if near(mark, made[k])]
            if not found:
                x, y = mark.at or mark.line[0]
                yield f"{name} lacks a {mark.kind} of {lying.name} at ({x:.1f}, {y:.1f})"
            used.update(found if tool == "notch" else found[:1])
    for run in (run for k, run in enumerate(made) if k not in used):
        x, y = run.points[0]
        yield f"{name} has a {tool} at ({x:.1f}, {y:.1f}), where nobody asks for it"


def _hole(mark: Mark, run: Run) -> bool:
    xs, ys = zip(*run.points, strict=True)
    middle: Pt = ((min(xs) + max(xs)) / 2.0, (min(ys) + max(ys)) / 2.0)
    return mark.at is not None and math.dist(middle, mark.at) < _NEAR


def _line(mark: Mark, run: Run) -> bool:
    if len(run.points) < 2:
        return False
    line = shapely.LineString([*run.points, *(run.points[:1] if run.closed else ())])
    far: float = shapely.hausdorff_distance(shapely.LineString(mark.line), line)
    return far < _NEAR


def _notch(mark: Mark, run: Run) -> bool:
    return mark.at is not None and min(math.dist(p, mark.at) for p in run.points) <= NOTCH
