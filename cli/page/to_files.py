"""Files of the plan, for the machine and the printer, and fetching them."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from starlette.responses import FileResponse, Response

from nesting.errors import JobError, WriteError
from nesting.writing.paper.papers import PAPERS, usual_overlap

from ..printed import markers_drawn, templates_drawn
from . import shown

if TYPE_CHECKING:
    from .work import Work

__all__ = ["ANSWERS"]

Json = dict[str, Any]

_KINDS = ("dxf", "svg", "png", "report", "remnants")


def written(work: Work, asked: Json) -> Json:
    """Write the plan's files beside it."""
    files = work.write(_KINDS, insist=asked.get("insist") is True)
    return _offered(work, files)


def printed(work: Work, asked: Json) -> Json:
    """Write a true-scale PDF of the markers, or of templates to cut around."""
    from nesting.writing.paper.print_pdf import print_drawings

    what, paper = str(asked.get("what")), PAPERS.get(str(asked.get("paper")))
    if paper is None or what not in ("markers", "templates"):
        raise JobError("nothing is printed so", hint="choose what, and on which paper")
    plan = work.settled()
    faulty = [entry.material.name for entry in plan.entries if not entry.good]
    if what == "markers" and faulty and asked.get("insist") is not True:
        raise WriteError(
            f"the marker of {faulty[0]} is not good", hint="put it right, or insist on the files"
        )
    overlap = usual_overlap(plan.job.amounts)
    draw = markers_drawn if what == "markers" else templates_drawn
    file = work.keeper.folder / f"{what}-{asked['paper']}.pdf"
    print_drawings(
        draw(plan, paper, overlap=overlap),
        file,
        paper=paper,
        overlap=overlap,
        title=plan.job.name,
        amounts=plan.job.amounts,
        overwrite=True,
    )
    return _offered(work, [file])


def fetched(work: Work, asked: Json) -> Response:
    """Give a file that was written, by its name."""
    file = work.files.get(str(asked.get("name")))
    if file is None or not file.is_file():
        raise JobError("there is no such file any more", hint="write the files again")
    return FileResponse(file, filename=file.name, media_type="application/octet-stream")


def papers(work: Work, asked: Json) -> Json:
    """Name the papers, and the files that were written."""
    return {"papers": sorted(PAPERS), "files": shown.files(work.files.values())}


def _offered(work: Work, files: list[Path] | tuple[Path, ...]) -> Json:
    work.files |= {file.name: file for file in files}
    return {"files": shown.files(work.files.values())}


ANSWERS = {
    "/files": ("GET", papers),
    "/files/write": ("POST", written),
    "/files/print": ("POST", printed),
    "/file": ("GET", fetched),
}
"""What is answered here: how it is asked, and who answers."""
