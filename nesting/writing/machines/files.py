"""Files for one machine, all of them or none.

Before anything is made ready (see `nesting.writing.machines.load`) it is asked whether the material
may be cut so at all. Beside every machine file lies a sheet of text with the cautions,
since not every format can hold them.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path as FilePath

from nesting.amounts import METRIC, Amounts
from nesting.errors import Finding, MachineError
from nesting.material.material import Material
from nesting.planning.plan import Entry, Plan
from nesting.planning.records import BedLoad
from nesting.planning.summary import judge_plan
from nesting.quantity import Unit
from nesting.whole import exists_already, whole_folder, write_error
from nesting.writing.machines.dxf import machine_dxf
from nesting.writing.machines.formats import Format
from nesting.writing.machines.hpgl import hpgl
from nesting.writing.machines.load import LETTERED, Load, prepare
from nesting.writing.machines.machine import Machine
from nesting.writing.machines.permit import permit
from nesting.writing.machines.sheet import machine_sheet, said_with
from nesting.writing.machines.svg import machine_svg
from nesting.writing.neutral.draw import draw_entry
from nesting.writing.neutral.drawing import Drawing
from nesting.writing.neutral.keys import job_keys
from nesting.writing.neutral.lettering import Lettering
from nesting.writing.pages.report_tables import zone_sentences
from nesting.writing.write import doubts, entry_file_stems

__all__ = ["MachineFiles", "cut_plan", "write_machine_file"]

_NOT_GOOD = "-not-good"
"""Ends the names of files of a marker with faults: HP-GL has no place to say so."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MachineFiles:
    """What was written: the files (machine files, then their sheets), the loads, what to know."""

    files: tuple[FilePath, ...]
    loads: tuple[Load, ...]
    findings: tuple[Finding, ...]


def cut_plan(
    plan: Plan,
    machine: Machine,
    folder: FilePath | str,
    *,
    materials: Sequence[str] = (),
    forms: Sequence[Format] = (),
    sds_read: bool = False,
    common_line: bool = False,
    insist: bool = False,
    overwrite: bool = False,
    rounds: int = 4,
) -> MachineFiles:
    """Write a plan's markers for a machine; every file, or none if any can't be.

    Parameters
    ----------
    plan
        Its markers are judged again first.
    machine
        What to cut them with.
    folder
        Where to; it is made if it isn't there.
    materials
        The materials to cut, by name; all if not given.
    forms
        The formats, if not only the first that the machine reads. If there are several,
        each file has a sheet of its own.
    sds_read
        The user's word that the safety data sheets of these materials were read.
    common_line
        Cut straight edges that two parts share only once.
    insist
        Write markers that have faults or are incomplete, too. Their files are called
        ``…-not-good`` and say why, in them where the format can and on their sheets.
    overwrite
        Replace files that are there. Loads of an earlier run that this one does not have
        are then removed, so that nobody cuts from them.
    rounds
        How often the order of cutting is gone through to improve it (each load).

    Returns
    -------
    MachineFiles
        The files written, and what is to be known of them.

    Raises
    ------
    JobError
        No marker is of a material of one of the names.
    MachineError
        The machine must not or can't cut this, or a marker is not good and `insist` is not
        set; nothing was written.
    WriteError
        A file can't be written, or is there already; nothing was written.

    Examples
    --------
    >>> from pathlib import Path as File
    >>> _ = File("plotter.toml").write_text(
    ...     '''
    ...     name = "Roll plotter"
    ...     kind = "plotter"
    ...     reads = ["hpgl"]
    ...     bed = { length = 10000.0, width = 1600.0 }
    ...     tools.cut = { tool = "pen", pen = 1 }
    ...     tools.mark = { tool = "pen", pen = 2 }
    ...     tools.text = { tool = "pen", pen = 2 }
    ...     tools.notch = { tool = "pen", pen = 1 }
    ...     tools.drill = { tool = "pen", pen = 1 }
    ...     '''
    ... )
    >>> plotter = read_machine("plotter.toml")
    >>> [file.name for file in cut_plan(plan, plotter, "cut").files]
    ['canvas.plt', 'canvas.txt']

    """
    judged = judge_plan(plan)
    judged.wanted(materials or None)  # or refused
    stems, amounts = entry_file_stems(judged), judged.job.amounts
    folder, made, done = FilePath(folder), list[_Made](), list[str]()
    for entry, stem in zip(judged.entries, stems, strict=True):
        if materials and entry.material.name not in materials:
            continue
        if not (entry.good or insist):
            raise MachineError(
                f"the marker of {entry.material.name} is not good",
                hint="thriftlay check says why; to cut it all the same, insist",
            )
        done += [stem, stem + _NOT_GOOD]  # what an earlier run wrote of it, good or not
        doubted = doubts(entry)
        try:
            made += _made(
                draw_entry(
                    entry,
                    keys=job_keys(judged.job),
                    lettering=_lettering(entry),
                    notes=(*doubted, *zone_sentences(entry)),
                ),
                machine,
                folder / (stem + _NOT_GOOD if doubted else stem),
                material=entry.material,
                forms=forms,
                sds_read=sds_read,
                common_line=common_line,
                rounds=rounds,
                amounts=amounts,
                planned=entry.loads,
                known=[Finding(kind="not good", text=text.removesuffix(".")) for text in doubted],
            )
        except MachineError as error:
            of = "" if error.what.startswith(entry.material.name) else f"{entry.material.name}: "
            names = [entry.material.name, *(part.name for part in entry.marker.lay.parts)]
            raise MachineError(
                amounts.retold(f"{of}{error.what}", names=names),
                file=error.file,
                field=error.field,
                line=error.line,
                hint=error.hint,
            ) from error
    if not made:
        raise MachineError("the plan has no marker to cut")
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise write_error(folder, error) from error
    return _written(made, overwrite=overwrite, stems=done)


def _lettering(entry: Entry) -> list[Lettering]:
    """Return how machines write: on parts only, as what lies beside them may be another part."""
    return [Lettering(leaders=False)] * max(1, len(entry.marker.sheets))


def write_machine_file(
    drawing: Drawing | Sequence[Drawing],
    machine: Machine,
    path: FilePath | str,
    *,
    material: Material,
    sds_read: bool = False,
    forms: Sequence[Format] = (),
    common_line: bool = False,
    overwrite: bool = False,
    rounds: int = 4,
) -> MachineFiles:
    """Write a drawing for a machine: a file for each load of its bed.

    Parameters
    ----------
    drawing
        What to cut: one drawing, or those of several sheets of one material. Each is a
        load of the bed, or several if it is a long lay that is cut in windows.
    machine
        What to cut it with.
    path
        The file; several loads get ``-1-of-3``, ``-2-of-3``… before its suffix, the sheets
        with the cautions the suffix ``.txt``.
    material
        What is cut, for the cautions and refusals.
    forms, sds_read, common_line, overwrite, rounds
        As for `cut_plan`.

    Raises
    ------
    MachineError
        The machine must not or can't cut this; nothing was written.
    WriteError
        A file can't be written, or is there already; nothing was written.

    """
    path = FilePath(path)
    made = _made(
        (drawing,) if isinstance(drawing, Drawing) else tuple(drawing),
        machine,
        path.with_suffix(""),
        material=material,
        forms=forms,
        sds_read=sds_read,
        common_line=common_line,
        rounds=rounds,
    )
    return _written(made, overwrite=overwrite)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Made:
    """A load in one format, ready to be written: the file and its text, the sheet and its text."""

    load: Load
    file: FilePath
    text: str
    sheet: FilePath
    said: str
    findings: tuple[Finding, ...]


def _made(
    drawings: Sequence[Drawing],
    machine: Machine,
    path: FilePath,
    *,
    material: Material,
    forms: Sequence[Format],
    sds_read: bool,
    common_line: bool,
    rounds: int,
    amounts: Amounts = METRIC,
    planned: Sequence[BedLoad] = (),
    known: Sequence[Finding] = (),
) -> Iterator[_Made]:
    """Give every load of some drawings in every format; nothing is written.

    `known`: what is wrong with them, to be told with what is found.
    """
    forms = tuple(dict.fromkeys(forms)) or machine.reads[:1]
    if not forms:
        raise MachineError(
            f"{machine.name} reads no file",
            file=machine.file,
            field="reads",
            hint="print templates",
        )
    for form in forms:
        if form not in machine.reads:
            raise MachineError(
                f"{machine.name} does not read {form!s}",
                file=machine.file,
                field="reads",
                hint=f"it reads {', '.join(machine.reads)}",
            )
    permit(machine, material, sds_read=sds_read)
    ready: dict[object, list[tuple[Load, Drawing, tuple[Finding, ...]]]] = {}
    for form in forms:
        like = _like(machine, form)
        if like not in ready:
            ready[like] = []
            for number, drawing in enumerate(drawings):
                loads, findings = prepare(
                    drawing,
                    machine,
                    form=form,
                    common_line=common_line,
                    sheet=material.taken_in is not Unit.LENGTH,
                    planned=[load for load in planned if load.sheet == number],
                    rounds=rounds,
                )
                findings = (*known, *(_retold(finding, drawing, amounts) for finding in findings))
                ready[like] += [(load, drawing, findings) for load in loads]
        for i, (load, drawing, findings) in enumerate(ready[like], 1):
            count = len(ready[like])
            digits = len(str(count))  # as names are sorted
            name = path.name if count == 1 else f"{path.name}-{i:0{digits}}-of-{count}"
            if form is Format.DXF_R12 and Format.DXF in forms:
                name += "-r12"
            said = said_with(machine, material, drawing, load, amounts=amounts)
            yield _Made(
                load=load,
                file=path.with_name(name + form.suffix),
                text=_text(load, machine, form, said),
                sheet=path.with_name(name + (form.suffix if len(forms) > 1 else "") + ".txt"),
                said=machine_sheet(
                    load, machine, material, said=said, findings=findings, amounts=amounts
                ),
                findings=findings,
            )


def _retold(finding: Finding, drawing: Drawing, amounts: Amounts) -> Finding:
    """Return a finding of a load in the job's units."""
    names = [drawing.name, *(part.name for part in drawing.parts)]
    return replace(finding, text=amounts.retold(finding.text, names=names))


def _like(machine: Machine, form: Format) -> object:
    """Return what two formats have to have in common for the same loads in the same order."""
    asked = [tool.asked_in(form) for tool in machine.tools]
    short = form is Format.HPGL and not machine.long_coordinates
    return form in LETTERED, short, tuple(asked.index(word) for word in asked)


def _text(load: Load, machine: Machine, form: Format, said: Sequence[str]) -> str:
    drawing = load.sequence.drawing
    if form is Format.HPGL:
        return hpgl(drawing.strokes, machine)
    if form is Format.SVG:
        return machine_svg(drawing, machine, said)
    return machine_dxf(drawing, machine, form=form, said=said)


def _written(
    made: Sequence[_Made] | Iterator[_Made], *, overwrite: bool, stems: Sequence[str] = ()
) -> MachineFiles:
    """Write all, or nothing; loads that were there of the markers of these stems are removed."""
    made = tuple(made)
    texts = {one.file: one.text for one in made} | {one.sheet: one.said for one in made}
    for path in texts:
        if path.exists() and not overwrite:
            raise exists_already(path)
    for folder in dict.fromkeys(path.parent for path in texts):
        stale = _stale(folder, stems, keep={path.name for path in texts}) if overwrite else []
        try:
            with whole_folder(folder, stale=stale) as waiting:
                for path, text in texts.items():
                    (waiting / path.name).write_text(text, encoding="utf-8", newline="")
        except OSError as error:
            raise write_error(folder, error) from error
    return MachineFiles(
        files=tuple(texts),
        loads=tuple({id(one.load): one.load for one in made}.values()),
        findings=tuple(dict.fromkeys(finding for one in made for finding in one.findings)),
    )


_TAIL = r"(-\d+-of-\d+)?(-r12)?"


def _stale(folder: FilePath, stems: Sequence[str], *, keep: Collection[str]) -> list[str]:
    """Name loads that an earlier run wrote for the same markers: those that have a sheet."""
    ours = re.compile("|".join(re.escape(stem) + _TAIL for stem in stems))
    found: list[str] = []
    for sheet in [*folder.glob("*.txt")] if stems else ():
        if sheet.name in keep:
            continue
        name = sheet.name.removesuffix(".txt")
        files = (
            [sheet.with_name(name)]
            if FilePath(name).suffix in _SUFFIXES
            else [sheet.with_suffix(suffix) for suffix in _SUFFIXES]
        )
        held = [file for file in files if file.exists() and file.name not in keep]
        if held and ours.fullmatch(held[0].stem):
            found += [file.name for file in (*held, sheet)]
    return found


_SUFFIXES = sorted({form.suffix for form in Format})
