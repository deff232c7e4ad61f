"""The first marker: part after part as far left, then as low, as it will go."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager

import numpy as np

from nesting.search.prepared.polygons import Floats
from nesting.search.prepared.world import World

__all__ = ["never", "orders", "place_all", "place_each", "place_some"]

LINES = 24
"""Tries across the board for each part and turn, besides its stackings from both edges."""

FEW_LINES = 4
"""The same in a hurry."""

HURRIED = 48
"""In a hurry, after so many parts the gaps between them are given up."""


def orders(world: World) -> list[list[int]]:
    """Return sequences worth trying: by area, by length, by width; groups of mates together."""
    one = [world.outlines[world.outline_of_kind[q]] for q in world.kinds.of]
    area = [o.area for o in one]
    long = [float(np.ptp(o.ring, axis=0).max()) for o in one]
    wide = [float(np.ptp(o.ring, axis=0).min()) for o in one]
    hull = [o.hull for o in one]
    first: dict[str, int] = {}
    out = []
    for measure in (area, long, hull, wide):
        ranks = sorted(range(world.items), key=lambda i: (-measure[i], world.kinds.of[i], i))
        place = {i: r for r, i in enumerate(ranks)}
        first.clear()
        for i in ranks:
            mates = world.lay.parts[i].mates
            if mates is not None:
                first.setdefault(mates, place[i])
        key = {i: (first.get(world.lay.parts[i].mates or "", place[i]), place[i]) for i in ranks}
        sequence = sorted(ranks, key=key.__getitem__)
        if sequence not in out:
            out.append(sequence)
    return out


def never() -> bool:
    """Say no."""
    return False


def place_all(
    world: World,
    order: list[int],
    *,
    stop: Callable[[], bool] = never,
    hurry: Callable[[], bool] = never,
) -> list[int]:
    """Lay all parts in order, and return those that found no room.

    From `stop` on parts are left out; from `hurry` on they are laid behind the others, where
    gaps are not looked for.
    """
    for i in range(world.items):
        world.state.remove(i)
    left = world.put_held()
    order = [i for i in order if world.lay.parts[i].held is None]
    return left + place_each(world, order, stop=stop, hurry=hurry)


def place_each(
    world: World,
    order: list[int],
    *,
    stop: Callable[[], bool] = never,
    hurry: Callable[[], bool] = never,
) -> list[int]:
    """Lay the given parts among those that lie already; return those that found no room."""
    parts = world.lay.parts
    groups: list[list[int]] = []
    for i in order:
        mates = parts[i].mates
        if mates is not None and groups and parts[groups[-1][0]].mates == mates:
            groups[-1].append(i)
        else:
            groups.append([i])
    places = _Places(world)
    left: list[int] = []
    hurried = 0
    for group in groups:
        if stop():
            left.extend(group)
            continue
        if hurried or hurry():
            if hurried % HURRIED == 0:
                places.skip_gaps()
            hurried += 1
        if not places.take(group):
            left.extend(group)
    return left


def place_some(world: World, items: list[int], *, stop: Callable[[], bool] = never) -> list[int]:
    """Lay of parts that belong on one sheet as many as find room there; return the others.

    From `stop` on parts are left out, except for the first few.
    """
    places = _Places(world)
    groups: dict[str, list[int]] = {}
    for i in items:
        groups.setdefault(world.lay.parts[i].mates or f"alone {i}", []).append(i)
    left: list[int] = []
    tried = 0
    for group in groups.values():
        over = tried >= HURRIED and stop()
        left += group if over else places.take_some(group)
        tried += len(group)
    return left


class _Places:
    """Where there may still be room: what is known of each sheet as they fill up."""

    def __init__(self, world: World) -> None:
        self.world = world
        self.lines = LINES
        self.memos = self._memos()
        self.full: set[tuple[int, int]] = set()
        self.turn_of = _turns(world)
        self.from_sheet = 0
        same: dict[int, list[int]] = {}
        for b, board in enumerate(world.sheets):
            same.setdefault(board.number, []).append(b)
        self.beside = [
            [other for other in same[board.number] if other != b]
            for b, board in enumerate(world.sheets)
        ]

    def _memos(self) -> list[Floats]:
        size = (max(len(self.world.shapes), 1), 3 * self.lines)
        return [np.full(size, -np.inf) for _ in self.world.sheets]

    def take(self, group: list[int]) -> bool:
        """Lay the members of a group on the first sheet that has room for all."""
        world = self.world
        count = len(world.sheets)
        for sheet in (*range(self.from_sheet, count), *range(self.from_sheet)):
            if any((world.kinds.of[i], sheet) in self.full for i in group):
                continue
            turns = dict(self.turn_of)
            if all(self._place(i, sheet) for i in group):
                return True
            self.turn_of = turns  # elsewhere the group may turn another way
            for i in group:
                world.state.remove(i)
            if len(group) > 1:
                self.memos[sheet][:] = -np.inf
        return False

    def take_some(self, group: list[int]) -> list[int]:
        """Lay as many of a group as fit on one sheet, where its others are; return the rest."""
        world = self.world
        numbers = self._numbers_of(world.lay.parts[group[0]].mates)
        best: list[int] = []
        turns = dict(self.turn_of)
        best_at, best_turns = world.save(), turns
        for sheet, board in enumerate(world.sheets):
            if numbers and board.number not in numbers:
                continue
            if all((world.kinds.of[i], sheet) in self.full for i in group):
                continue
            self.turn_of = dict(turns)
            self.memos[sheet][:] = -np.inf
            laid = [i for i in group if self._place(i, sheet)]
            if len(laid) > len(best):
                best, best_at, best_turns = laid, world.save(), self.turn_of
            for i in laid:
                world.state.remove(i)
            if len(best) == len(group):
                break
        for i in best:
            x, y = best_at.at[i].tolist()
            world.state.put(i, int(best_at.shape[i]), int(best_at.sheet[i]), x, y)
        self.turn_of = best_turns
        return [i for i in group if i not in best]

    def _numbers_of(self, mates: str | None) -> set[int]:
        """Return the numbers of the sheets on which some of a group of mates lie."""
        if mates is None:
            return set()
        world, on = self.world, self.world.save().sheet
        theirs = [j for j, part in enumerate(world.lay.parts) if part.mates == mates]
        return {world.sheets[int(on[j])].number for j in theirs if on[j] >= 0}

    def skip_gaps(self) -> None:
        """Go on behind what lies on each sheet, and on the last sheet that has something."""
        world = self.world
        layout = world.save()
        self.lines = FEW_LINES
        self.memos = self._memos()
        for sheet, memo in enumerate(self.memos):
            on = layout.sheet == sheet
            if on.any():
                self.from_sheet = sheet
                end = float((layout.at[on, 0] + world.grown[layout.shape[on], 2]).max())
                memo[:] = end - world.grown[:, 0:1]

    def _place(self, i: int, sheet: int) -> bool:
        world = self.world
        part, kind = world.lay.parts[i], world.kinds.of[i]
        group = part.turn_group
        turn = self.turn_of.get(group, -1) if group else -1
        memo, lines = self.memos[sheet], self.lines
        with self._all_in_place(sheet):
            found = world.state.slide_in(i, sheet, lines=lines, memo=memo, turn=turn)
        if not found:
            if part.mates is None and group is None:
                self.full.add((kind, sheet))  # as what lies there stays
            return False
        if group and turn < 0:
            self.turn_of[group] = world.state.turn_of(i)
        return True

    @contextmanager
    def _all_in_place(self, sheet: int) -> Iterator[None]:
        """Let what lies on other boards in the same place stand in the way on this one."""
        world = self.world
        if not self.beside[sheet]:
            yield
            return
        on = world.state.sheets
        others = np.flatnonzero(np.isin(on, self.beside[sheet]))
        kept = on[others].copy()
        on[others] = sheet
        yield
        on[others] = kept


def _turns(world: World) -> dict[str, int]:
    """Return the turn of each group of which something lies already."""
    found: dict[str, int] = {}
    for i, part in enumerate(world.lay.parts):
        turn = world.state.turn_of(i)
        if part.turn_group is not None and turn >= 0:
            found[part.turn_group] = turn
    return found
