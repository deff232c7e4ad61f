"""A pattern's booklet: what to buy, how to lay it, what to cut, what to mind."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path as FilePath

from nesting.job.job import Job
from nesting.planning.handout.needed import Needs
from nesting.writing.cautions import cautions
from nesting.writing.handout.buying_pages import buying_pages
from nesting.writing.handout.cover import cover
from nesting.writing.handout.cut_pages import cut_pages
from nesting.writing.handout.lay_pages import lay_pages
from nesting.writing.handout.numbered import StoredLay
from nesting.writing.handout.setting import Setter
from nesting.writing.neutral.keys import job_keys
from nesting.writing.paper.papers import Paper

__all__ = ["write_booklet"]


def write_booklet(
    needs: Needs,
    lays: tuple[StoredLay, ...],
    path: FilePath,
    *,
    paper: Paper,
    files: Sequence[tuple[str, str]],
) -> None:
    """Write the booklet as a PDF of sheets of a paper; `files`: what else is handed out."""
    job, page = needs.job, Setter(paper, title=needs.job.name)
    keys = job_keys(job)
    cover(page, job, keys, files)
    buying_pages(page, needs, lays)
    if lays:
        lay_pages(page, needs, lays, keys)
    cut_pages(page, job, keys)
    page.section("Before you cut")
    for said in cautions(job.materials):
        page.paragraph(said)
    _assumed(page, job)
    path.write_bytes(page.finished())


def _assumed(page: Setter, job: Job) -> None:
    """Set what the numbers and the lays rest on that nobody has said."""
    if said := job.assumptions[: job.weighty]:
        page.heading("Assumed")
        page.paragraph(
            "Nothing else was said of these; where it is otherwise, lays and numbers may be wrong.",
            grey=0.25,
        )
        for one in said:
            page.paragraph(f"{one[0].upper()}{one[1:]}.")
