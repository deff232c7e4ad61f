"""The search's state: the only mutable one, and all that Python knows of the kernels."""

from __future__ import annotations

import random
from collections.abc import Mapping
from dataclasses import dataclass
from enum import IntEnum
from typing import Any

import numpy as np
import numpy.typing as npt

from nesting.search.kernels import bottom_left, overlaps, places, rows, separation, tables
from nesting.search.prepared.polygons import Floats

__all__ = ["Ending", "Layout", "Rows", "State"]

Ints = npt.NDArray[np.int64]

_ROWS_AT_FIRST = 40
"""Room for so many rows an item, before it is found to be too little."""
_INTERVALS = 20_000
"""Room for what is in the way of an item that slides."""


class Ending(IntEnum):
    """What came of a while of separating."""

    GOING = separation.GOING
    APART = separation.APART
    STALLED = separation.STALLED


@dataclass(frozen=True, slots=True, eq=False)
class Layout:
    """Positions (n, 2), shape and sheet numbers (n,) of all items; sheet -1: not laid."""

    at: Floats
    shape: Ints
    sheet: Ints


@dataclass(frozen=True, slots=True, eq=False)
class Rows:
    """Pairs of near parts (n, 2), the normals between them (n, 2) and the gaps (n,)."""

    pairs: Ints
    normals: Floats
    gaps: Floats


class State:
    """Where all items lie, and what is known of how they overlap.

    Items, shapes and sheets are numbers; positions are those of an item's origin (mm).
    """

    def __init__(
        self, numbers: Mapping[str, float], arrays: Mapping[str, npt.NDArray[Any]], phases: int
    ) -> None:
        """Take numbers and tables as `kernels.tables` names them; so many phases count."""
        self._arrays = dict(arrays)
        self._state = tables.bound(numbers, arrays)
        self._items = arrays["items"]
        self._phases = arrays["phases"][:phases]
        self._intervals = np.empty((_INTERVALS, 2))

    def seed(self, seed: int) -> None:
        """Set the random numbers."""
        self._state["random"] = random.Random(seed).getrandbits(48)

    def go_on_from(self, other: State) -> None:
        """Go on with the random numbers of another state."""
        self._state["random"] = other._state["random"]

    def tune(self, name: str, value: float) -> None:
        """Change a number that says how to search, by its name in `kernels.tables`."""
        self._state[name] = value

    # ------------------------------------------------------------ places

    def domain(self, i: int, shape: int, sheet: int) -> tuple[float, float, float, float]:
        """Return the least x and y and the largest that an item may have, empty or not."""
        found: tuple[float, float, float, float] = places.domain(self._state, i, shape, sheet)
        return found

    def admit(
        self, i: int, shape: int, sheet: int, x: float, y: float
    ) -> tuple[bool, float, float]:
        """Return whether there is an admissible position, and the nearest."""
        found: tuple[bool, float, float] = places.admit(self._state, i, shape, sheet, x, y)
        return found

    def put(self, i: int, shape: int, sheet: int, x: float, y: float) -> None:
        """Move an item."""
        places.put(self._state, i, shape, sheet, x, y)

    def put_all(self, layout: Layout, first: int = 0) -> int:
        """Put items from number `first` on, each to its nearest admissible position.

        Return the first that has none, which stays where it was; the number of items if all
        have one.
        """
        at = np.ascontiguousarray(layout.at)
        return int(places.put_all(self._state, at, layout.shape, layout.sheet, first))

    def domains(self, layout: Layout) -> Floats:
        """Return the least x and y and the largest of each item (n, 4); 0 where it lies nowhere."""
        out = np.empty((len(layout.sheet), 4))
        places.all_domains(self._state, layout.shape, layout.sheet, out)
        return out

    def remove(self, i: int) -> None:
        """Take an item off its sheet."""
        places.remove(self._state, i)

    def slide_in(self, i: int, sheet: int, *, lines: int, memo: Floats, turn: int) -> bool:
        """Put an item as far left on a sheet as it will go; return whether it found room.

        See `kernels.bottom_left`.
        """
        return bool(
            bottom_left.bottom_left(self._state, i, sheet, lines, memo, self._intervals, turn)
        )

    def layout(self, *, least: bool = False) -> Layout:
        """Return where everything lies, or lay when the separation's overlap was least."""
        rows = self._arrays["kept" if least else "items"]
        at = np.stack([rows["x"], rows["y"]], axis=1)
        return Layout(at, rows["form"].copy(), rows["sheet"].copy())

    def turn_of(self, i: int) -> int:
        """Return the number of an item's turn, -1 if it does not lie anywhere."""
        row = self._items[i]
        return -1 if row["sheet"] < 0 else int(self._arrays["shapes"]["turn"][row["form"]])

    @property
    def sheets(self) -> Ints:
        """The sheet of each item, to be changed for a while."""
        return self._items["sheet"]

    @property
    def phases(self) -> Floats:
        """The shifts (mm) of the lattices that parts share: x and y in turn."""
        return np.stack([self._phases["x"], self._phases["y"]], axis=1).ravel()

    @phases.setter
    def phases(self, shifts: Floats) -> None:
        self._phases["x"], self._phases["y"] = shifts[0::2], shifts[1::2]

    def off_lattice(self, i: int, at: Floats) -> tuple[float, float]:
        """Return how far an item at a position lies from its nearest lattice point."""
        kinds, shapes = self._arrays["kinds"], self._arrays["shapes"]
        kind, shape = kinds[self._items[i]["kind"]], shapes[self._items[i]["form"]]
        x = at[0] + shape["anchor_x"] - kind["origin_x"]
        y = at[1] + shape["anchor_y"] - kind["origin_y"]
        if kind["phase"] >= 0:
            x -= self._phases["x"][kind["phase"]]
            y -= self._phases["y"][kind["phase"]]
        along, across = float(kind["along"]), float(kind["across"])
        row = round(y / across) if across > 0 else 0
        if row % 2:
            x -= float(kind["drop"]) * along
        return (
            float(x - along * round(x / along)) if along > 0 else 0.0,
            float(y - across * row) if across > 0 else 0.0,
        )

    def end_at(self, rows: slice, ends: Floats) -> None:
        """Let the domains of some kinds and sheets end at these x (mm)."""
        self._arrays["domains"]["right"][rows] = ends

    # ------------------------------------------------------------ separating

    def start(self, patience: int) -> None:
        """Begin a separation that ends after so many rounds without improvement."""
        self._state["patience"] = patience
        separation.start(self._state)

    def resume(self, *, afresh: bool = True) -> None:
        """Go on after it stalled: as if nothing had been, or with the least overlap in mind."""
        self._state["since"] = 0
        if afresh:
            self._state["least_total"] = tables.FAR

    def separate(self, quota: int) -> Ending:
        """Separate until about so many positions are weighed, or it ends."""
        return Ending(separation.separate(self._state, quota))

    @property
    def weighed(self) -> int:
        """Positions weighed so far."""
        return int(self._state["weighed"])

    @property
    def least(self) -> float:
        """The least overlap of the separation."""
        return float(self._state["least_total"])

    def overlap(self) -> float:
        """Return the total overlap of the present positions, and list what overlaps."""
        return float(overlaps.list_overlaps(self._state))

    @property
    def overlapping(self) -> Ints:
        """The pairs (n, 2) that were listed; the region is number `items`."""
        found = self._arrays["overlaps"][: int(self._state["overlap_count"])]
        return np.stack([found["first"], found["second"]], axis=1)

    def rows(self, reach: float, *, implied: bool = True) -> Rows:
        """Collect the half-planes between parts that may meet if all move by `reach` / 2.

        Without `implied`: but for those that others of the same two items imply, as long as
        no item moves farther than that along an axis.
        """
        size = _ROWS_AT_FIRST * len(self._items) + 1000
        while True:
            pairs = np.empty((size, 2), dtype=np.int64)
            out = np.empty((size, 3))
            count = rows.all_rows(self._state, reach, pairs, out)
            if count >= 0:
                if not implied:
                    count = rows.leave_implied(self._state, reach, pairs, out, count)
                return Rows(pairs[:count], out[:count, :2].copy(), out[:count, 2].copy())
            size *= 3
