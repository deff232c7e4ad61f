"""Which parts are held to poorer leather, so that the good is left for what needs it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import shapely

from nesting.material.material import Goods, Grade
from nesting.pattern.polygon import piece_polygon, polygon
from nesting.planning.lay.ground import Asked, slack_asked
from nesting.planning.lay.slots import Slot
from nesting.planning.lay.zones import held

__all__ = ["held_to"]


def held_to(
    wishes: Sequence[Asked | None], slots: Sequence[Slot], goods: Goods, *, fill: float
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


def _anywhere(slot: Slot, goods: Goods) -> Asked:
    nap = slot.cut.nap or goods.nap
    return Asked(grade=Grade.D, nap=nap, slack=slack_asked(slot.cut, goods))
