"""Files of the plan, for the machine and the printer, and fetching them."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from starlette.responses import FileResponse, Response

from nesting.errors import JobError, WriteError
from nesting.writing.files import file_name
from nesting.writing.paper.papers import PAPERS, usual_overlap

from ...printed import WHATS, paper_of, printed
from .machines import cut_for, machines

if TYPE_CHECKING:
    from ..work import Work

__all__ = ["ANSWERS"]

Json = dict[str, Any]

_KINDS = ("dxf", "svg", "png", "report", "remnants")


def written(work: Work, asked: Json) -> Json:
    """Write the plan's files beside it."""
    return _offered(work, work.write(_KINDS, insist=asked.get("insist") is True))


def cut(work: Work, asked: Json) -> Json:
    """Write files of some markers for a machine of the shop."""
    files, told = cut_for(work, asked)
    return {**_offered(work, files), **told}


def print_out(work: Work, asked: Json) -> Json:
    """Write a true-scale PDF of the markers, of templates to cut around, or of labels."""
    what, paper = str(asked.get("what")), str(asked.get("paper"))
    if what not in WHATS or paper not in (*PAPERS, "roll"):
        raise JobError("nothing is printed so", hint="choose what, and on which paper")
    plan = work.settled()
    only = None if asked.get("only") in (None, "") else [str(asked["only"])]
    faulty = [entry.material.name for entry in plan.wanted(only) if not entry.good]
    if what == "markers" and faulty and asked.get("insist") is not True:
        raise WriteError(
            f"the marker of {faulty[0]} is not good", hint="put it right, or insist on the files"
        )
    on, overlap = paper_of(
        plan.job,
        paper=paper,
        rolled=str(asked.get("roll") or "") if paper == "roll" else None,
        overlap=str(asked["overlap"]) if asked.get("overlap") else None,
    )
    stem = "-".join(
        [what, *map(file_name, only or ()), file_name(on.name) if paper == "roll" else paper]
    )
    file = work.keeper.folder / f"{stem}.pdf"
    made = printed(
        plan,
        file,
        what=what,
        paper=on,
        overlap=overlap,
        only=only,
        rectangles=asked.get("rectangles") is True,
        overwrite=True,
    )
    return {**_offered(work, [file]), "sheets": None if made is None else made[1]}


def fetched(work: Work, asked: Json) -> Response:
    """Give a file that was written, by its name."""
    file, _ = work.files.get(str(asked.get("name")), (None, ()))
    if file is None or not file.is_file():
        raise JobError("there is no such file any more", hint="write the files again")
    return FileResponse(file, filename=file.name, media_type="application/octet-stream")


def papers(work: Work, asked: Json) -> Json:
    """Name the papers, and the files that were written."""
    return {
        "papers": [{"key": key, "name": paper.name} for key, paper in PAPERS.items()],
        "overlap": work.job.amounts.tool(usual_overlap(work.job.amounts)),
        "files": _files(work),
    }


def _offered(work: Work, files: Iterable[Path]) -> Json:
    now = work.markers()
    for file in files:
        work.files[file.relative_to(work.keeper.folder).as_posix()] = (file, now)
    return {"files": _files(work)}


def _files(work: Work) -> list[Json]:
    """Return the files that can be fetched, and which are of markers as they are no more."""
    now = work.markers()
    return [
        {"name": name, "earlier": markers != now}
        for name, (file, markers) in work.files.items()
        if file.is_file()
    ]


ANSWERS = {
    "/files": ("GET", papers),
    "/files/write": ("POST", written),
    "/files/machine": ("POST", cut),
    "/files/print": ("POST", print_out),
    "/machines": ("GET", machines),
    "/file": ("GET", fetched),
}
"""What is answered here: how it is asked, and who answers."""
