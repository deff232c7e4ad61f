"""Parts that keep one turn among them: which turns they all may take, and their shapes at one."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from nesting.search.prepared.world import World

__all__ = ["at_turn", "bound_in_turn", "common_turns", "groups_of"]


def bound_in_turn(world: World, items: Iterable[int]) -> bool:
    """Tell whether any of some items keeps a turn with others."""
    return any(world.lay.parts[i].turn_group is not None for i in items)


def groups_of(world: World) -> dict[str, list[int]]:
    """Return the items of each turn group, by its name, in the order of the lay."""
    found: dict[str, list[int]] = {}
    for i, part in enumerate(world.lay.parts):
        if part.turn_group is not None:
            found.setdefault(part.turn_group, []).append(i)
    return found


def common_turns(world: World, options: Iterable[Sequence[int]]) -> set[float]:
    """Return the turns (degrees) that are among each of some choices of shapes."""
    return set.intersection(*({world.shapes[s].angle for s in shapes} for shapes in options))


def at_turn(world: World, shapes: Iterable[int], angle: float) -> list[int]:
    """Return those of some shapes that are turned by an angle (degrees)."""
    return [s for s in shapes if world.shapes[s].angle == angle]
