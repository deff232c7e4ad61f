"""All rules of the trade that a plan breaks, part by part, from the job file."""

from __future__ import annotations

import math
import re
from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import chain
from typing import cast

import shapely
from shapely import Polygon

from ..asked.cutting_list import Asked, Job
from ..asked.goods import Goods, spot_of
from ..asked.pattern import Mark
from ..asked.shapes import Pt
from ..asked.variants import mapped, same
from .answer import Entry, Lying
from .buying import bought_wrong, overdrawn
from .directions import turned_wrong
from .held import misheld
from .joins import joined_wrong
from .prints import binds, misprinted
from .zones import out_of_zones

__all__ = ["NEAR", "Laid", "Matched", "broken", "matched"]

NEAR = 0.02
"""What sampled curves may be off, mm."""

Laid = tuple[Lying, Asked]


@dataclass(frozen=True)
class Matched:
    """The parts of a plan with what was asked for; `stray`: those that nobody asked for."""

    laid: tuple[tuple[Entry, tuple[Laid, ...]], ...]
    stray: tuple[str, ...]


def matched(entries: Sequence[Entry], job: Job) -> Matched:
    """Say of each part which line of the cutting list it is."""
    by_key = {
        (one.bag if len({a.bag for a in job.asked}) > 1 else "", one.piece.name, one.goods.name,
         one.variant_words): one
        for one in job.asked
    }  # fmt: skip
    stray: list[str] = []
    found = []
    for entry in entries:
        laid = []
        for lying in entry.lying:
            bag = _bag_of(lying, entry) if len({a.bag for a in job.asked}) > 1 else ""
            asked = by_key.get((bag, lying.piece, entry.material, lying.variant)) or _only(
                lying, entry, job
            )
            if asked is None:
                stray.append(f"nobody asked for {lying.name} of {entry.material}")
            else:
                laid.append((lying, asked))
        found.append((entry, tuple(laid)))
    return Matched(tuple(found), tuple(stray))


def _only(lying: Lying, entry: Entry, job: Job) -> Asked | None:
    """Return the one line that a part can be of: a marker of one kind of bags doesn't name it."""
    key = (lying.piece, entry.material, lying.variant)
    found = [a for a in job.asked if (a.piece.name, a.goods.name, a.variant_words) == key]
    return found[0] if len(found) == 1 else None


def _bag_of(lying: Lying, entry: Entry) -> str:
    """Return the bag that a part is of: where a marker of an order has one kind, that."""
    kind = entry.bags[0][0] if len(entry.bags) == 1 else lying.bag
    return kind.split(" without ")[0].split(" / ")[0]


def broken(
    entries: Sequence[Entry], job: Job, told: Sequence[str], *, order: bool = False
) -> Iterator[str]:
    """Yield every rule that a plan breaks.

    `told`: all sentences that it says about itself; `order`: how many of what come off the table
    and what is bought is another's to judge (`spreading`).
    """
    every = matched(entries, job)
    yield from every.stray
    if not order:
        yield from _counts(every, job)
    yield from _untold(job, told, order=order)
    yield from misheld(job.held, entries, job.units)
    shapes: dict[tuple[int, int, str], bool] = {}
    for entry, laid in every.laid:
        goods = job.goods[entry.material]
        for lying, asked in laid:
            bound = binds(asked, job.asked, lying.hand)
            facing = order and entry.from_roll and job.face_to_face(goods)
            yield from _hand(lying, asked, facing=facing)
            if lying.bit is None:
                key = (id(lying.outline), id(asked), lying.hand)
                if key not in shapes:
                    shapes[key] = same(expected(lying, asked), lying.outline, within=NEAR)
                if not shapes[key]:
                    off = expected(lying, asked).symmetric_difference(lying.outline).area
                    yield f"{lying.name} is not as it was asked for: {off:.2f} mm² differ"
            yield from turned_wrong(lying, asked, bound=bound)
            yield from _up(lying, asked)
            if bound and not entry.from_roll:
                yield f"{lying.name} is bound by a print and lies on a remnant"
        yield from _on_goods(entry, laid, goods)
        yield from _apart(entry, laid, goods, job)
        if not order or not entry.from_roll:
            yield from bought_wrong(entry, goods)
    left = {name for entry, _ in every.laid for name in entry.unplaced}
    for goods in job.goods.values():
        here = [one for _, laid in every.laid for one in laid if one[1].goods is goods]
        # Of what could not all be laid, and that is said, bits may be missing.
        whole = [one for one in here if not any(n.startswith(one[0].piece) for n in left)]
        yield from joined_wrong(whole, goods)
        if not order:
            yield from overdrawn([e for e in entries if e.material == goods.name], goods)
        if goods.print is not None:
            from_roll = [
                [one for one in laid if one[1].goods is goods]
                for entry, laid in every.laid
                if entry.from_roll
            ]
            # Each marker of an order has bags of its own, numbered from 1.
            for there in from_roll if order else [list(chain.from_iterable(from_roll))]:
                yield from misprinted(there, job.asked)


def expected(lying: Lying, asked: Asked) -> Polygon:
    """Return a part's shape as it has to be, its grain along x."""
    shape = asked.shape(lying.hand)
    if not lying.on_fold or shape.fold is None:
        return shape.cut
    x0, _, x1, y1 = shape.cut.bounds
    upper = shapely.box(x0 - 1.0, shape.fold[0][1], x1 + 1.0, y1 + 1.0)
    return cast(Polygon, shape.cut.intersection(upper))


_COPIES = re.compile(r"(\d+)(?:\+(\d+))? of \d+")


def copies_of(lying: Lying) -> tuple[int, ...]:
    """Return the numbers of the copies that a part gives its bag."""
    found = _COPIES.search(lying.name.removeprefix(lying.piece))
    return tuple(int(n) for n in found.groups() if n) if found else (lying.copy,)


def _hand(lying: Lying, asked: Asked, *, facing: bool) -> Iterator[str]:
    if lying.hand not in asked.hands:
        yield f"{lying.name} is a {lying.hand} one, asked for: {asked.hands}"
    pair = asked.way_on_fold() == "pair" or (facing and bool(asked.cut.get("pairs")))
    if lying.both_hands != pair:
        yield f"{lying.name} is taken for a pair: {lying.both_hands}, is one: {pair}"


def _up(lying: Lying, asked: Asked) -> Iterator[str]:
    """Yield what can't be: a piece of unknown top on goods with a right way up."""
    if asked.nap != "one-way" or asked.piece.up_known:
        return
    shape, marks = asked.piece.cut, [m for m in asked.piece.marks if m.kind != "text"]
    middle = shape.centroid

    def about(p: Pt) -> Pt:
        return 2.0 * middle.x - p[0], 2.0 * middle.y - p[1]

    even = all(any(mark.moved(about).on(other) for other in marks) for mark in marks)
    if not even or not same(shape, mapped(shape, about), within=0.01):
        yield f"which end of {lying.name} is up is not known"


def _untold(job: Job, told: Sequence[str], *, order: bool) -> Iterator[str]:
    """Yield what is not obeyed, or guessed, and not told."""

    def said(words: str, name: str) -> bool:
        return any(words in line and name in line for line in told)

    for asked in job.asked:
        name, marks = asked.piece.name, asked.piece.marks
        one_hand = any(mark.hands and len(mark.hands) == 1 and _here(mark, asked) for mark in marks)
        at_once = asked.goods.folded or (order and job.face_to_face(asked.goods))
        pair = at_once and asked.cut.get("pairs")
        if pair and one_hand and not said("for one hand only", name):
            yield f"marks for one hand of {name} are left out and that is not told"
    for goods in job.goods.values():
        for spot in goods.spots:
            if spot.zones is None and not said("guessed", spot.name):
                yield f"the zones of {spot.name} are guessed and that is not told"
            if not spot.grain_known and not said("grain is not known", spot.name):
                yield f"the grain of {spot.name} is not known and that is not told"


def _here(mark: Mark, asked: Asked) -> bool:
    """Whether a mark is for the material of a cut."""
    words = mark.materials
    return words is None or asked.goods.name in {asked.roles.get(word, word) for word in words}


def _counts(every: Matched, job: Job) -> Iterator[str]:
    """Yield what is there too seldom or too often."""
    there: defaultdict[int, list[Lying]] = defaultdict(list)
    for _, laid in every.laid:
        for lying, asked in laid:
            there[id(asked)].append(lying)
    told = {name for entry, _ in every.laid for name in entry.unplaced}
    for asked in job.asked:
        lies = there[id(asked)]
        if any(name.startswith(asked.piece.name) for name in told):
            continue  # some could not be laid, and that is said
        way = asked.way_on_fold()
        if way in ("single", "fold", "one", "pair"):
            yield from _each_once(asked, lies, ("right",) if way == "pair" else asked.hands)
            continue
        wanted = asked.copies * asked.count
        # What is bound stays with its bag; copies that carry other marks are cut by themselves.
        own = any(mark.copies for mark in asked.piece.marks)
        alone = asked.copies if own else 1
        spare = asked.count * alone if own or binds(asked, job.asked) else 1
        if not wanted <= 2 * len(lies) <= wanted + spare:
            yield f"{len(lies)} times two of {asked.piece.name}, {wanted} were asked for"


def _each_once(asked: Asked, lying: Sequence[Lying], hands: Sequence[str]) -> Iterator[str]:
    """Yield what is not there exactly once: each copy of each bag in each hand."""
    often = Counter(
        (one.number, one.copy, one.hand) for one in lying if not one.bit or one.bit[0] == 1
    )
    wanted = {
        (n, copy, hand)
        for n in range(1, asked.count + 1)
        for copy in range(1, asked.copies + 1)
        for hand in hands
    }
    for key in wanted | set(often):
        if often[key] != (key in wanted):
            n, copy, hand = key
            yield (
                f"{asked.piece.name} ({asked.variant_words or 'plain'}) of {asked.goods.name}, copy"
                f" {copy}, {hand}, of bag {n} is there {often[key]} times"
            )


def _on_goods(entry: Entry, laid: Sequence[Laid], goods: Goods) -> Iterator[str]:
    """Yield what lies outside what can be cut from, or where it may not lie on it."""
    if entry.from_roll:
        yield from _on_roll(entry, laid, goods)
        return
    used: Counter[str] = Counter()
    for name in entry.sheets:
        used[name] += 1
    for name, times in used.items():
        spot = spot_of(goods, name)
        if spot is None:
            yield f"there is no {name} of {goods.name}"
        elif spot.count is not None and times > spot.count:
            yield f"{name} is used {times} times, there are {spot.count}"
    for lying, asked in laid:
        spot = spot_of(goods, entry.sheets[lying.sheet])
        if spot is None:
            continue
        if not spot.area.buffer(NEAR).covers(lying.lies):
            yield f"{lying.name} reaches beyond {spot.name}, or over a flaw of it"
        elif (gap := lying.lies.distance(spot.area.boundary)) < goods.margin - NEAR:
            yield f"{lying.name} lies {gap:.3f} mm off an edge of {spot.name}"
        if asked.nap != "any" and not spot.grain_known:
            yield f"{lying.name} has a grain, that of {spot.name} is not known"
        yield from out_of_zones(lying, asked, spot)


def _on_roll(entry: Entry, laid: Sequence[Laid], goods: Goods) -> Iterator[str]:
    wide = [w for w in goods.widths if entry.width and abs(w[0] - entry.width["booked"]) < 1e-6]
    if not wide:
        return
    width = wide[0][1] * (1.0 - goods.shrinks[1])
    width = width / 2.0 if goods.folded else width
    for lying, _ in laid:
        x0, y0, _, y1 = lying.lies.bounds
        off = max(-x0, -y0, y1 - width)
        if off > NEAR:
            yield f"{lying.name} reaches {off:.3f} mm beyond {goods.name}, {width:g} wide"
        if lying.on_fold and abs(y0) > NEAR:
            yield f"{lying.name} lies {y0:.3f} mm off the fold"


def _apart(entry: Entry, laid: Sequence[Laid], goods: Goods, job: Job) -> Iterator[str]:
    """Yield parts that lie too close together."""
    sheets: defaultdict[int, list[Laid]] = defaultdict(list)
    for one in laid:
        sheets[one[0].sheet].append(one)
    drift = goods.print.drift if goods.print is not None and entry.from_roll else 0.0
    for there in sheets.values():
        tree = shapely.STRtree([lying.lies for lying, _ in there])
        for i, (lying, asked) in enumerate(there):
            own = drift if binds(asked, job.asked) else 0.0
            reach = lying.lies.buffer(goods.spacing + 2.0 * drift + 0.1, quad_segs=2)
            for j in tree.query(reach):
                if j <= i:
                    continue
                other, its = there[int(j)]
                room = goods.spacing + own + (drift if binds(its, job.asked) else 0.0)
                gap = lying.lies.distance(other.lies)
                if gap < room - NEAR:
                    yield f"{lying.name} and {other.name} lie {gap:.3f} mm apart, not {room:g}"
                elif gap <= 0.0:
                    over = lying.lies.intersection(other.lies).area
                    if over > NEAR * math.sqrt(lying.lies.area):
                        yield f"{lying.name} and {other.name} share {over:.2f} mm²"
