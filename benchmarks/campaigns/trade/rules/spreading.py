"""An order: how many parts come off all plies, how high and long they are spread, from which rolls.

Cloth is spread in plies and each outline of the marker is cut from every one of them. Face to
face every other ply is turned over: a part and its mirror image come off two plies.
"""

from __future__ import annotations

import itertools
from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from typing import Any

from ..asked.cutting_list import Asked, Job, mirror_alike
from ..asked.goods import Goods
from ..asked.shelf import SAME_WIDTH
from .answer import Entry
from .buying import gross_of, length_of
from .judge import Laid, Matched

__all__ = ["spread_wrong"]

_NEAR = 0.05
"""How far lengths may be off, mm: rolls are dealt out in tenths."""


def spread_wrong(every: Matched, job: Job) -> Iterator[str]:
    """Yield what an order's plan has too few or too many of, or spreads as nobody may."""
    for entry, laid in every.laid:
        goods = job.goods[entry.material]
        if entry.from_roll:
            yield from _table_wrong(entry, goods, job)
            yield from _bags_wrong(entry, laid, goods, job)
            yield from _sources_wrong(entry, goods, job)
        if _facing(entry, goods, job):
            yield from _facing_wrong(laid)
    for goods in job.goods.values():
        yield from _rolls_wrong([e for e, _ in every.laid if e.material == goods.name], goods)
    yield from _counts_wrong(every, job)


def _facing(entry: Entry, goods: Goods, job: Job) -> bool:
    return entry.from_roll and job.face_to_face(goods)


def _over(job: Job) -> int:
    return int(job.table.get("over", 0))


def _alike(job: Job) -> dict[tuple[str, str], frozenset[str]]:
    """Return, by bag and material, all bags whose parts from it may take each other's place."""
    lists: defaultdict[tuple[str, str], list[tuple[int, str]]] = defaultdict(list)
    for one in job.asked:
        lists[one.bag, one.goods.name].append((id(one.piece), str(one.cut)))
    return {
        (bag, goods): frozenset(
            other for (other, its), of in lists.items() if its == goods and of == lists[bag, goods]
        )
        for bag, goods in lists
    }


def _counts_wrong(every: Matched, job: Job) -> Iterator[str]:
    """Yield what comes off all plies too seldom, or oftener than may be made."""
    alike = _alike(job)
    there: Counter[tuple[frozenset[str], str, str, str, str]] = Counter()
    for entry, laid in every.laid:
        for lying, asked in laid:
            if lying.bit and lying.bit[0] != 1:
                continue
            group = alike[asked.bag, asked.goods.name]
            for hand, count in _given(entry, (lying, asked), job).items():
                there[group, asked.goods.name, asked.piece.name, asked.variant_words, hand] += count
    left = {name for entry, _ in every.laid for name in entry.unplaced}
    for asked in job.asked:
        group = alike[asked.bag, asked.goods.name]
        bags = sum({one.bag: one.count for one in job.asked if one.bag in group}.values())
        if not bags or any(name.startswith(asked.piece.name) for name in left):
            continue
        kinds = len(group)
        for hand in asked.hands:
            key = group, asked.goods.name, asked.piece.name, asked.variant_words, hand
            count, least = there[key], asked.copies * bags
            most = asked.copies * (bags + _over(job) * kinds) + _wasted(asked, every)
            if not least <= count <= most:
                yield (
                    f"{asked.piece.name} ({asked.variant_words or 'plain'}) of {asked.goods.name},"
                    f" {hand}: {count} come off the table, {least} to {most} were asked for"
                )


def _wasted(asked: Asked, every: Matched) -> int:
    """Return how many more than were ordered folded cloth may give: one a spread and marker."""
    if asked.way_on_fold() != "two":
        return 0
    return sum(
        sum(e.spreads) * asked.copies for e, _ in every.laid if e.material == asked.goods.name
    )


def _given(entry: Entry, one: Laid, job: Job) -> dict[str, int]:
    """Return how many a part gives in each hand from all plies of its marker."""
    lying, asked = one
    plies = sum(entry.spreads)
    if _facing(entry, asked.goods, job):
        if asked.cut.get("pairs"):
            return {"right": plies // 2, "left": plies // 2}
        return {lying.hand: plies}
    way = asked.way_on_fold() if entry.from_roll else "single"
    if way == "pair":
        return {"right": plies, "left": plies}
    return {lying.hand: plies * (2 if way == "two" else 1)}


def _facing_wrong(laid: Sequence[Laid]) -> Iterator[str]:
    """Yield single parts half of which would come out mirrored."""
    for lying, asked in laid:
        if asked.cut.get("pairs") or asked.goods.faces_alike:
            continue
        shape = asked.shape(lying.hand)
        turns = (0.0,) if asked.nap == "one-way" else (0.0, 180.0)
        if not any(mirror_alike(shape, turn) for turn in turns):
            yield f"{lying.name} is cut face to face and is not its own mirror image"


def _table_wrong(entry: Entry, goods: Goods, job: Job) -> Iterator[str]:
    """Yield spreads that are too high or too long for the table or the bed."""
    table = job.table
    most, twice = int(table.get("plies", 1)), _facing(entry, goods, job)
    layers = 2 if goods.folded else 1
    if "height" in table and goods.thickness:
        most = min(most, int(job.units.mm(table["height"]) / (layers * goods.thickness) + 1e-9))
    for plies in entry.spreads:
        if not 0 < plies <= most:
            yield f"{plies} plies of {goods.name} are spread, {most} may be"
        if twice and plies % 2:
            yield f"{plies} plies of {goods.name} lie face to face"
    long = length_of(entry) + 2.0 * goods.ends
    for name, said in (("table", table.get("length")), ("bed", table.get("bed", (None,))[0])):
        if said is not None and long > job.units.mm(said) + _NEAR:
            yield f"a marker of {goods.name} is {long:.2f} long, the {name} {said}"
    if "bed" in table and entry.width:
        across = entry.width["booked"] / layers
        if across > job.units.mm(table["bed"][1]) + _NEAR:
            yield f"{goods.name} is {across:g} wide as it lies, wider than the bed"


def _bags_wrong(entry: Entry, laid: Sequence[Laid], goods: Goods, job: Job) -> Iterator[str]:
    """Yield what a marker says of its bags that its parts don't bear out."""
    each = 2 if _facing(entry, goods, job) else 1
    held = sum(count for _, count in entry.bags)
    most = int(job.table.get("bags", 6)) * each
    if not 0 < held <= most:
        yield f"a marker of {goods.name} holds {held} bags, {most} may be"
    if any(" without " in name for name, _ in entry.bags):
        return  # its bags have parts from remnants
    outlines = Counter(id(asked) for lying, asked in laid if not lying.bit or lying.bit[0] == 1)
    alike = _alike(job)
    said = Counter[frozenset[str]]()
    for name, count in entry.bags:
        for bag in {one.bag for one in job.asked}:
            if bag in ("", name) or name.split(" / ")[0] == bag:
                said[alike.get((bag, goods.name), frozenset({bag}))] += count
    for asked in {id(one): one for _, one in laid}.values():
        group = alike[asked.bag, goods.name]
        wanted = asked.copies * len(asked.hands) * said[group]
        if each == 2 or asked.way_on_fold() == "pair":
            wanted = -(-wanted // 2)
        elif asked.way_on_fold() == "two":
            continue  # copies of one bag and of the next share an outline
        if outlines[id(asked)] != wanted:
            yield (
                f"{outlines[id(asked)]} outlines of {asked.piece.name} lie on a marker of"
                f" {goods.name} for {dict(entry.bags)}, not {wanted}"
            )


def _sources_wrong(entry: Entry, goods: Goods, job: Job) -> Iterator[str]:
    """Yield plies of which it is not said where they come from, and splices that cut a part."""
    if not entry.laid_from:
        return
    plies = Counter[int]()
    for laid in entry.laid_from:
        plies[laid.get("spread", 0)] += laid["plies"]
        yield from _splice_wrong(laid, entry, goods, job)
    if dict(plies) != dict(enumerate(entry.spreads)):
        yield f"{dict(plies)} plies of {goods.name} come from somewhere, not {entry.spreads}"


def _splice_wrong(laid: dict[str, Any], entry: Entry, goods: Goods, job: Job) -> Iterator[str]:
    if len(laid["rolls"]) == 1:
        return
    begin, end = laid["splice"]
    if "splice" not in job.table or end - begin > job.units.mm(job.table["splice"]) + _NEAR:
        yield f"plies of {goods.name} are spliced with {end - begin:.2f} mm of overlap"
    for lying in entry.lying:
        x0, _, x1, _ = lying.lies.bounds
        if x1 > end + _NEAR and x0 < begin - _NEAR:
            yield f"{lying.name} lies across the splice from {begin:.2f} to {end:.2f}"


def _rolls_wrong(entries: Sequence[Entry], goods: Goods) -> Iterator[str]:
    """Yield lengths at hand of which more is taken than they have, and what is told wrong."""
    lost, taken = 1.0 - goods.shrinks[0], Counter[int]()
    for entry in (e for e in entries if e.from_roll):
        own, long = Counter[int](), length_of(entry) + 2.0 * goods.ends
        for laid in entry.laid_from:
            lengths = [long]
            if len(laid["rolls"]) == 2:
                begin, end = laid["splice"]
                lengths = [goods.ends + end, long - goods.ends - begin]
            for roll, each in zip(laid["rolls"], lengths, strict=True):
                own[roll] += laid["plies"] * each / lost
        taken.update(own)
        booked = entry.width["booked"] if entry.width else 0.0
        for roll in filter(None, own):
            wide = goods.rolls[roll - 1][1]
            if wide is not None and abs(wide - booked) > SAME_WIDTH:
                yield f"{goods.name}, {booked:g} wide, is taken from a length {wide:g} wide"
        new = own[0] if entry.laid_from else gross_of(entry, goods)
        if abs(entry.buying["to_buy"] - new) > 0.2 and not entry.buying["step"]:
            yield f"{new:.2f} of {goods.name} are new, told: {entry.buying}"
    for roll, amount in itertools.filterfalse(lambda one: one[0] == 0, taken.items()):
        there = goods.rolls[roll - 1][0]
        if amount > there + 0.2:
            yield f"{amount:.2f} of {goods.name} are taken from a length of {there:g}"
