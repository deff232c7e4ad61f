"""Parts that interlock, laid as one: pairs and clusters found by contact, then parted again.

Two parts whose outlines have teeth, bays or holes may waste far less together than apart. Such
pairs are found by where they touch, and pairs of pairs in the same way. Where they make a shorter
first marker than single parts they are searched as one for as long as single parts have been; the
search of single parts goes on from the better marker, and its moves part them again.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

import numpy as np
import shapely

from nesting.marker.lay import Lay, Turns
from nesting.marker.marker import Marker, Placement
from nesting.pattern.path import Affine
from nesting.search.prepared.forms import Shape, distinct
from nesting.search.prepared.kinds import Kinds
from nesting.search.prepared.outlines import Outline
from nesting.search.problem import Problem, Start, first_marker
from nesting.search.shortening import News
from nesting.search.squeezing import squeeze
from nesting.search.starting.contact import Body, Member, filled, joined, pairs
from nesting.search.starting.given import given
from nesting.search.worker import ROUND, Schedule, Searcher

__all__ = ["laid_as_one"]

MOST = 300
"""Of no more parts clusters are looked for."""
KINDS = 24
"""Of more kinds than this, only the largest are joined."""
WORK, TRY = 12_000, 25
"""So many pairs of convex parts are compared, a try of two bodies counted as so many."""
GAIN = 0.03
"""Bodies are joined that waste less together by so much of their joint area."""
LEVELS = 2
"""So often what was joined is joined again."""


def laid_as_one(
    problem: Problem, start: Start, positions: int, *, seed: int, stop: Callable[[], bool]
) -> tuple[News | None, int]:
    """Search a lay of clusters; return the marker of its parts, and how many positions it took.

    The marker is None if clusters are of no use. Only where their first marker is shorter than
    that of single parts (`start`) they are searched, weighing about so many positions.
    """
    if not _may_be(problem.lay):
        return None, 0
    best, groups = None, _Groups.of(problem)
    length = start.world.used_length(start.layout)
    for _ in range(LEVELS):
        if stop() or not (groups := groups.joined(stop)).new:
            break
        clustered = groups.problem()
        first = first_marker(clustered, stop=stop)
        reached = first.world.used_length(first.layout)
        if first.left or reached >= length:
            break
        best, length = (groups, clustered, first), reached
    if best is None:
        return None, 0
    groups, clustered, first = best
    rounds = max(1, positions // ROUND)
    schedule = Schedule(seconds=None, rounds=rounds)
    searcher = Searcher(clustered, first.world, first.layout, seed, schedule)
    while not searcher.over and not stop():
        searcher.step()
    weighed = searcher.shortening.evaluations
    got = replace(first, layout=searcher.shortening.best)
    found = given(problem, groups.marker(got), gently=True)
    if found is None or found.left:
        return None, weighed
    found.world.load(found.layout)
    layout = squeeze.compact(found.world)
    score = (1, found.world.used_length(layout))
    return News(rounds, score, layout, found.world.state.phases), weighed


def _may_be(lay: Lay) -> bool:
    """Whether nothing but turns and flips says where a lay's parts may be."""
    if not lay.stock.open_ended or not 1 < len(lay.parts) <= MOST:
        return False
    rules = [(p.binding, p.turn_group, p.mates, p.held, p.edge, p.region) for p in lay.parts]
    return not any(
        part.turns.slack or any(rule is not None for rule in of)
        for part, of in zip(lay.parts, rules, strict=True)
    )


@dataclass(frozen=True, slots=True)
class _Join:
    """Two groups joined: which, what that spares (mm²), as one body with its turns."""

    one: int
    two: int
    spared: float
    body: Body
    turns: tuple[float, ...]


@dataclass(slots=True)
class _Groups:
    """Kinds of bodies, the items that each body of a kind is made of, and their turns.

    `work`: pairs of convex parts that may still be compared; `new`: some were joined.
    """

    whole: Problem
    bodies: list[Body]
    turns: list[tuple[float, ...]]
    flips: list[bool]
    items: list[list[tuple[int, ...]]]
    work: int = WORK
    new: bool = False

    @classmethod
    def of(cls, problem: Problem) -> _Groups:
        """Return every part by itself."""
        bodies: list[Body] = []
        items: list[list[tuple[int, ...]]] = []
        for kind, o in enumerate(problem.outline_of_kind):
            one = problem.coarse[o]
            member = Member(kind, 0.0, False, (0.0, 0.0))
            bodies.append(Body((member,), one.parts, one.plain, one.ring, one.area))
            items.append([(i,) for i, q in enumerate(problem.kinds.of) if q == kind])
        parts = problem.kinds.parts
        return cls(problem, bodies, [p.turns.angles for p in parts], [p.flip for p in parts], items)

    def joined(self, stop: Callable[[], bool]) -> _Groups:
        """Return these with those joined that spares most, as often as there are parts for it."""
        more = _Groups(
            self.whole, [*self.bodies], [*self.turns], [*self.flips],
            [[*some] for some in self.items], self.work,
        )  # fmt: skip
        for join in sorted(more._joins(stop), key=lambda join: -join.spared):
            one, two = more.items[join.one], more.items[join.two]
            count = len(one) // 2 if join.one == join.two else min(len(one), len(two))
            if not count:
                continue
            more.items.append([one.pop() + two.pop() for _ in range(count)])
            more.bodies.append(join.body)
            more.turns.append(join.turns)
            more.flips.append(False)
            more.new = True
        return more

    def _joins(self, stop: Callable[[], bool]) -> Iterator[_Join]:
        """Yield pairs of groups that interlock, each in the way that spares most."""
        there = [g for g, some in enumerate(self.items) if some]
        there = sorted(there, key=lambda g: -self.bodies[g].area)[:KINDS]
        alone = {g: filled(self.bodies[g]) for g in there}
        for n, one in enumerate(there):
            for two in there[n:]:
                if one == two and len(self.items[one]) < 2:
                    continue
                if stop() or self.work <= 0:
                    return
                area, apart = self.bodies[one].area + self.bodies[two].area, alone[one] + alone[two]
                if apart < (1.0 + GAIN) * area:
                    continue
                best = self._best(one, two)
                if best is not None and apart - best[0] >= GAIN * area:
                    yield _Join(one, two, apart - best[0], *best[1:])

    def _best(self, one: int, two: int) -> tuple[float, Body, tuple[float, ...]] | None:
        """Return the least area that two groups take together, as one body with its turns."""
        a, best = self.bodies[one], None
        base = self.turns[one][0]
        fixed = a.put(Shape(0, base, False), np.zeros(2))
        flips = (False, True)[: 1 + self.flips[two]]
        options = [Shape(0, angle, flip) for flip in flips for angle in self.turns[two]]
        for option in distinct(options, self.bodies[two].ring):
            loose = self.bodies[two].put(option, np.zeros(2))
            self.work -= TRY + math.prod(map(len, pairs(fixed, loose)))
            found = joined(fixed, loose)
            if found is not None and (best is None or found[0] < (1.0 - 1e-9) * best[0]):
                body = fixed.beside(loose.put(Shape(0, 0.0, False), found[1]))
                turns = _common(base, self.turns[one], option.angle, self.turns[two])
                best = found[0], _centred(body), turns
        return best

    def problem(self) -> Problem:
        """Return the problem of the bodies."""
        whole = self.whole
        outlines, parts, of, kinds = [], [], [], []
        for g, some in enumerate(self.items):
            if not some:
                continue
            body = self.bodies[g]
            hull = float(shapely.convex_hull(shapely.MultiPoint(body.ring)).area)
            outlines.append(
                Outline(centre=(0.0, 0.0), parts=body.parts, plain=body.plain, ring=body.ring,
                        area=body.area, hull=hull)
            )  # fmt: skip
            model = whole.kinds.parts[body.members[0].kind]
            turns = Turns(angles=self.turns[g])
            kinds.append(replace(model, turns=turns, flip=self.flips[g]))
            of += [len(kinds) - 1] * len(some)
            parts += [kinds[-1]] * len(some)
        lay = replace(whole.lay, parts=tuple(parts))
        numbers = list(range(len(kinds)))
        return Problem(
            lay, tuple(range(len(parts))), Kinds(tuple(of), tuple(kinds)), outlines, outlines,
            numbers, whole.capacity,
        )  # fmt: skip

    def marker(self, first: Start) -> Marker:
        """Return where a marker of bodies lays their parts."""
        whole, world, layout = self.whole, first.world, first.layout
        groups = [(g, some) for g, of in enumerate(self.items) for some in of]
        placed = []
        for n, (g, some) in enumerate(groups):
            shape = world.shapes[int(layout.shape[n])]
            body = self.bodies[g].put(shape, layout.at[n])
            for i, member in zip(some, body.members, strict=True):
                turn = Affine.turn(member.angle)
                turn = turn.after(Affine.mirror()) if member.flipped else turn
                cx, cy = turn(whole.coarse[whole.outline_of_kind[member.kind]].centre)
                placed.append(
                    Placement(
                        part=whole.index[i], x=member.at[0] - cx, y=member.at[1] - cy,
                        angle=member.angle, flipped=member.flipped,
                    )
                )  # fmt: skip
        return Marker(lay=whole.lay, placements=tuple(placed))


def _common(
    one: float, ones: tuple[float, ...], two: float, twos: tuple[float, ...]
) -> tuple[float, ...]:
    """Return the turns (degrees) that two bodies may take together, from a turn of each."""

    def may(angle: float, angles: tuple[float, ...]) -> bool:
        return any(abs(math.remainder(angle - other, 360.0)) < 1e-9 for other in angles)

    return tuple(
        t for t in ((a - one) % 360.0 for a in ones) if may(one + t, ones) and may(two + t, twos)
    )


def _centred(body: Body) -> Body:
    """Return a body about the middle of its box."""
    low, high = body.ring.min(axis=0), body.ring.max(axis=0)
    return body.put(Shape(0, 0.0, False), -0.5 * (low + high))
