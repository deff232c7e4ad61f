"""Changes to the goods: their width, fold, nap, spacing, sheets, and what is made of them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from nesting.advice.change import Change, Kind, with_cuts
from nesting.job.job import Cut, Job
from nesting.material.material import Cloth, Fold, Material, Nap, SheetGoods, Width
from nesting.quantity import Unit

__all__ = ["goods_changes"]

_SLACK = 2.0
"""How many degrees off the grain are tried (our choice)."""

_LEAST_SPACING = 1.0
"""Half of a spacing is tried if it is at least so much (mm)."""


def goods_changes(job: Job, material: Material, *, widths: Sequence[float] = ()) -> list[Change]:
    """Return what may be changed of a material; `widths`: booked ones (mm) that one could buy."""
    found: list[Change] = []
    if material.taken_in is Unit.LENGTH:
        found += [*_other_widths(job, material, widths), *_fold(job, material)]
    elif material.taken_in is Unit.SHEETS:
        found += _other_sheets(job, material)
    found += [*_nap(job, material), *_slack(job, material), *_spacing(job, material)]
    return [*found, *_bag(job, material)]


def _other_widths(job: Job, cloth: Cloth, widths: Sequence[float]) -> Iterator[Change]:
    first = cloth.widths[0]
    edges = first.booked - first.usable
    for booked in dict.fromkeys(widths):
        if booked <= edges or any(booked == width.booked for width in cloth.widths):
            continue
        price = None if first.price is None else first.price * booked / first.booked
        # lengths at hand are of the widths that the job knows
        other = replace(
            cloth, widths=(Width(booked=booked, usable=booked - edges, price=price),), rolls=(),
            roll_widths=(),
        )  # fmt: skip
        said = job.amounts.setting(booked)
        yield Change(
            kind=Kind.WIDTH,
            material=cloth.name,
            what=f"cloth {said} wide",
            write=f'in its [[cloth]]: width = "{said}"',
            beware="reckoned at the same price for the same area" if price is not None else "",
            job=job.with_material(other),
        )


def _fold(job: Job, cloth: Cloth) -> Iterator[Change]:
    if cloth.folded:
        other, what, beware = (
            Fold.SINGLE,
            "laid single instead of folded",
            "more to cut, one by one",
        )
    elif cloth.print is not None:
        return
    else:
        other, what = Fold.FOLDED, "folded lengthwise instead of single"
        beware = "both plies are cut at once, right sides together: no remnants, no fussy cutting"
    yield Change(
        kind=Kind.FOLD,
        material=cloth.name,
        what=what,
        write=f'in its [[cloth]]: fold = "{other}"',
        beware=beware,
        job=job.with_material(
            replace(cloth, fold=other, remnants=() if other is Fold.FOLDED else cloth.remnants)
        ),
    )


_SHEETS = ((2.0, 1.0), (1.0, 2.0), (0.5, 1.0))
"""Other sizes of a sheet, as shares of its length and width (our choice)."""


def _other_sheets(job: Job, sheets: SheetGoods) -> Iterator[Change]:
    if sheets.count is not None or sheets.at_hand:
        return
    for along, across in _SHEETS:
        length, width = sheets.length * along, sheets.width * across
        price = None if sheets.price is None else sheets.price * along * across
        said = f'["{job.amounts.setting(length)}", "{job.amounts.setting(width)}"]'
        yield Change(
            kind=Kind.SHEET,
            material=sheets.name,
            what=f"sheets of {job.amounts.sizes(length, width)}, if they are on sale",
            write=f"in its [[sheet]]: size = {said}",
            beware="reckoned at the same price for the same area" if price is not None else "",
            job=job.with_material(replace(sheets, length=length, width=width, price=price)),
        )


def _nap(job: Job, material: Material) -> Iterator[Change]:
    bound = {
        cut.nap or material.nap
        for bag in job.bags
        for cut in bag.cuts
        if cut.material == material.name
    }

    def freed(old: Nap, new: Nap) -> Job:
        def free(cut: Cut) -> Cut:
            mine = cut.material == material.name and cut.nap is old
            return replace(cut, nap=new) if mine else cut

        goods = replace(material, nap=new) if material.nap is old else material
        return with_cuts(job, free).with_material(goods)

    if Nap.ONE_WAY in bound:
        yield Change(
            kind=Kind.NAP,
            material=material.name,
            what="parts in two directions instead of one",
            write=f'in its [[{_heading(material)}]], or each [[cut]] that has a nap: nap = "none"',
            beware="some parts lie upside down: never on a print or a pile that has a right way up",
            job=freed(Nap.ONE_WAY, Nap.NONE),
        )
    if Nap.NONE in bound and material.taken_in is Unit.SHEETS:
        yield Change(
            kind=Kind.NAP,
            material=material.name,
            what="parts turned any way",
            write='in its [[sheet]]: nap = "any"',
            beware="only if it bends, stretches and looks the same both ways",
            job=freed(Nap.NONE, Nap.ANY),
        )


def _slack(job: Job, material: Material) -> Iterator[Change]:
    free = material.nap is Nap.ANY or material.is_leather or material.turn_slack >= _SLACK
    if free or material.print is not None:
        return
    yield Change(
        kind=Kind.SLACK,
        material=material.name,
        what=f"parts up to {_SLACK:g}° off the grain",
        write=f"in its [[{_heading(material)}]]: turn_slack = {_SLACK:g}",
        beware="cut off its grain cloth twists a little as it hangs; not for stripes and checks",
        job=job.with_material(replace(material, turn_slack=_SLACK)),
    )


def _spacing(job: Job, material: Material) -> Iterator[Change]:
    half = material.spacing / 2.0
    if half < _LEAST_SPACING:
        return
    said = job.amounts.setting(half)
    yield Change(
        kind=Kind.SPACING,
        material=material.name,
        what=f"{said} between parts instead of {job.amounts.setting(material.spacing)}",
        write=f'in its [[{_heading(material)}]]: spacing = "{said}"',
        beware="only if your blade, beam or scissors do with so little room",
        job=job.with_material(replace(material, spacing=half)),
    )


def _bag(job: Job, material: Material) -> Iterator[Change]:
    """Yield one bag more, where there is one design and more can be had of the material."""
    if len(job.bags) != 1 or material.limited:
        return
    (bag,) = job.bags
    more = bag.count + 1
    yield Change(
        kind=Kind.BAG,
        material=material.name,
        what=f"{more} bags instead of {bag.count}" if bag.count > 1 else "2 bags instead of one",
        write=f"in [job]: bags = {more}",
        beware="saves only if you have a use for it; its other materials are not counted here",
        job=replace(job, bags=(replace(bag, count=more),)),
        share=more / bag.count,
    )


def _heading(material: Material) -> str:
    if material.is_leather:
        return "leather"
    return "cloth" if material.taken_in is Unit.LENGTH else "sheet"
