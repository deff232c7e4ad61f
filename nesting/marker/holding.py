"""Parts of a marker held where they lie, and let go again."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import replace

from nesting.amounts import METRIC, Amounts
from nesting.errors import JobError, Severity
from nesting.marker.check import check
from nesting.marker.lay import Held, Lay
from nesting.marker.marker import Marker, Placement

__all__ = ["hold", "placement_of", "refuse_holds", "release"]

_ELSEWHERE = "hold it elsewhere, or let it go"


def hold(marker: Marker, names: Collection[str] | None = None) -> Marker:
    """Return a marker whose parts are held where they lie, for all else to be laid round them.

    Parameters
    ----------
    marker
        A marker, made by hand or found.
    names
        Of the parts to hold; None is all that lie. What is held already stays held.

    Returns
    -------
    Marker
        The same placements, of a lay whose parts are `held`: search ``.lay``.

    Raises
    ------
    JobError
        No part of that name lies on the marker.

    Examples
    --------
    >>> kept = hold(marker, ["strap"])
    >>> [part.name for part in kept.lay.parts if part.held is not None]
    ['strap']
    >>> few = Limits(seconds=None, rounds=1)
    >>> again = lay_parts(kept.lay, limits=few, workers=1, start=kept)
    >>> check(again.marker)
    ()

    """
    where = {marker.lay.parts[p.part].name: p for p in marker.placements}
    _refuse_unknown(names, where)
    parts = list(marker.lay.parts)
    for name in where if names is None else names:
        placement = where[name]
        parts[placement.part] = replace(parts[placement.part], held=_held(marker, placement))
    return replace(marker, lay=replace(marker.lay, parts=tuple(parts)))


def release(marker: Marker, names: Collection[str] | None = None) -> Marker:
    """Return a marker of which some parts are no longer held.

    Parameters
    ----------
    marker
        A marker with held parts.
    names
        Of the parts to let go; None is all.

    Returns
    -------
    Marker
        The same placements, of a lay in which those parts may lie anywhere.

    Raises
    ------
    JobError
        The lay has no part of that name.

    Examples
    --------
    >>> release(hold(marker)) == marker
    True

    """
    known = [part.name for part in marker.lay.parts]
    _refuse_unknown(names, known)
    parts = tuple(
        replace(part, held=None) if names is None or part.name in names else part
        for part in marker.lay.parts
    )
    return replace(marker, lay=replace(marker.lay, parts=parts))


def _refuse_unknown(names: Collection[str] | None, known: Collection[str]) -> None:
    for name in names or ():
        if name not in known:
            some = ", ".join(sorted(known)[:6]) + (", …" if len(known) > 6 else "")
            raise JobError(f'no part "{name}" lies on it', hint=f"there are: {some}")


def _held(marker: Marker, placement: Placement) -> Held:
    kind = marker.sheets[placement.sheet] if marker.sheets else 0
    return Held(
        x=placement.x,
        y=placement.y,
        angle=placement.angle,
        flipped=placement.flipped,
        sheet=kind,
        number=marker.sheets[: placement.sheet].count(kind),
    )


def placement_of(part: int, held: Held, *, sheet: int = 0) -> Placement:
    """Return the placement of a part that is held, on a sheet of a marker."""
    return Placement(
        part=part, x=held.x, y=held.y, angle=held.angle, flipped=held.flipped, sheet=sheet
    )


def refuse_holds(lay: Lay, *, amounts: Amounts = METRIC) -> None:
    """Refuse a lay whose held parts break a rule by themselves.

    Raises
    ------
    JobError
        Says the first rule that is broken, and of which parts.

    """
    holds = [(i, part.held) for i, part in enumerate(lay.parts) if part.held is not None]
    if not holds:
        return
    for what in _off_stock(lay):
        raise JobError(what, hint=_ELSEWHERE)
    places = sorted({(held.sheet, held.number) for _, held in holds})
    number = {place: n for n, place in enumerate(places)}
    placements = tuple(
        placement_of(n, held, sheet=0 if lay.stock.open_ended else number[held.sheet, held.number])
        for n, (_, held) in enumerate(holds)
    )
    alone = replace(lay, parts=tuple(lay.parts[i] for i, _ in holds))
    kinds = () if lay.stock.open_ended else tuple(sheet for sheet, _ in places)
    for finding in check(Marker(lay=alone, placements=placements, sheets=kinds), amounts=amounts):
        if finding.severity is Severity.FAULT:
            raise JobError(f"of what is held, {finding.text}", hint=_ELSEWHERE)


def _off_stock(lay: Lay) -> Iterator[str]:
    """Yield what is held on a sheet that the stock doesn't have."""
    kinds = lay.stock.sheets
    for part in lay.parts:
        held = part.held
        if held is None:
            continue
        if lay.stock.open_ended:
            if held.sheet or held.number:
                yield f"{part.name} is held on a sheet, and the lay is on cloth"
        elif not 0 <= held.sheet < len(kinds):
            yield f"{part.name} is held on sheet {held.sheet}, which the stock doesn't have"
        else:
            count = kinds[held.sheet].count
            if held.number < 0 or (count is not None and held.number >= count):
                there = f"{kinds[held.sheet].name} number {held.number + 1}"
                yield f"{part.name} is held on {there}, there are {count}"
