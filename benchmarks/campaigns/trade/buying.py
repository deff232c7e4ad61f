"""What has to be bought: as long as the lay with its ends, before shrinking, in whole steps."""

from __future__ import annotations

import math
from collections.abc import Iterator

from .answer import Entry
from .goods import Goods

__all__ = ["bought_wrong", "length_of"]


def length_of(entry: Entry) -> float:
    """Return how far a marker reaches along the cloth (mm)."""
    return max((one.lies.bounds[2] for one in entry.lying), default=0.0)


def bought_wrong(entry: Entry, goods: Goods) -> Iterator[str]:
    """Yield what is wrong with what a marker asks to be bought."""
    said = entry.buying
    if goods.kind == "cloth" and entry.from_roll:
        yield from _cloth(entry, goods)
    elif goods.kind == "sheet":
        new = sum(1 for name in entry.sheets if name == goods.name)
        if said.get("sheets", 0) != new:
            yield f"{new} sheets of {goods.name} are used, {said.get('sheets', 0)} told"
        yield from _price(said.get("cost"), goods.price, float(new), goods.name)


def _cloth(entry: Entry, goods: Goods) -> Iterator[str]:
    said, length = entry.buying, length_of(entry)
    needed = length + 2.0 * goods.ends if entry.lying else 0.0
    gross = needed / (1.0 - goods.shrinks[0])
    if abs(said["needed"] - needed) > 0.05 or abs(said["gross"] - gross) > 0.05:
        yield f"{goods.name} needs {needed:.2f}, {gross:.2f} before washing, told: {said}"
    if goods.longest is not None and needed > goods.longest + 0.02:
        yield f"the lay of {goods.name} is {needed:.2f} long, at most {goods.longest:g} can be"
    held = said.get("from_stock", 0.0)
    if goods.rolls or held:
        if held > sum(goods.rolls) + 0.01:
            yield f"{held:g} of {goods.name} are taken from {goods.rolls}"
        return
    bought = said["to_buy"]
    steps = bought / goods.step
    if abs(steps - round(steps)) > 1e-6 or not -0.01 <= bought - gross < goods.step:
        yield f"{bought:g} of {goods.name} are bought in steps of {goods.step:g} for {gross:.2f}"
    wide = [w for w in goods.widths if entry.width and abs(w[0] - entry.width["booked"]) < 1e-6]
    if not wide:
        yield f"{goods.name} is not sold so wide: {entry.width}"
        return
    yield from _price(said.get("cost"), wide[0][2], bought / 1000.0, goods.name)


def _price(told: float | None, each: float | None, amount: float, name: str) -> Iterator[str]:
    if (told is None) != (each is None):
        yield f"{name} costs {each} each, told: {told}"
    elif (
        told is not None
        and each is not None
        and not math.isclose(told, each * amount, abs_tol=0.011)
    ):
        yield f"{amount:g} of {name} cost {each * amount:.2f}, told: {told:.2f}"
