"""All that is handed out with a pattern, into one folder: whole, or not at all."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path as FilePath

from nesting.bounded import text_of
from nesting.errors import NestingError, WriteError
from nesting.limits import LARGEST_PLAN
from nesting.planning.handout.needed import Needs
from nesting.planning.plan import Plan
from nesting.planning.plan_file import save_plan
from nesting.program import program
from nesting.whole import whole_folder
from nesting.writing.folder import filled, ready_folder
from nesting.writing.handout.booklet import write_booklet
from nesting.writing.handout.numbered import StoredLay, numbered
from nesting.writing.handout.pattern_files import write_pattern_dxf, write_pattern_svg
from nesting.writing.handout.projector import write_projector
from nesting.writing.paper.labels import part_labels
from nesting.writing.paper.papers import PAPERS, Paper, usual_overlap
from nesting.writing.paper.print_labels import print_labels
from nesting.writing.paper.print_pdf import print_drawings
from nesting.writing.paper.templates import templates
from nesting.writing.write import Tell

__all__ = ["LIST_FILE", "refuse_another", "write_handout"]

LIST_FILE = "pattern.json"
_FORMAT = "thriftlay pattern"
_SHEETS = ("a4", "letter", "a4-letter", "a3")
"""Papers that a booklet and labels are set for; the others are for true-size pages."""


@dataclass(frozen=True, slots=True)
class _File:
    """One file to be: its name, what it is for, who writes it."""

    name: str
    what: str
    write: Callable[[FilePath], object]


def refuse_another(folder: FilePath | str, *, overwrite: bool = False) -> None:
    """Refuse, before any work, a folder that holds a handout, unless it is to be replaced.

    Raises
    ------
    WriteError
        It holds one, or it can't be written.

    """
    folder = ready_folder(folder, overwrite=True)
    if (folder / LIST_FILE).exists() and not overwrite:
        raise WriteError(
            "holds what is handed out with a pattern already",
            file=str(folder),
            hint="name another folder, or say overwrite=True",
        )


def write_handout(
    needs: Needs,
    folder: FilePath | str,
    *,
    papers: dict[str, Paper],
    rectangles: bool = False,
    overwrite: bool = False,
    tell: Tell | None = None,
) -> tuple[FilePath, ...]:
    """Write what is handed out with a pattern into a folder; all of it, or nothing.

    Parameters
    ----------
    needs
        What is to be bought, with its markers.
    folder
        Where to; it is made if it isn't there.
    papers
        What is printed on, by the name that files get: keys of `PAPERS`, or ``"roll"``.
    rectangles
        Print plain rectangles at true size, too, and show them to the projector.
    overwrite
        Replace files that are there; those of a handout that was there before and that this
        one doesn't have are removed.
    tell
        Is told of each file before it is written: its name, which it is, of how many.

    Raises
    ------
    WriteError
        The folder can't be written, or holds one of the files. Nothing was written then.

    """
    folder = FilePath(folder)
    files = _files(needs, papers, rectangles=rectangles)
    names = [*(file.name for file in files), LIST_FILE]
    with filled(folder, names, overwrite=overwrite):
        stale = [name for name in _listed(folder) if name not in names]
        with whole_folder(folder, stale=stale) as waiting:
            for i, file in enumerate(files, start=1):
                if tell is not None:
                    tell(file.name, i, len(names))
                file.write(waiting / file.name)
            (waiting / LIST_FILE).write_text(_list(names), encoding="utf-8")
    return tuple(folder / name for name in names)


def _files(needs: Needs, papers: dict[str, Paper], *, rectangles: bool) -> list[_File]:
    """Return every file, the booklets first, which name the others."""
    lays = () if needs.standing else numbered(needs)
    others = [*_prints(needs, papers, rectangles=rectangles), *_machine_files(needs)]
    stored = [_File(lay.file, "", partial(_store, lay)) for lay in lays]
    sheets = {key: paper for key, paper in papers.items() if key in _SHEETS}
    usual = "letter" if needs.job.amounts.inches else "a4"
    beside = [(file.name, file.what) for file in others]
    if lays:
        names = lays[0].file if len(lays) == 1 else f"{lays[0].file} … {lays[-1].file}"
        beside.append((names, "the lays, as plans that can be checked, printed and cut"))
    booklets = [
        _File(
            f"booklet-{key}.pdf",
            "",
            partial(_booklet, needs, lays, paper, beside),
        )
        for key, paper in (sheets or {usual: PAPERS[usual]}).items()
    ]
    return [*booklets, *others, *stored]


def _booklet(
    needs: Needs,
    lays: tuple[StoredLay, ...],
    paper: Paper,
    beside: Sequence[tuple[str, str]],
    path: FilePath,
) -> None:
    write_booklet(needs, lays, path, paper=paper, files=beside)


def _store(lay: StoredLay, path: FilePath) -> None:
    save_plan(lay.row.plan(), path)


def _prints(needs: Needs, papers: dict[str, Paper], *, rectangles: bool) -> Iterator[_File]:
    """Give true-size pages and labels of each paper, and the projector's file."""
    job = needs.job
    amounts, overlap = job.amounts, usual_overlap(job.amounts)
    for key, paper in papers.items():
        drawings = templates(
            job,
            rectangles=rectangles,
            shaped=not rectangles,
            tops=True,
            graded=True,
            paper=paper,
            overlap=overlap,
        )
        if drawings:
            write = partial(
                print_drawings,
                drawings,
                paper=paper,
                overlap=overlap,
                title=f"{job.name}: true-size pages",
                amounts=amounts,
            )
            what = f"the pieces at true size, for {paper.name}; measure the squares first"
            yield _File(f"pages-{key}.pdf", what, write)
    if templates(job, rectangles=rectangles, shaped=not rectangles):
        what = "the pieces at true size on one page, for a projector, with a grid to calibrate by"
        project = partial(write_projector, job, rectangles=rectangles)
        yield _File("projector.pdf", what, project)
    # The labels are for every size.
    any_size = replace(job, size="")
    labels = part_labels(Plan(job=any_size, entries=(), seconds=0.0, program=program()))
    for key, paper in papers.items():
        if labels and key in _SHEETS:
            name = partial(print_labels, labels, paper=paper)
            what = f"labels to pin to the cut parts, for {paper.name}"
            yield _File(f"labels-{key}.pdf", what, name)


def _machine_files(needs: Needs) -> Iterator[_File]:
    job = needs.job
    if any(bag.cuts for bag in job.bags):
        dxf, svg = partial(write_pattern_dxf, job), partial(write_pattern_svg, job)
        yield _File("pattern.dxf", "all pieces as sewn-product DXF, a block for each", dxf)
        yield _File("pattern.svg", "all pieces as SVG at true size", svg)


def _list(names: Sequence[str]) -> str:
    """Return the list of the files, by which a later handout knows which are stale."""
    return json.dumps({"format": _FORMAT, "version": 1, "files": list(names)}, indent=1) + "\n"


def _listed(folder: FilePath) -> list[str]:
    """Return the files of the handout that a folder holds; none if it holds no list of them."""
    file = folder / LIST_FILE
    if not file.exists():
        return []
    try:
        found = json.loads(text_of(file, most=LARGEST_PLAN, what="its list", error=WriteError))
        names = found["files"] if found["format"] == _FORMAT else []
        return [name for name in names if isinstance(name, str) and FilePath(name).name == name]
    except (NestingError, ValueError, KeyError, TypeError):
        return []
