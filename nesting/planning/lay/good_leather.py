"""How much of its good leather a hide gives to parts that would do with poorer."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import shapely

from nesting.marker.lay import Sheets
from nesting.marker.marker import Marker
from nesting.material.material import Grade, Hides
from nesting.pattern.path import Affine
from nesting.pattern.polygon import piece_polygon, polygon
from nesting.planning.lay.ground import Asked, hide_of, slack_asked
from nesting.planning.lay.slots import Slot
from nesting.planning.lay.zones import held

__all__ = ["good_leather", "held_to"]

_WORTH = {Grade.A: 3.0, Grade.B: 2.0, Grade.C: 1.0, Grade.D: 0.0}
"""By grade, so that each grade better than needed counts once."""


def good_leather(marker: Marker, goods: Hides) -> float:
    """Return how much leather better than the poorest the parts take: mm² × grades."""
    stock = marker.lay.stock
    assert isinstance(stock, Sheets)
    total = 0.0
    for placement in marker.placements:
        hide = hide_of(stock.sheets[marker.sheets[placement.sheet]], goods)
        to_hide = Affine.turn(hide.backbone).after(placement.affine)
        part = piece_polygon(marker.lay.parts[placement.part].piece, by=to_hide)
        total += sum(
            _WORTH[zone.grade] * shapely.intersection(part, area).area for zone, area in held(hide)
        )
    return total


def held_to(
    wishes: Sequence[Asked | None], slots: Sequence[Slot], goods: Hides, *, fill: float
) -> list[Asked | None]:
    """Return what each slot asks, some held to the poorest grade that they accept.

    Those with the largest pieces first, until the leather of that grade is filled to `fill`.
    """
    room = dict.fromkeys(Grade, 0.0)
    for hide in goods.hides:
        graded = held(hide)
        for zone, area in graded:
            room[zone.grade] += area.area
        whole = polygon(hide.outline)
        room[Grade.D] += whole.area - sum(
            shapely.intersection(whole, area).area for _, area in graded
        )
    areas = [piece_polygon(slot.piece).area for slot in slots]
    asked = list(wishes)
    for i in sorted(range(len(slots)), key=lambda i: -areas[i]):
        wish = wishes[i]
        grade = Grade.D if wish is None else wish.grade
        if grade is Grade.A or fill * room[grade] < areas[i]:
            continue
        room[grade] -= areas[i] / fill
        asked[i] = replace(wish or _anywhere(slots[i], goods), best=grade)
    return asked


def _anywhere(slot: Slot, goods: Hides) -> Asked:
    nap = slot.cut.nap or goods.nap
    return Asked(grade=Grade.D, nap=nap, slack=slack_asked(slot.cut, goods))
