"""The judge: whether a marker obeys every rule of its lay.

It shares nothing with the search: it takes the outlines as drawn (curves as chords
`TOLERANCE.chord` away), the placements and the rules, and measures.

What it lets pass
-----------------
Between two parts, and between a part and the stock, a depth of overlap or a lack of
distance of at most ``TOLERANCE.contact`` × the longer side of the larger part's
bounding box, plus ``TOLERANCE.chord`` for each of the two that has curves. On a
lattice ``TOLERANCE.lattice`` mm beyond the lattice's own tolerance, in turns
``TOLERANCE.turn`` degrees beyond their slack; a held part ``TOLERANCE.held`` mm off. The
depth of an overlap is how far the deepest shared point lies inside either of the two
(`contact.overlap_depth`).

What it finds
-------------
========== ===================================================== =====================
kind       what                                                  amount
========== ===================================================== =====================
overlap    two parts overlap                                     depth, mm
gap        two parts lie nearer than the spacing                 lack of distance, mm
outside    a part leaves the cloth or sheet, or its margin       how far, mm
flaw       a part lies in a hole of the sheet, or its margin     how far, mm
region     a part leaves its region, or the sheet has none       how far, mm
turn       a part lies at no allowed turn                        beyond the slack, °
flip       a part lies face down that may not
lattice    an anchor is off the repeat, or a match misses        beyond tolerance, mm
edge       a part doesn't touch the edge that it must            distance, mm
turn_group parts that must keep the same turn don't              difference, °
mates      mates lie on different sheets; too far apart (a note) sheets; distance, mm
match      matched parts lie more than a repeat apart, or on     repeats, on one sheet
           different sheets (a note)
missing    a part isn't laid
extra      a part is laid twice, or isn't in the lay
sheet      a sheet that isn't there, or more than there are;     sheets too many
           one without parts (a note)
number     a place or turn that isn't a number, or over 10 km off
outline    an outline crosses itself or encloses nothing
mark       a mark reaches beyond its part                        how far, mm
held       a part lies elsewhere, or otherwise, than it is held  how far, mm or °
========== ===================================================== =====================
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from itertools import islice

from nesting.amounts import METRIC, Amounts
from nesting.errors import Finding, Severity
from nesting.marker.contact import Clash, Solid, clashes, outline_solid
from nesting.marker.counted import copies, lies, numbers, sheets
from nesting.marker.marker import Marker
from nesting.marker.on_stock import stocks
from nesting.marker.rules import Laid, groups, held, held_sheets, lone_rules
from nesting.pattern.marks.marked import marks_beyond
from nesting.pattern.piece import Piece

__all__ = ["check", "clash_told", "is_good", "marks", "outlines"]

_MOST = 500
"""Overlaps and gaps listed per sheet; more are only said to be there."""


def is_good(marker: Marker) -> bool:
    """Return whether the judge finds no fault (notes don't count)."""
    return not any(finding.severity is Severity.FAULT for finding in check(marker))


def check(marker: Marker, *, amounts: Amounts = METRIC) -> tuple[Finding, ...]:
    """Return everything that is wrong with a marker, and a few notes.

    Every rule is judged on every part, whatever else is wrong with it; parts whose
    place isn't a number or whose sheet isn't there are only counted. The kinds, their
    amounts and what is let pass stand at the top of this module.

    Parameters
    ----------
    marker
        What to judge; it has to be complete to be without faults.
    amounts
        The units in which findings are told (``job.amounts``; cm if not given).

    Returns
    -------
    tuple of Finding
        Empty if there is nothing to say.

    Examples
    --------
    >>> check(marker)
    ()
    >>> [finding.text for finding in check(spoilt)]
    ['front 1 of 2 reaches 1.000 mm beyond the start of the cloth']

    """
    findings = [*copies(marker), *numbers(marker), *sheets(marker)]
    laid = _laid(marker)
    findings.extend(outlines(laid))
    findings.extend(marks(laid, amounts))
    findings.extend(finding for one in laid for finding in lone_rules(one, amounts))
    kept = held_sheets(marker)
    findings.extend(finding for one in laid for finding in held(one, kept, amounts))
    by_sheet: defaultdict[int, list[Laid]] = defaultdict(list)
    for one in laid:
        by_sheet[one.placement.sheet].append(one)
    on_stock = stocks(marker, amounts)
    for index, members in sorted(by_sheet.items()):
        findings.extend(on_stock(index, members))
        findings.extend(_neighbours(members, amounts, spacing=marker.lay.spacing))
    findings.extend(groups(laid, amounts, spacing=marker.lay.spacing))
    return tuple(findings)


def _laid(marker: Marker) -> list[Laid]:
    """Return the parts that lie somewhere; equal pieces are prepared once."""
    solids: dict[int, Solid] = {}

    def solid(piece: Piece) -> Solid:
        if id(piece) not in solids:
            solids[id(piece)] = outline_solid(piece.cut, holes=piece.holes)
        return solids[id(piece)]

    out = []
    for placement in marker.placements:
        if lies(marker, placement):
            part = marker.lay.parts[placement.part]
            placed = solid(part.piece).placed(placement.affine)
            out.append(Laid(part=part, placement=placement, solid=placed))
    return out


def outlines(laid: Iterable[Laid]) -> Iterator[Finding]:
    """Yield every outline that encloses nothing or crosses itself."""
    for one in laid:
        if one.solid.area.area == 0.0:
            text = f"the outline of {one.name} encloses nothing"
            yield Finding(kind="outline", text=text, parts=(one.name,))
        elif one.solid.crossed:
            text = f"the outline of {one.name} crosses itself"
            yield Finding(kind="outline", text=text, parts=(one.name,), at=one.centre)


def marks(laid: Iterable[Laid], amounts: Amounts) -> Iterator[Finding]:
    """Yield every mark that would be made beyond its part: on a neighbour, or on nothing."""
    for one in laid:
        for mark, off in marks_beyond(one.part.piece):
            name = f' "{mark.name}"' if mark.name else ""
            yield Finding(
                kind="mark",
                text=f"the {mark.kind} mark{name} of {one.name} reaches {amounts.fine(off)}"
                " beyond it",
                parts=(one.name,),
                amount=off,
                at=one.centre,
            )


def _neighbours(laid: Sequence[Laid], amounts: Amounts, *, spacing: float) -> Iterator[Finding]:
    """Yield the overlaps and gaps between the parts of one sheet."""
    found = clashes([one.solid for one in laid], spacing=spacing)
    for clash in islice(found, _MOST):
        pair = laid[clash.first].name, laid[clash.second].name
        yield clash_told(clash, pair, amounts, spacing=spacing)
    if next(found, None) is not None:
        yield Finding(kind="overlap", text=f"more than {_MOST} pairs of parts overlap or are near")


def clash_told(clash: Clash, pair: tuple[str, str], amounts: Amounts, *, spacing: float) -> Finding:
    """Return what is told of two parts that overlap or lie too near each other."""
    first, second = pair
    if clash.depth > 0.0:
        text = (
            f"{first} and {second} overlap by {amounts.fine(clash.depth)}"
            f" ({amounts.fine_area(clash.shared)})"
        )
        return Finding(kind="overlap", text=text, parts=pair, amount=clash.depth, at=clash.at)
    text = (
        f"{first} and {second} lie {amounts.fine(clash.distance)} apart,"
        f" {amounts.fine(spacing)} are wanted"
    )
    amount = spacing - clash.distance
    return Finding(kind="gap", text=text, parts=pair, amount=amount, at=clash.at)
