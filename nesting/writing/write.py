"""All files of a plan into one folder."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import dataclass
from functools import cache, partial
from pathlib import Path as FilePath

from nesting.advice.kept import KeptAdvice, kept_in
from nesting.errors import PlanError, Severity, WriteError
from nesting.job.job import Job
from nesting.planning.buying.remnant_file import Left, named_leftovers, remnants_text
from nesting.planning.buying.shopping import ShoppingList
from nesting.planning.plan import Entry, Plan
from nesting.planning.plan_file import load_plan, plan_text, save_plan
from nesting.planning.summary import judge_plan
from nesting.whole import whole_folder
from nesting.writing.dxf import write_dxf
from nesting.writing.files import file_name
from nesting.writing.folder import PLAN_FILE, filled, holds_another
from nesting.writing.neutral.draw import draw_entry
from nesting.writing.neutral.drawing import Drawing
from nesting.writing.neutral.keys import Keys, job_keys
from nesting.writing.pages.picture import write_picture
from nesting.writing.pages.report import write_report
from nesting.writing.pages.wording import entry_title
from nesting.writing.svg import write_svg

__all__ = [
    "KINDS",
    "PLAN_FILE",
    "REPORT_FILE",
    "Tell",
    "WrittenFile",
    "doubts",
    "entry_file_stems",
    "write_plan",
]

KINDS = ("dxf", "svg", "png", "report", "remnants")
"""What can be written besides the plan itself."""

Tell = Callable[[str, int, int], None]
"""Is told a file's name, which it is, counted from 1, and how many there are."""

REPORT_FILE = "report.html"
REMNANT_FILE = "remnants.toml"


def write_plan(
    plan: Plan,
    folder: FilePath | str,
    *,
    kinds: Sequence[str] = KINDS,
    overwrite: bool = False,
    insist: bool = False,
    tell: Tell | None = None,
    bought: ShoppingList | None = None,
    further: Callable[[Sequence[str]], Sequence[WrittenFile]] | None = None,
) -> tuple[FilePath, ...]:
    """Write the plan and its files into a folder; all of them, or none.

    Every marker is judged again first. Files to cut or print of a marker that has faults
    or is incomplete are left out unless `insist` is set, and then say so in the file; the
    plan and the report are always written, for they say what is wrong.

    Parameters
    ----------
    plan
        What to write.
    folder
        Where to; it is made if it isn't there.
    kinds
        Any of `KINDS`.
    overwrite
        Replace files that are there. Files of another plan that this one doesn't have
        are then removed, so that nobody cuts from them.
    insist
        Write the files of markers with faults, too.
    tell
        Is told of each file before it is written: its name, which it is, of how many.
    bought
        The buying list for the report, where stock or spare make it another than the plan's.
    further
        Gives files to write besides, told the names of the others.

    Returns
    -------
    tuple of Path
        The files written, the plan first.

    Raises
    ------
    WriteError
        The folder can't be written, holds another plan or one of the files, or a kind is
        unknown. Nothing was written or replaced then.

    Examples
    --------
    >>> [file.name for file in write_plan(plan, "files", kinds=["dxf", "report"])]
    ['plan.json', 'canvas.dxf', 'report.html']

    """
    unknown = [kind for kind in kinds if kind not in KINDS]
    if unknown:
        raise WriteError(f"{unknown[0]!r} is no kind of file", hint=f"one of {', '.join(KINDS)}")
    folder = FilePath(folder)
    judged = judge_plan(plan)
    advice = kept_in(folder, plan.job)
    files = [f for f in _files(judged, kinds, bought, advice) if f.sound or insist]
    if further is not None:
        files += further([file.name for file in files])
    names = {PLAN_FILE, *(file.name for file in files)}
    old = _old_plan(folder)
    same = old is not None and _text_of(folder) == plan_text(judged)
    if old is not None and not same and not overwrite:
        raise holds_another(folder)
    with filled(folder, [file.name for file in files], overwrite=overwrite):
        stale = _stale(old, keep=names) if isinstance(old, Plan) and not same else []
        return _write_all(judged, files, folder, stale=stale, tell=tell)


@dataclass(frozen=True, slots=True)
class WrittenFile:
    """One file to be: its name, who writes it, and whether its marker is good."""

    name: str
    write: Callable[[FilePath], None]
    sound: bool = True


def _files(
    plan: Plan,
    kinds: Sequence[str],
    bought: ShoppingList | None = None,
    advice: KeptAdvice | None = None,
) -> Iterator[WrittenFile]:
    """Give every file of a plan; names are the materials', made safe and unique."""
    job_names = job_keys(plan.job)
    taken: set[str] = set()
    for entry in plan.entries:
        stem = _stem(entry, taken)
        taken.update(name.casefold() for name in (stem, *_sheet_names(entry, stem)))
        yield from _marker_files(entry, stem, kinds, job_names, plan.job)

    @cache
    def left_over() -> list[Left]:
        return named_leftovers(plan)

    def report(path: FilePath) -> None:
        write_report(plan, path, bought=bought, left_over=left_over(), advice=advice)

    def remnants(path: FilePath) -> None:
        path.write_text(remnants_text(plan, left_over=left_over()), encoding="utf-8")

    if "report" in kinds:
        yield WrittenFile(REPORT_FILE, report)
    if "remnants" in kinds and any(entry.marker.placements for entry in plan.entries):
        good = all(entry.good for entry in plan.entries)
        yield WrittenFile(REMNANT_FILE, remnants, good)


def _stem(entry: Entry, taken: set[str]) -> str:
    """Return a name for a marker's files that, with its sheets' names, is not taken yet."""
    tried = set(taken)
    while True:
        stem = file_name(entry_title(entry), taken=tried)
        if not taken & {name.casefold() for name in _sheet_names(entry, stem)}:
            return stem
        tried.add(stem)


def _sheet_names(entry: Entry, stem: str) -> list[str]:
    """Return the names of what is drawn: the marker, or each of its sheets."""
    sheets = len(entry.marker.sheets)
    if sheets < 2:
        return [stem]
    digits = len(str(sheets))  # with as many digits all, they sort by any rule
    return [f"{stem}-{i:0{digits}}-of-{sheets}" for i in range(1, sheets + 1)]


def entry_file_stems(plan: Plan) -> tuple[str, ...]:
    """Return what the files of each entry are called, without suffix: safe and unique."""
    stems: list[str] = []
    for entry in plan.entries:
        stems.append(file_name(entry_title(entry), taken=stems))
    return tuple(stems)


def _marker_files(
    entry: Entry, stem: str, kinds: Sequence[str], keys: Keys, job: Job
) -> Iterator[WrittenFile]:
    notes = doubts(entry)

    @cache
    def drawings() -> tuple[Drawing, ...]:
        return draw_entry(entry, keys=keys, notes=notes)

    for sheet, name in enumerate(_sheet_names(entry, stem)):
        for kind, write in (("dxf", write_dxf), ("svg", partial(write_svg, amounts=job.amounts))):
            if kind in kinds and entry.marker.placements:

                def to(path: FilePath, sheet: int = sheet, write: _Writer = write) -> None:
                    write(drawings()[sheet], path)

                yield WrittenFile(f"{name}.{kind}", to, entry.good)
    if "png" in kinds and entry.marker.placements:
        picture = partial(
            write_picture,
            entry,
            keys=keys,
            notes=notes,
            amounts=job.amounts,
            currency=job.currency,
        )
        yield WrittenFile(f"{stem}.png", picture, entry.good)


_Writer = Callable[..., None]


def doubts(entry: Entry) -> tuple[str, ...]:
    """Return what a file of a marker that is not good has to say."""
    faults = [f.text for f in entry.findings if f.severity is Severity.FAULT]
    said = []
    if faults:
        more = f" (and {len(faults) - 3} more)" if len(faults) > 3 else ""
        said.append(f"DO NOT CUT: this marker has faults: {'; '.join(faults[:3])}{more}.")
    if entry.unplaced:
        names = ", ".join(name for name, _ in entry.unplaced)
        said.append(f"INCOMPLETE: not laid: {names}.")
    return tuple(said)


def _write_all(
    plan: Plan,
    files: Sequence[WrittenFile],
    folder: FilePath,
    *,
    stale: Collection[str],
    tell: Tell | None,
) -> tuple[FilePath, ...]:
    """Write everything beside the folder's own files, then move it in at once."""
    every = [WrittenFile(PLAN_FILE, partial(save_plan, plan)), *files]
    with whole_folder(folder, stale=stale) as waiting:
        for i, file in enumerate(every, start=1):
            if tell is not None:
                tell(file.name, i, len(every))
            file.write(waiting / file.name)
    return tuple(folder / file.name for file in every)


def _text_of(folder: FilePath) -> str:
    return (folder / PLAN_FILE).read_text(encoding="utf-8")


def _old_plan(folder: FilePath) -> Plan | PlanError | None:
    """Return the plan a folder holds, the error if it can't be read, or None."""
    if not (folder / PLAN_FILE).exists():
        return None
    try:
        return load_plan(folder / PLAN_FILE)
    except PlanError as error:
        return error


def _stale(old: Plan, *, keep: Collection[str]) -> list[str]:
    """Return the files of the plan that was here before and that this one doesn't have."""
    return [file.name for file in _files(old, KINDS) if file.name not in keep]
