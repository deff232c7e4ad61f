"""The files of an advice: a page, pictures of what holds each marker, and what is kept of it."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import replace
from pathlib import Path as FilePath

from nesting.advice.advise import Advice, AsItIs
from nesting.advice.keeping import kept, kept_text
from nesting.advice.kept import ADVICE_FILE, job_mark
from nesting.errors import NestingError, PlanError, WriteError
from nesting.planning.plan_file import load_plan
from nesting.whole import whole_folder, write_error
from nesting.writing.advice.page import advice_page, chain_drawing
from nesting.writing.files import file_name
from nesting.writing.folder import PLAN_FILE
from nesting.writing.neutral.chain import chain_strokes
from nesting.writing.neutral.keys import job_keys
from nesting.writing.pages.picture import write_picture
from nesting.writing.pages.report import write_report
from nesting.writing.svg import write_svg
from nesting.writing.write import REPORT_FILE

__all__ = ["write_advice"]

_PAGE_FILE = "advice.html"


def write_advice(
    advice: Advice, folder: FilePath, *, overwrite: bool = False
) -> tuple[FilePath, ...]:
    """Write the files of an advice into a folder: all of them, or none.

    Where it holds a plan of the same job, its report is written anew with the three best.

    Raises
    ------
    WriteError
        The folder can't be written, or holds one of the files and `overwrite` is not set.

    """
    stems: list[str] = []
    for one in advice.as_it_is:
        stems.append(file_name(f"{one.material} held", taken=stems))
    pictured = [(one, stem) for one, stem in zip(advice.as_it_is, stems, strict=True) if one.chain]
    names = [_PAGE_FILE, *(f"{stem}.{kind}" for _, stem in pictured for kind in ("svg", "png"))]
    made = not folder.exists()
    try:
        folder.mkdir(parents=True, exist_ok=True)
        there = [name for name in (*names, ADVICE_FILE) if (folder / name).exists()]
        if there and not overwrite:
            hint = "name another folder, or say overwrite=True"
            raise WriteError("exists already", file=str(folder / there[0]), hint=hint)
        with whole_folder(folder) as waiting:
            (waiting / _PAGE_FILE).write_text(advice_page(advice), encoding="utf-8")
            (waiting / ADVICE_FILE).write_text(kept_text(advice), encoding="utf-8")
            for one, stem in pictured:
                _pictures(advice, one, waiting / stem)
            if _report(advice, folder, waiting):
                names.append(REPORT_FILE)
    except BaseException as error:
        if made:
            with suppress(OSError):  # others may have put something there
                folder.rmdir()
        if isinstance(error, OSError) and not isinstance(error, NestingError):
            raise write_error(folder, error) from error
        raise
    return tuple(folder / name for name in (*names, ADVICE_FILE))


def _pictures(advice: Advice, one: AsItIs, stem: FilePath) -> None:
    """Write the marker with what holds it as SVG at true size, and as a picture."""
    keys, job = job_keys(advice.job), advice.job
    drawing = chain_drawing(one, keys)
    assert drawing is not None
    assert one.chain is not None
    assert one.entry is not None
    write_svg(drawing, stem.with_name(f"{stem.name}.svg"), amounts=job.amounts)
    write_picture(
        replace(one.entry, marker=one.chain.marker),
        stem.with_name(f"{stem.name}.png"),
        keys=keys,
        amounts=job.amounts,
        currency=job.currency,
        over=chain_strokes(one.chain),
    )


def _report(advice: Advice, folder: FilePath, waiting: FilePath) -> bool:
    """Write the report of the plan that lies there anew, if it is of the same job."""
    if not (folder / PLAN_FILE).exists() or not (folder / REPORT_FILE).exists():
        return False
    try:
        plan = load_plan(folder / PLAN_FILE)
    except PlanError:
        return False
    best = kept(advice)
    if best.job != job_mark(plan.job):
        return False
    write_report(plan, waiting / REPORT_FILE, advice=best)
    return True
