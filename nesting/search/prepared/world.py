"""A lay on certain boards: its shapes, its state, and how to read the one by the other."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np

from nesting.marker.lay import Lay, Part, Turns
from nesting.marker.marker import Placement
from nesting.pattern.path import Affine
from nesting.search.prepared.arrays import written
from nesting.search.prepared.boards import Area, Board
from nesting.search.prepared.forms import Shape, distinct, sampled, turned
from nesting.search.prepared.holds import Pins, Place, place_of
from nesting.search.prepared.kinds import Kinds
from nesting.search.prepared.laying import Domains, Laying, domains_of
from nesting.search.prepared.outlines import Outline
from nesting.search.prepared.pair_records import Capacity
from nesting.search.prepared.polygons import Floats
from nesting.search.prepared.state import Layout, State
from nesting.tolerance import TOLERANCE

__all__ = ["World"]

_PASSED = 0.5
"""A shape that is larger than a sheet by no more than this share of what the judge lets pass may
lie on it: that is rounding."""


@dataclass(slots=True)
class World:
    """A lay on certain sheets, and where its parts lie.

    `shapes`: all that parts take, by number; `options`: those by kind and sheet; `grown` and
    `true` (shapes, 4): their boxes about the origin with spacing and without (mm). `median`:
    of the parts' sizes (mm). `bound`: whether a print says where some part may lie; `phases`:
    names of the shifts that parts share. `places`: of the kinds that are held.
    """

    lay: Lay
    sheets: tuple[Board, ...]
    kinds: Kinds
    outlines: list[Outline]
    outline_of_kind: list[int]
    capacity: Capacity
    length: float
    steps: int = 24
    state: State = field(init=False)
    shapes: list[Shape] = field(init=False)
    options: list[list[int]] = field(init=False)
    grown: Floats = field(init=False)
    true: Floats = field(init=False)
    median: float = field(init=False)
    bound: bool = field(init=False)
    phases: list[str] = field(init=False)
    places: dict[int, Place] = field(init=False)
    _domains: Domains = field(init=False)
    _more: Floats = field(init=False)
    _sizes: dict[Shape, Floats] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.places = {
            kind: place
            for kind, part in enumerate(self.kinds.parts)
            if (place := self._place(kind, part)) is not None
        }
        self._choose_shapes()
        bindings = [part.binding for part in self.kinds.parts if part.binding]
        self.bound = bool(bindings)
        self.phases = sorted({binding.phase for binding in bindings if binding.phase})
        sizes = np.array([o.size for o in self.outlines] or [1.0])
        of = [self.outline_of_kind[q] for q in self.kinds.of]
        self.median = float(np.median(sizes[of] if of else sizes))
        self._domains = domains_of(self.kinds, self.sheets, self.places)
        self._more = self._eased()
        self._domains.boxes[:, 2:] += self._more
        laying = Laying(
            self.lay, self.kinds, self.outlines, self.outline_of_kind, self.shapes,
            self.options, len(self.sheets), self._domains, self.median, self.phases,
        )  # fmt: skip
        numbers, arrays = written(laying, self.capacity)
        self.state = State(numbers, arrays, len(self.phases))
        table = arrays["shapes"][: len(self.shapes)]
        self.grown = np.stack([table[c] for c in ("left", "bottom", "right", "top")], axis=1)
        self.true = np.stack(
            [table[f"true_{c}"] for c in ("left", "bottom", "right", "top")], axis=1
        )
        self.set_length(self.length)

    # ------------------------------------------------------------ building

    def _place(self, kind: int, part: Part) -> Place | None:
        """Return where a kind is held, None if it is not, or its sheet is not among these."""
        o = self.outline_of_kind[kind]
        return place_of(part, self.sheets, number=o, outline=self.outlines[o])

    @property
    def items(self) -> int:
        """The number of parts."""
        return len(self.kinds.of)

    def _choose_shapes(self) -> None:
        number: dict[Shape, int] = {}
        per_sheet: list[list[list[Shape]]] = []
        pins = Pins(self.lay)
        for kind, part in enumerate(self.kinds.parts):
            row = []
            for b, board in enumerate(self.sheets):
                if part.held is not None or not pins.may(part, self.sheets, b):
                    place = self.places.get(kind)
                    row.append([place.shape] if place is not None and place.sheet == b else [])
                    continue
                area = board.areas.get(part.region)
                turns = part.turns if area is None or area.turns is None else area.turns
                found = self._shapes_of(kind, part, turns, pins) if area is not None else []
                if area is not None and not self.lay.stock.open_ended:
                    found = [shape for shape in found if self._fits(shape, area)]
                row.append(found)
            per_sheet.append(row)
        for shape in sorted(
            {s for row in per_sheet for opts in row for s in opts},
            key=lambda s: (s.outline, s.angle, s.flipped),
        ):
            number[shape] = len(number)
        self.shapes = list(number)
        self.options = [[number[s] for s in opts] for row in per_sheet for opts in row]

    def _shapes_of(self, kind: int, part: Part, turns: Turns, pins: Pins) -> list[Shape]:
        o = self.outline_of_kind[kind]
        wide = len(self.outlines) > 40
        ring = None if part.turn_group is not None else self.outlines[o].ring
        angles = pins.angles(part, turns, sampled(turns, ring, steps=8 if wide else self.steps))
        flips = (False, True) if part.flip else (False,)
        found = [Shape(o, angle, flip) for flip in flips for angle in angles]
        if part.binding is None and part.turn_group is None and not turns.slack:
            found = distinct(found, self.outlines[o].ring)
        return found

    def _fits(self, shape: Shape, area: Area) -> bool:
        """Whether a shape's box is no larger than an area's."""
        return bool((self._beyond(shape, area.box) <= self._passed(shape)).all())

    def _beyond(self, shape: Shape, box: tuple[float, float, float, float]) -> Floats:
        """Return by how much a shape is longer and wider than a box (mm)."""
        if shape not in self._sizes:
            ring = self.outlines[shape.outline].ring
            self._sizes[shape] = np.ptp(turned(ring, shape), axis=0)
        x0, y0, x1, y1 = box
        return self._sizes[shape] - (x1 - x0, y1 - y0)

    def _passed(self, shape: Shape) -> float:
        """Return what a shape may be larger than a sheet (mm)."""
        size = float(np.ptp(self.outlines[shape.outline].ring, axis=0).max())
        return _PASSED * TOLERANCE.contact * size

    def _eased(self) -> Floats:
        """Return by how much the box of each kind on each sheet is made longer and wider (mm).

        Nothing but for what is larger than it by rounding; a strip is as long as it is.
        """
        boxes = self._domains.boxes
        eased = np.zeros((len(boxes), 2))
        across = [float(np.hypot(*np.ptp(o.ring, axis=0))) for o in self.outlines]
        large = np.repeat([across[o] for o in self.outline_of_kind], len(self.sheets))
        least = (boxes[:, 2:] - boxes[:, :2]).min(axis=1, initial=math.inf)
        for row in np.flatnonzero((least[: len(large)] >= 0.0) & (large >= least[: len(large)])):
            if row // len(self.sheets) in self.places:
                continue
            for shape in (self.shapes[s] for s in self.options[row]):
                beyond = self._beyond(shape, tuple(boxes[row]))
                passed = np.where(beyond <= self._passed(shape), beyond, 0.0)
                eased[row] = np.maximum(eased[row], passed)
        if self.lay.stock.open_ended:
            eased[:, 0] = 0.0
        return eased

    # ------------------------------------------------------------ using

    def set_length(self, length: float) -> None:
        """Let the last sheet end at a length (mm)."""
        self.length = length
        count = len(self.sheets)
        if not count:
            return
        end = self.sheets[-1].x + self.sheets[-1].low + length
        rows = slice(count - 1, None, count)
        ends = np.minimum(self._domains.boxes[rows, 2], end + self._more[rows, 0])
        for kind in self.places:
            ends[kind] = self._domains.boxes[rows, 2][kind]
        self.state.end_at(rows, ends)

    def used_length(self, layout: Layout) -> float:
        """Return how far the last sheet's parts reach (mm)."""
        last = len(self.sheets) - 1
        on = layout.sheet == last
        if not on.any():
            return 0.0
        ends = layout.at[on, 0] + self.true[layout.shape[on], 2]
        return float(ends.max()) - self.sheets[last].x - self.sheets[last].low

    def put_held(self) -> list[int]:
        """Put what is held into its place; return what is held on sheets that are not here."""
        number, left = {shape: s for s, shape in enumerate(self.shapes)}, []
        for i, kind in enumerate(self.kinds.of):
            if kind in self.places:
                place = self.places[kind]
                self.state.put(i, number[place.shape], place.sheet, *place.at)
            elif self.kinds.parts[kind].held is not None:
                left.append(i)
        return left

    def keeps(self, sheet: int) -> bool:
        """Whether something is held on a sheet."""
        return any(place.sheet == sheet for place in self.places.values())

    @property
    def kept_length(self) -> float:
        """How far along the last sheet something is held (mm): it gets no shorter."""
        last = len(self.sheets) - 1
        ends = [place.box[2] for place in self.places.values() if place.sheet == last]
        return max(ends) - self.sheets[last].x - self.sheets[last].low if ends else 0.0

    @property
    def loose(self) -> list[int]:
        """The items that nobody holds."""
        return [i for i, kind in enumerate(self.kinds.of) if self.kinds.parts[kind].held is None]

    def save(self) -> Layout:
        """Return the present positions."""
        return self.state.layout()

    def load(self, layout: Layout) -> bool:
        """Set all positions, each to the nearest admissible one; tell whether all have one.

        An item that its sheet can't take in its shape takes another shape, or another sheet.
        """
        good = True
        i = self.state.put_all(layout)
        while i < self.items:
            at = float(layout.at[i, 0]), float(layout.at[i, 1])
            s, sheet = int(layout.shape[i]), int(layout.sheet[i])
            ok, s, sheet, x, y = self._elsewhere(i, s, sheet, at)
            good = good and ok
            self.state.put(i, s, sheet, x, y)
            i = self.state.put_all(layout, i + 1)
        return good

    def _elsewhere(
        self, i: int, shape: int, sheet: int, at: tuple[float, float]
    ) -> tuple[bool, int, int, float, float]:
        """Find a shape and sheet that can take an item, nearest to what it was."""
        angle = self.shapes[shape].angle
        grouped = self.lay.parts[i].turn_group is not None
        for board in [sheet, *(b for b in reversed(range(len(self.sheets))) if b != sheet)]:
            for s in self.options_of(i, board):
                if grouped and self.shapes[s].angle != angle:
                    continue
                x0, y0, x1, y1 = self.state.domain(i, s, board)
                x, y = at if board == sheet else (x0 + (x1 - x0) / 2, y0 + (y1 - y0) / 2)
                ok, x, y = self.state.admit(i, s, board, x, y)
                if ok:
                    return True, s, board, x, y
        return False, shape, sheet, *at

    def overlap(self) -> float:
        """Return the total overlap of the present positions."""
        return self.state.overlap()

    def placements(self, layout: Layout, *, angles: Floats | None = None) -> list[Placement]:
        """Return the layout in the parts' own terms; `angles` overrides the turns (degrees)."""
        out = []
        for i in range(self.items):
            b = int(layout.sheet[i])
            if b < 0:
                continue
            shape = self.shapes[int(layout.shape[i])]
            angle = shape.angle if angles is None else float(angles[i])
            turn = Affine.turn(angle)
            if shape.flipped:
                turn = turn.after(Affine.mirror())
            cx, cy = turn(self.outlines[shape.outline].centre)
            x = float(layout.at[i, 0]) - cx - self.sheets[b].x
            y = float(layout.at[i, 1]) - cy
            out.append(Placement(part=i, x=x, y=y, angle=angle, flipped=shape.flipped, sheet=b))
        return out

    def options_of(self, i: int, sheet: int) -> list[int]:
        """Return the shapes that an item may take on a sheet."""
        return self.options[self.kinds.of[i] * len(self.sheets) + sheet]

    def may(self, i: int, sheet: int) -> bool:
        """Tell whether an item may lie on a sheet at all."""
        return sheet >= 0 and bool(self.options_of(i, sheet))

    @property
    def area(self) -> float:
        """The parts' true area (mm²)."""
        return sum(self.outlines[self.outline_of_kind[q]].area for q in self.kinds.of)
