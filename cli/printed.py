"""What is printed of a plan at true scale: for the command and for the page."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from functools import partial
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from nesting import Entry, Plan
    from nesting.writing.neutral.drawing import Drawing
    from nesting.writing.neutral.lettering import Lettering
    from nesting.writing.neutral.naming import Keys
    from nesting.writing.paper.papers import Paper

__all__ = ["markers_drawn", "templates_drawn"]


def templates_drawn(
    plan: Plan,
    paper: Paper,
    *,
    overlap: float,
    only: Collection[str] | None = None,
    rectangles: bool = False,
) -> tuple[Drawing, ...]:
    """Return the templates of a plan's pieces."""
    from nesting.writing.paper.templates import templates

    plan.job.wanted(only)  # or refused
    return templates(plan.job, only=only, rectangles=rectangles, paper=paper, overlap=overlap)


def markers_drawn(
    plan: Plan, paper: Paper, *, overlap: float, only: Collection[str] | None = None
) -> tuple[Drawing, ...]:
    """Return a plan's markers, each name whole on a sheet."""
    from nesting.writing.neutral.naming import job_keys
    from nesting.writing.paper.lettered import lettered

    keys = job_keys(plan.job)
    return tuple(
        drawing
        for entry in plan.wanted(only)
        for drawing in lettered(
            partial(_draw, entry, keys),
            count=entry.marker.grounds,
            paper=paper,
            overlap=overlap,
            amounts=plan.job.amounts,
        )
    )


def _draw(entry: Entry, keys: Keys, lettering: Sequence[Lettering]) -> tuple[Drawing, ...]:
    from nesting.writing.neutral.draw import draw_entry
    from nesting.writing.write import doubts

    return draw_entry(entry, keys=keys, lettering=lettering, notes=doubts(entry))
