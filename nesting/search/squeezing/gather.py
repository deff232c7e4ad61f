"""Mates and matches drawn together, once it is settled how much of the goods a marker takes.

Mates are to lie side by side, parts of a match no more than a repeat apart. Parts that are alike
change places, which costs nothing. Then a part that lies far from its mates (here all it belongs
to) is put beside one of them, what lies there goes where it came from, and the overlaps that this
makes are worked out as in the search itself; the layout is kept if its mates lie nearer each
other and nothing got longer (large neighbourhood search; D. Pisinger and S. Ropke, "Large
neighborhood search", in Handbook of Metaheuristics, Springer 2010).
"""

from __future__ import annotations

import random
from collections import defaultdict
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry.base import BaseGeometry

from nesting.marker.lay import Lay
from nesting.search.prepared.forms import turned
from nesting.search.prepared.polygons import Floats
from nesting.search.prepared.state import Ending, Layout
from nesting.search.prepared.world import World
from nesting.search.squeezing.sharing import shared_out
from nesting.search.turn_groups import at_turn, bound_in_turn, common_turns, groups_of

__all__ = ["TRIES", "gather", "has_matches", "has_mates"]

CLOSE = 15.0
"""Mates no farther apart (mm) lie close together."""

TRIES = 100
"""Attempts for each distance that is too long, unless time ends it."""

_WORSE = 0.1
"""How much worse a layout may be to go on from, at the start, as a share of the best."""

_NEIGHBOURS = 12
"""With so many alike parts, those nearest to a mate, a part may change places."""

_TOGETHER = 0.25
"""How often all of a group go elsewhere rather than one part to its mate."""

_PATIENCE, _QUOTA = 60, 10_000
"""Rounds without improvement until a separation is given up; positions between two looks."""

_ELSEWHERE = 1e6
"""What a mate on another board counts as (mm)."""

Ints = npt.NDArray[np.int64]

Link = tuple[float, int, int]
"""How much farther than it should be it is (mm), and the two items it is between."""


def has_mates(lay: Lay) -> bool:
    """Whether any parts of a lay belong near each other."""
    return any(part.mates is not None for part in lay.parts)


def has_matches(lay: Lay) -> bool:
    """Whether the print runs on from part to part of a lay."""
    return any(part.match is not None for part in lay.parts)


def gather(
    world: World,
    layout: Layout,
    *,
    seed: int,
    ends: Callable[[], bool],
    late: Callable[[], bool] | None = None,
    tries: int = TRIES,
) -> Layout:
    """Return a layout as short as this one, without overlap, with mates and matches drawn together.

    `ends`: whether it is time; `late`: whether only alike parts are to change places from now on.
    """
    if not (has_mates(world.lay) or has_matches(world.lay)):
        return layout
    work = _Gathering(world, random.Random(seed))
    world.state.seed(seed)
    length = world.length
    world.set_length(world.used_length(layout))
    best = now = work.shared_out(work.exchanged(layout, ends=ends), ends=ends)
    links = work.links(best)
    least = cost = _total(links)
    rounds = tries * len(_far(links))
    pulled = has_mates(world.lay)
    if len(world.sheets) == 1:  # matches may lie on several
        world.state.tune("has_mates", 1)
    for n in range(rounds):
        if least <= 0.0 or (late or ends)():
            break
        trial = work.attempt(now, _far(links), ends=ends)
        if trial is None:
            continue
        trial = work.exchanged(trial, ends=ends)
        found = work.links(trial)
        # a little worse is taken, too, ever less so (threshold accepting)
        if _total(found) <= cost + _WORSE * (1.0 - n / rounds) * least:
            now, links, cost = trial, found, _total(found)
        if cost < least:
            best, least = now, cost
        elif cost > (1.0 + _WORSE) * least:
            now, links, cost = best, work.links(best), least
    best = work.shared_out(best, ends=ends)
    world.state.tune("has_mates", int(pulled))
    world.set_length(length)
    world.load(best)
    return best


def _far(links: list[Link]) -> list[Link]:
    return [link for link in links if link[0] > 0.0]


def _total(links: list[Link]) -> float:
    return sum(more for more, _, _ in links)


@dataclass(frozen=True, slots=True)
class _Bond:
    """Items that belong together: each lies no farther (mm) from another than `close`."""

    members: tuple[int, ...]
    close: float


def _bonds(lay: Lay) -> list[_Bond]:
    """Return the mates of a lay, and the parts of each match."""
    mates: defaultdict[str, list[int]] = defaultdict(list)
    matches: defaultdict[str, list[int]] = defaultdict(list)
    steps: dict[str, float] = {}
    for i, part in enumerate(lay.parts):
        if part.mates is not None:
            mates[part.mates].append(i)
        if part.match is not None:
            matches[part.match].append(i)
            if part.binding is not None:
                steps[part.match] = part.binding.lattice.step
    found = [_Bond(tuple(members), CLOSE) for members in mates.values()]
    found += [
        _Bond(tuple(members), steps[name] + lay.spacing)
        for name, members in matches.items()
        if name in steps
    ]
    return [bond for bond in found if len(bond.members) > 1]


@dataclass(slots=True)
class _Group:
    """Items that any bonds link, and these."""

    members: list[int]
    bonds: list[_Bond]


def _groups(bonds: Sequence[_Bond]) -> list[_Group]:
    groups: list[_Group] = []
    for bond in bonds:
        linked = [group for group in groups if not {*bond.members}.isdisjoint(group.members)]
        members = {i for group in linked for i in group.members} | {*bond.members}
        more = [other for group in linked for other in group.bonds]
        groups = [group for group in groups if group not in linked]
        groups.append(_Group(sorted(members), [*more, bond]))
    return groups


@dataclass(slots=True)
class _Gathering:
    """What is known of a world's mates and matches, and the dice."""

    world: World
    dice: random.Random
    groups: list[_Group] = field(init=False)
    group_of: dict[int, _Group] = field(init=False)
    bodies: dict[int, BaseGeometry] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.groups = _groups(_bonds(self.world.lay))
        self.group_of = {i: group for group in self.groups for i in group.members}

    # ------------------------------------------------------------ distances

    def links(self, layout: Layout) -> list[Link]:
        """Return the distances that link all that belongs together, shortest in sum."""
        return self._links(_Gaps(self, layout), np.arange(len(layout.shape)))

    def _links(self, gaps: _Gaps, place: Ints) -> list[Link]:
        return [link for group in self.groups for link in gaps.links(group, place)]

    def body(self, layout: Layout, i: int) -> BaseGeometry:
        """Return an item's outline where it lies."""
        s = int(layout.shape[i])
        if s not in self.bodies:
            shape = self.world.shapes[s]
            rings = self.world.outlines[shape.outline].plain
            self.bodies[s] = shapely.union_all(
                [shapely.Polygon(turned(ring, shape)) for ring in rings]
            )
        return shapely.transform(self.bodies[s], lambda xy: xy + layout.at[i])

    # ------------------------------------------------------------ alike parts change places

    def exchanged(self, layout: Layout, *, ends: Callable[[], bool]) -> Layout:
        """Return the layout with places changed between parts that are alike, where that helps."""
        gaps, place = _Gaps(self, layout), np.arange(len(layout.shape))
        better = True
        while better:
            better = False
            for _, i, j in _far(self._links(gaps, place)):
                if ends():
                    break
                for one, mate in ((i, j), (j, i)):
                    trial = self._exchanged(gaps, place, one, mate)
                    if trial is not None:
                        place, better = trial, True
        return Layout(layout.at[place], layout.shape[place], layout.sheet[place])

    def shared_out(self, layout: Layout, *, ends: Callable[[], bool]) -> Layout:
        """Return the layout with the copies of each kind assigned to their places anew."""
        gaps, place = _Gaps(self, layout), np.arange(len(layout.shape))
        if not _far(self._links(gaps, place)):
            return layout
        turns = [self.world.shapes[int(s)].angle for s in layout.shape]
        place = shared_out(
            self.world, place, group_of=self.group_of, ends=ends,
            cost=lambda group, place: _total(gaps.links(group, place)),
            may=lambda i, now, then: (
                turns[now] == turns[then] or not bound_in_turn(self.world, [i])
            ),
        )  # fmt: skip
        return Layout(layout.at[place], layout.shape[place], layout.sheet[place])

    def _exchanged(self, gaps: _Gaps, place: Ints, i: int, mate: int) -> Ints | None:
        """Return the places with an item in that of an alike one that lies near its mate."""
        kinds = np.array(self.world.kinds.of)
        at, sheet = gaps.layout.at, gaps.layout.sheet
        alike = np.flatnonzero((kinds == kinds[i]) & (sheet[place] == sheet[place[mate]]))
        way = np.abs(at[place[alike]] - at[place[mate]]).sum(axis=1)
        now: dict[int, float] = {}
        for other in (int(n) for n in alike[np.argsort(way, kind="stable")[:_NEIGHBOURS]]):
            mine = self.group_of[i].members
            if other in mine or not self._may_exchange(gaps.layout, place, i, other):
                continue
            trial = place.copy()
            trial[[i, other]] = place[[other, i]]
            before = self._cost(gaps, place, i, other, now)
            if self._cost(gaps, trial, i, other, {}) < before - 1e-6:
                return trial
        return None

    def _may_exchange(self, layout: Layout, place: Ints, i: int, j: int) -> bool:
        """Whether two alike parts may change places: those of one turn keep it."""
        if not bound_in_turn(self.world, (i, j)):
            return True
        one, two = (self.world.shapes[int(layout.shape[place[n]])].angle for n in (i, j))
        return one == two

    def _cost(self, gaps: _Gaps, place: Ints, i: int, j: int, known: dict[int, float]) -> float:
        """Return how far apart the mates of two items lie; `known`: by a group's first item."""
        groups = [self.group_of[n] for n in (i, j) if n in self.group_of]
        for group in groups:
            if group.members[0] not in known:
                known[group.members[0]] = _total(gaps.links(group, place))
        return sum(known[group.members[0]] for group in groups)

    # ------------------------------------------------------------ one part moves to its mate

    def attempt(
        self, layout: Layout, far: list[Link], *, ends: Callable[[], bool]
    ) -> Layout | None:
        """Put a part beside a mate, or mates elsewhere; None if that doesn't work out."""
        world, dice = self.world, self.dice
        _, i, j = dice.choices(far, [CLOSE + more for more, _, _ in far])[0]
        if dice.random() < 0.5:
            i, j = j, i
        if not world.load(layout):
            return None
        if dice.random() < _TOGETHER:
            done = self._settle(layout, self.group_of[i].members)
        else:
            board = int(layout.sheet[j])
            s = self._shape(layout, i, board)
            done = s is not None and self._put(layout, i, s, board, self._beside(layout, i, j, s))
        return self._separated(ends) if done else None

    def _settle(self, layout: Layout, group: list[int]) -> bool:
        """Put a whole group where another part lies, at another turn perhaps."""
        world, dice = self.world, self.dice
        board = int(layout.sheet[group[0]])
        options = {i: world.options_of(i, board) for i in group}
        if bound_in_turn(world, group):
            common = common_turns(world, options.values())
            if self._turned_with_others(group):
                now = {world.shapes[int(layout.shape[i])].angle for i in group}
                common &= now if len(now) == 1 else set()
            if not common:
                return False
            angle = dice.choice(sorted(common))
            options = {i: at_turn(world, options[i], angle) for i in group}
        spots = [n for n in range(world.items) if layout.sheet[n] == board and n not in group]
        if not all(options.values()) or not spots:
            return False
        order = dice.sample(group, len(group))
        spot = dice.choice(spots)
        s = dice.choice(options[order[0]])
        if not self._put(layout, order[0], s, board, self._middle(layout, spot, s)):
            return False
        for before, i in pairwise(order):
            done = world.save()
            s = dice.choice(options[i])
            if not self._put(layout, i, s, board, self._beside(done, i, before, s)):
                return False
        return True

    def _turned_with_others(self, group: list[int]) -> bool:
        """Whether parts beside a group of mates must keep the same turn as some of it."""
        return any(
            not {*members}.isdisjoint(group) and not {*members} <= {*group}
            for members in groups_of(self.world).values()
        )

    def _put(self, layout: Layout, i: int, s: int, board: int, at: tuple[float, float]) -> bool:
        """Put an item somewhere, and what it covers where it lay."""
        world = self.world
        ok, x, y = world.state.admit(i, s, board, *at)
        if not ok:
            return False
        world.state.put(i, s, board, x, y)
        for other in self._under(layout, i, s, np.array([x, y]), board):
            self._move(other, layout, to=i)
        return True

    def _shape(self, layout: Layout, i: int, board: int) -> int | None:
        """Return a shape for an item on a board: its own where turns are shared, else any."""
        own = int(layout.shape[i])
        options = self.world.options_of(i, board)
        if bound_in_turn(self.world, [i]):
            options = at_turn(self.world, options, self.world.shapes[own].angle)
        if own in options and self.dice.random() < 0.5:
            return own
        return self.dice.choice(options) if options else None

    def _beside(self, layout: Layout, i: int, j: int, s: int) -> tuple[float, float]:
        """Return a random place for an item whose box touches a mate's from outside."""
        mine = self.world.true[s]
        theirs = self.world.true[int(layout.shape[j])] + np.tile(layout.at[j], 2)
        low, high = theirs[:2] - mine[2:4], theirs[2:4] - mine[:2]  # the two boxes just touch
        share = self.dice.random()
        along = [float(low[axis] + share * (high[axis] - low[axis])) for axis in (0, 1)]
        side = self.dice.randrange(4)
        axis, at = side % 2, (low, high)[side // 2]
        along[axis] = float(at[axis])
        return along[0], along[1]

    def _under(self, layout: Layout, i: int, s: int, at: Floats, board: int) -> list[int]:
        """Return what has to make room for an item: parts that are covered by half or more."""
        true = self.world.true
        box = true[s] + np.tile(at, 2)
        found = []
        for other in range(self.world.items):
            if layout.sheet[other] != board or other in self.group_of[i].members:
                continue
            theirs = true[int(layout.shape[other])] + np.tile(layout.at[other], 2)
            shared = np.minimum(box[2:4], theirs[2:4]) - np.maximum(box[:2], theirs[:2])
            size = theirs[2:4] - theirs[:2]
            if shared.min() > 0.0 and np.prod(shared) > 0.5 * np.prod(size):
                found.append(other)
        return found

    def _move(self, other: int, layout: Layout, *, to: int) -> None:
        """Put an item where another one was, its middle on the other's."""
        world = self.world
        board = int(layout.sheet[to])
        s = int(layout.shape[other])
        if s not in world.options_of(other, board):
            return
        x, y = self._middle(layout, to, s)
        ok, x, y = world.state.admit(other, s, board, x, y)
        if ok:
            world.state.put(other, s, board, x, y)

    def _middle(self, layout: Layout, i: int, s: int) -> tuple[float, float]:
        """Return where a shape's middle lies on an item's."""
        boxes = self.world.true[[int(layout.shape[i]), s]]
        middles = 0.5 * (boxes[:, :2] + boxes[:, 2:4])
        x, y = layout.at[i] + middles[0] - middles[1]
        return float(x), float(y)

    def _separated(self, ends: Callable[[], bool]) -> Layout | None:
        world = self.world
        world.state.start(_PATIENCE)
        ending = Ending.GOING
        while ending is Ending.GOING and not ends():
            ending = world.state.separate(_QUOTA)
        return world.save() if ending is Ending.APART else None


class _Gaps:
    """Distances between a layout's places, each measured once: alike parts only change places."""

    def __init__(self, work: _Gathering, layout: Layout) -> None:
        self.layout, self._work = layout, work
        self._bodies: dict[int, BaseGeometry] = {}
        self._found: dict[tuple[int, int], float] = {}

    def between(self, a: int, b: int) -> float:
        """Return the distance between what lies in two places."""
        if self.layout.sheet[a] != self.layout.sheet[b]:
            return _ELSEWHERE
        key = (a, b) if a < b else (b, a)
        if key not in self._found:
            self._found[key] = float(shapely.distance(*map(self._body, key)))
        return self._found[key]

    def _body(self, a: int) -> BaseGeometry:
        if a not in self._bodies:
            self._bodies[a] = self._work.body(self.layout, a)
        return self._bodies[a]

    def links(self, group: _Group, place: Ints) -> list[Link]:
        """Return how much too far apart the members of each bond of a group lie."""
        return [link for bond in group.bonds for link in self._tree(bond, place)]

    def _tree(self, bond: _Bond, place: Ints) -> list[Link]:
        """Return the shortest tree between the members of a bond (R. C. Prim 1957)."""
        first, *rest = bond.members
        nearest = {j: (self.between(place[first], place[j]), first, j) for j in rest}
        links: list[Link] = []
        while nearest:
            gap, old, new = min(nearest.values())
            links.append((max(gap - bond.close, 0.0), old, new))
            del nearest[new]
            for j, known in nearest.items():
                nearest[j] = min(known, (self.between(place[new], place[j]), new, j))
        return links
