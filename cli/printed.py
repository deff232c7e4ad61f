"""What is printed of a plan at true scale: for the command and for the page."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from nesting.writing.paper.papers import PAPERS, roll, usual_overlap

from .arguments import length

if TYPE_CHECKING:
    from nesting import Entry, Job, Plan
    from nesting.writing.neutral.drawing import Drawing
    from nesting.writing.neutral.keys import Keys
    from nesting.writing.neutral.lettering import Lettering
    from nesting.writing.paper.papers import Paper

__all__ = ["WHATS", "paper_of", "printed"]

WHATS = ("markers", "templates", "labels")
"""What can be printed."""


def paper_of(
    job: Job, *, paper: str, rolled: str | None = None, overlap: str | None = None
) -> tuple[Paper, float]:
    """Return what is printed on, and by how much its sheets overlap (mm).

    `paper`: a key of `PAPERS`, unless `rolled`, a width, names a plotter's roll; widths and
    overlaps have a unit, or are in the job's.
    """
    room = usual_overlap(job.amounts)
    if overlap is not None:
        room = length(overlap, unit=job.unit)
    if rolled is None:
        return PAPERS[paper], room
    return roll(length(rolled, unit=job.unit), amounts=job.amounts), room


def printed(
    plan: Plan,
    file: Path,
    *,
    what: str,
    paper: Paper,
    overlap: float,
    only: Collection[str] | None = None,
    rectangles: bool = False,
    overwrite: bool = False,
) -> tuple[int, int] | None:
    """Write a PDF of `WHATS`; how many drawings it has, on how many sheets (None: labels)."""
    if what == "labels":
        from nesting.writing.paper.labels import part_labels
        from nesting.writing.paper.print_labels import print_labels

        print_labels(part_labels(plan, only=only), file, paper=paper, overwrite=overwrite)
        return None
    from nesting.writing.paper.print_pdf import print_drawings

    if what == "templates":
        drawings = _templates(plan, paper, overlap=overlap, only=only, rectangles=rectangles)
    else:
        drawings = _markers(plan, paper, overlap=overlap, only=only)
    tilings = print_drawings(
        drawings,
        file,
        paper=paper,
        overlap=overlap,
        title=plan.job.name,
        amounts=plan.job.amounts,
        overwrite=overwrite,
    )
    return len(drawings), sum(len(tiling.tiles) for tiling in tilings)


def _templates(
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


def _markers(
    plan: Plan, paper: Paper, *, overlap: float, only: Collection[str] | None = None
) -> tuple[Drawing, ...]:
    """Return a plan's markers, each name whole on a sheet."""
    from nesting.writing.neutral.keys import job_keys
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
