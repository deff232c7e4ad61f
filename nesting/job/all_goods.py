"""All materials of a job file, with their remnants."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import replace
from itertools import count

from nesting.job.at_hand import with_at_hand
from nesting.job.desk import Desk
from nesting.job.hides import hide_from, hides_from, zones_from
from nesting.job.locate import Place
from nesting.job.materials import cloth_from, print_from, refuse_folded, remnant_from, sheets_from
from nesting.job.opening import included
from nesting.job.tables.cloth_table import StockPrintTable
from nesting.job.tables.job_table import IncludeTable, JobTable
from nesting.job.tables.leather_table import StockHideTable, stock_id
from nesting.job.tables.names import file_name
from nesting.job.tables.remnant_table import RemnantTable
from nesting.material.material import (
    Grade,
    Hide,
    Material,
    Nap,
    Remnant,
    Zone,
)
from nesting.pattern.polygon import polygon
from nesting.quantity import Unit

__all__ = ["materials_of", "refuse_clash", "refuse_clashes", "stocked"]


def materials_of(table: JobTable, desk: Desk, *, stocked: bool = True) -> dict[str, Material]:
    """Return a file's materials by name, `stocked` with what the files it includes have."""
    yards = desk.amounts.inches
    placed: list[tuple[Place, Material]] = [
        *(
            (("cloth", i), cloth_from(cloth, ("cloth", i), desk, yards=yards))
            for i, cloth in enumerate(table.cloth)
        ),
        *(
            (("sheet", i), sheets_from(sheet, ("sheet", i), desk))
            for i, sheet in enumerate(table.sheet)
        ),
        *(
            (("leather", i), hides_from(leather, ("leather", i), desk))
            for i, leather in enumerate(table.leather)
        ),
    ]
    refuse_clashes([(material.name, place) for place, material in placed], "material", desk)
    materials = {material.name: material for _, material in placed}
    for i, remnant in enumerate(table.remnant):
        _add_remnant(materials, remnant, ("remnant", i), desk)
    _refuse_same_names(materials.values(), desk)
    files = included(table, desk)
    materials = _printed(materials, files)
    return _stocked(materials, files) if stocked else materials


def _printed(
    materials: Mapping[str, Material], files: Iterable[tuple[IncludeTable, Desk]]
) -> dict[str, Material]:
    """Return the materials with the prints that included files have measured."""
    found = dict(materials)
    for more, other in files:
        for i, table in enumerate(more.print):
            goods = found.get(table.material)
            if goods is not None:
                found[table.material] = _with_print(goods, table, ("print", i), other)
    return found


def _with_print(goods: Material, table: StockPrintTable, place: Place, desk: Desk) -> Material:
    if goods.taken_in is not Unit.LENGTH:
        raise desk.error(f"{goods.name} is no cloth", place, hint="name a [[cloth]] of the job")
    if goods.print is not None:
        raise desk.error(f"{goods.name} has a print already", place, hint="leave one of them out")
    if goods.folded and not goods.fold_print:
        raise desk.error(
            f"{goods.name} is folded with the right sides together: its print can't be seen, and"
            " falls differently on the two plies",
            place,
            hint="lay it single, or say fold_print = true with it if that does not matter",
        )
    motif = print_from(
        table, place, desk, name=goods.name, widths=goods.widths, longest=goods.longest
    )
    nap = goods.nap
    if table.nap != "none" and nap is not Nap.ONE_WAY:
        nap = Nap.ONE_WAY
        desk.assume("its print has one way up, so no part is turned", of=goods.name, first=True)
    return replace(goods, print=motif, nap=nap)


def stocked(
    materials: Mapping[str, Material], files: Iterable[tuple[IncludeTable, Desk]], desk: Desk
) -> dict[str, Material]:
    """Return the materials with the lengths, sheets and remnants that included files have."""
    found = _stocked(materials, files)
    _refuse_same_names(found.values(), desk)
    return found


def _stocked(
    materials: Mapping[str, Material], files: Iterable[tuple[IncludeTable, Desk]]
) -> dict[str, Material]:
    found = dict(materials)
    for more, other in files:
        for i, remnant in enumerate(more.remnant):
            if remnant.material in found or remnant.material is None:
                _add_remnant(found, remnant, ("remnant", i), other, included=True)
        for i, hide in enumerate(more.hide):
            if hide.material in found:
                _add_hide(found, hide, ("hide", i), other)
        found = with_at_hand(found, more, other)
    return found


def _add_hide(
    materials: dict[str, Material], table: StockHideTable, place: Place, desk: Desk
) -> None:
    """Add a hide on the shelf: it is there, so it costs nothing and is used before others."""
    goods = materials[table.material]
    if goods.taken_in is not Unit.HIDES:
        raise desk.error(f"{goods.name} is no leather", place, hint="name a [[leather]] of the job")
    hide = hide_from(table, place, desk)
    name = _fresh(hide.name, {one.name for one in goods.hides})
    bits = sum(one.remnant for one in goods.hides)
    kept = replace(hide, name=name, remnant=True, stock_id=stock_id(table))
    materials[goods.name] = replace(goods, hides=(*goods.hides[:bits], kept, *goods.hides[bits:]))


def _fresh(name: str, taken: Collection[str]) -> str:
    """Return the name, with a number if it is taken: those of two files may be called alike."""
    others = (f"{name} ({n})" for n in count(2))
    return name if name not in taken else next(other for other in others if other not in taken)


def _refuse_same_names(materials: Iterable[Material], desk: Desk) -> None:
    """Refuse two hides, or two remnants, of one name: nobody could tell them apart."""
    for goods in materials:
        often = Counter(one.name for one in goods.drawn)
        for name, times in often.items():
            if times > 1:
                kind = "hide" if goods.is_leather else "remnant"
                raise desk.error(
                    f'{goods.name} has {times} {kind}s named "{name}"',
                    (),
                    hint="rename one of them",
                )


def _add_remnant(
    materials: dict[str, Material],
    table: RemnantTable,
    place: Place,
    desk: Desk,
    *,
    included: bool = False,
) -> None:
    goods = materials.get(table.material or "")
    if goods is None:
        raise desk.error(
            f'the remnant\'s material "{table.material or ""}" is not of this job',
            place,
            hint="name the [[cloth]], [[sheet]] or [[leather]] it belongs to",
        )
    if goods.folded:
        if included:
            desk.assume(f"not used, because {goods.name} is laid folded", of=table.name)
            return
        refuse_folded(True, place, desk)
    remnant = remnant_from(
        table,
        place,
        desk,
        wrong_side_up=goods.wrong_side_up,
        leather=goods.is_leather,
    )
    if included:
        name = _fresh(remnant.name, {one.name for one in goods.drawn})
        remnant = replace(remnant, name=name, stock_id=stock_id(table))
    if goods.taken_in is not Unit.HIDES:
        materials[goods.name] = replace(goods, remnants=(*goods.remnants, remnant))
        return
    bits = sum(hide.remnant for hide in goods.hides)
    zones = _zones_of(table, remnant, place, desk)
    hide = Hide(
        name=remnant.name,
        outline=remnant.outline,
        flaws=remnant.holes,
        zones=zones,
        remnant=True,
        grain_known=remnant.grain_known,
        stock_id=remnant.stock_id,
    )
    hides = (*goods.hides[:bits], hide, *goods.hides[bits:])
    materials[goods.name] = replace(goods, hides=hides)


def _zones_of(table: RemnantTable, remnant: Remnant, place: Place, desk: Desk) -> tuple[Zone, ...]:
    """Return the zones of what is left of a hide: those drawn, or one of its grade."""
    if not table.zone:
        if table.grade is None:
            return ()
        return (Zone(name="remnant", grade=Grade(table.grade), outline=remnant.outline),)
    if table.grade is not None:
        raise desk.error("it has a grade and zones", (*place, "grade"), hint="leave one out")
    if table.face is not None or table.grain is not None:
        raise desk.error(
            "zones are drawn as it lies, with the backbone along x",
            (*place, "zone"),
            hint="leave grain and face out, and draw it so",
        )
    return zones_from(table.zone, place, desk, within=polygon(remnant.outline))


def refuse_clashes(names: Sequence[tuple[str, Place]], kind: str, desk: Desk) -> None:
    """Refuse names of which two give the same file name."""
    stems: dict[str, str] = {}
    for name, place in names:
        refuse_clash(name, (*place, "name"), kind, desk, stems=stems)


def refuse_clash(name: str, place: Place, kind: str, desk: Desk, *, stems: dict[str, str]) -> None:
    """Refuse a name that gives the same file name as an earlier one."""
    stem = file_name(name)
    if stem in stems:
        other = stems[stem]
        told = "is used twice" if other == name else f'and "{other}" give the same file name'
        raise desk.error(f'the {kind} name "{name}" {told}', place, hint="rename one of them")
    stems[stem] = name
