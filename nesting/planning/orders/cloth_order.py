"""An order as one cloth sees it: kinds of bags, markers laid so far, decisions, the bound."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from itertools import islice

from nesting.errors import JobError
from nesting.job.job import Bag, Cut, Job, Spreading
from nesting.marker.bound import lower_bound
from nesting.marker.figures import Figures, figures
from nesting.marker.lay import Lay
from nesting.marker.measure import piece_area
from nesting.material.material import Cloth, Fold, Width
from nesting.names import listed
from nesting.pattern.piece import Piece
from nesting.planning.lay.face_to_face import needs_even, refuse_face_to_face
from nesting.planning.lay.lays import lays
from nesting.planning.lay.slots import PartKey, slots_of
from nesting.planning.orders.effort import Effort
from nesting.planning.orders.ratios import Aims, CutPlan, Ratio, Rules, ratios
from nesting.planning.orders.spreads import cut_plan
from nesting.planning.running.laying import better
from nesting.search.result import Result

__all__ = ["ClothOrder", "Kind", "Lacking"]

Lacking = Mapping[str, Sequence[frozenset[PartKey]]]
"""By the name of a kind of bags: what each of the first few of them has already."""

# Marker efficiency first assumed for markers that are not laid yet; the true lengths of
# laid markers of the same cloth replace it.
_ASSUMED = 0.80
# Of no more ratios, and no more parts in all, those not laid yet are laid to make sure.
_MOST_HOPED, _MOST_HOPED_PARTS = 20, 60
# Of more ratios than this only the area bounds the length.
_MOST_BOUNDS = 60
# Pieces that are named of what a bag has from remnants.
_MOST_SAID = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """Bags that are cut alike from one material: they may take each other's place.

    `even`: plies face to face give an even number of them only. `had`: parts that they have
    already, cut from remnants.
    """

    names: tuple[str, ...]
    demand: int
    bag: Bag
    even: bool = False
    had: frozenset[PartKey] = frozenset()

    @property
    def name(self) -> str:
        """What they are called together."""
        return " / ".join(self.names)


class ClothOrder:
    """The order as one cloth sees it, at one of its widths; `label` goes before its markers.

    `lacking`: what bags have from remnants already. If they have everything, `done` is true
    and nothing else can be asked. `effort` goes into each decision.
    """

    def __init__(
        self,
        job: Job,
        cloth: Cloth,
        width: Width,
        *,
        label: str = "",
        lacking: Lacking | None = None,
        effort: Effort = Effort(),  # noqa: B008
    ) -> None:
        self.job, self.cloth, self.width, self.effort = job, cloth, width, effort
        self.label = label or cloth.name
        self.twice = _face_to_face(job, cloth)
        self.kinds = tuple(
            one
            for kind in _kinds(job, cloth, twice=self.twice)
            for one in _parted(kind, (lacking or {}).get(kind.name, ()), cloth)
        )
        self.done = not self.kinds
        self.rules = _rules(job, cloth, width, twice=self.twice)
        self.laid: dict[Ratio, Result] = {}
        self._lays: dict[Ratio, Lay] = {}
        self._figures: dict[Ratio, Figures] = {}
        if self.done:
            return
        self._refuse_odd()
        steps = [2 if kind.even else 1 for kind in self.kinds]
        self._units = [
            tuple(step * (i == j) for j in range(len(steps))) for i, step in enumerate(steps)
        ]
        units = [self.lay(ratio) for ratio in self._units]
        # Two bags may share the plies of folded cloth: what one takes at least is half of that.
        pairs = 2 if cloth.fold is Fold.FOLDED else 1
        self._areas = [
            math.fsum(
                piece_area(part.piece) for part in self.lay(tuple(pairs * n for n in ratio)).parts
            )
            / (pairs * step)
            for ratio, step in zip(self._units, steps, strict=True)
        ]
        self._parts = sum(
            len(unit.parts) * kind.demand // step
            for unit, kind, step in zip(units, self.kinds, steps, strict=True)
        )
        self._bounds = [lower_bound(unit).value for unit in units]
        stock = units[0].stock
        assert stock.open_ended
        self._across = stock.width

    @property
    def demand(self) -> list[int]:
        """How many of each kind are ordered."""
        return [kind.demand for kind in self.kinds]

    def lay(self, ratio: Ratio) -> Lay:
        """Return the lay of a marker that gives so many of each kind."""
        if ratio not in self._lays:
            bags = tuple(
                replace(kind.bag, count=count)
                for kind, count in zip(self.kinds, ratio, strict=True)
                if count
            )
            found = lays(
                replace(self.job, bags=bags),
                only=(self.cloth.name,),
                widths={self.cloth.name: self.width},
                face_to_face=self.twice,
                had={kind.bag.name: kind.had for kind in self.kinds},
            )
            parts = found[0].parts
            if len(bags) == 1 < len(self.job.bags):
                parts = tuple(replace(part, design=bags[0].name) for part in parts)
            self._lays[ratio] = replace(found[0], name=self.key(ratio), parts=parts)
        return self._lays[ratio]

    def note(self, ratio: Ratio, result: Result) -> None:
        """Take a marker that was laid for a ratio, if it is better than the one known."""
        self.laid[ratio] = better(self.laid[ratio], result) if ratio in self.laid else result
        if not self.laid[ratio].unplaced:
            self._figures[ratio] = figures(self.laid[ratio].marker)

    def key(self, ratio: Ratio) -> str:
        """Name a marker: the cloth, and how many of what."""
        held = ", ".join(
            f"{count} × {kind.names[0]}"
            for kind, count in zip(self.kinds, ratio, strict=True)
            if count
        )
        return f"{self.label}: {held}"

    def decide(self, *, only_laid: bool = False, hopeful: bool = False) -> CutPlan:
        """Choose the spreads by the lengths known now (estimated where not laid yet).

        `hopeful`: estimated as short as their bounds, if there are few of few parts: a better
        plan than the present one is not to be missed. In large orders the time is worth
        more where the present plan's markers are made shorter.

        Raises
        ------
        JobError
            No spreads meet the order; says which rule stands in the way.

        """
        table = self.job.table
        try:
            return cut_plan(
                self.demand,
                self._true_length if only_laid else partial(self._length, hopeful=hopeful),
                rules=self.rules,
                aims=Aims(
                    spread=table.spread_cost, marker=table.marker_cost, cutting=table.cutting_cost
                ),
                effort=self.effort,
                names=[kind.name for kind in self.kinds],
            )
        except JobError as error:
            raise JobError(
                f"{self.cloth.name}: {error.what}", file=self.job.file, hint=error.hint
            ) from error

    def bound(self) -> float:
        """Return a length of cloth (mm) that no plan can go below under the same rules."""
        area = self.rules.multiple * self._area(self.demand) / self._across
        plan = cut_plan(
            self.demand,
            self._tight_bound if self._few(_MOST_BOUNDS) else self._loose_bound,
            rules=self.rules,
            effort=self.effort,
        )
        return max(plan.bound, area)

    def _few(self, most: int) -> bool:
        """Whether the rules allow no more than `most` ratios."""
        upper = [wanted + self.rules.over for wanted in self.demand]
        offered = ratios(upper, bags=self.rules.bags)
        return len(list(islice(offered, most + 1))) <= most

    def _refuse_odd(self) -> None:
        """Refuse an odd order of what two plies face to face give an even number of."""
        for kind in self.kinds:
            if kind.even and kind.demand % 2 and not self.rules.over:
                raise JobError(
                    f"{self.cloth.name}: spread face to face, two plies give an even number of "
                    f"{kind.name}, and {kind.demand} are ordered",
                    file=self.job.file,
                    field="table.spreading",
                    hint="allow one more (over = 1), or spread face one way",
                )

    def _possible(self, ratio: Ratio) -> bool:
        return not any(
            kind.even and count % 2 for kind, count in zip(self.kinds, ratio, strict=True)
        )

    def _true_length(self, ratio: Ratio) -> float | None:
        result = self.laid.get(ratio)
        if result is None or result.unplaced:
            return None
        return self._figures[ratio].length

    def _length(self, ratio: Ratio, *, hopeful: bool) -> float | None:
        if ratio in self.laid:
            return self._true_length(ratio)
        if not self._possible(ratio):
            return None
        bound = self._loose_bound(ratio)
        assert bound is not None
        estimate = max(self._area(ratio) / (self._across * self._filled(hopeful)), bound)
        if self.rules.table is not None and ratio in self._units:
            # Whether the table is too short for a bag is for a real marker to say.
            estimate = min(estimate, max(bound, self.rules.table - 2.0 * self.rules.ends))
        return estimate

    def _loose_bound(self, ratio: Ratio) -> float | None:
        if not self._possible(ratio):
            return None
        longest = max(self._bounds[i] for i, n in enumerate(ratio) if n)
        return max(self._area(ratio) / self._across, longest)

    def _tight_bound(self, ratio: Ratio) -> float | None:
        if not self._possible(ratio):
            return None
        return lower_bound(self.lay(ratio)).value

    def _filled(self, hopeful: bool) -> float:
        found = [known.efficiency for known in self._figures.values()]
        if hopeful and self._few(_MOST_HOPED) and self._parts <= _MOST_HOPED_PARTS:
            return 1.0
        return sum(found) / len(found) if found else _ASSUMED

    def _area(self, ratio: Sequence[int]) -> float:
        return math.fsum(n * area for n, area in zip(ratio, self._areas, strict=True))


def _face_to_face(job: Job, cloth: Cloth) -> bool:
    return job.table.spreading is Spreading.FACE_TO_FACE and cloth.fold is not Fold.FOLDED


def _kinds(job: Job, cloth: Cloth, *, twice: bool) -> tuple[Kind, ...]:
    """Group the bags that are cut alike from this cloth (colourways share a lining)."""
    alike: dict[object, list[Bag]] = {}
    for bag in job.bags:
        cuts = tuple(cut for cut in bag.cuts if cut.material == cloth.name)
        if cuts and bag.count:
            alike.setdefault(_likeness(bag, cuts, cloth), []).append(bag)
    return tuple(
        Kind(
            names=tuple(bag.name for bag in bags),
            demand=sum(bag.count for bag in bags),
            bag=bags[0],
            even=twice and _even(bags[0], cloth, job=job),
        )
        for bags in alike.values()
    )


def _parted(kind: Kind, lacking: Sequence[frozenset[PartKey]], cloth: Cloth) -> Iterator[Kind]:
    """Yield a kind as those of its bags that have something already, and the whole ones."""
    one = Job(name="", materials=(cloth,), bags=(replace(kind.bag, count=1),))
    whole = len(slots_of(one, cloth))
    names: set[str] = set()
    for had, count in Counter(lacking).items():
        if len(had) == whole:
            continue
        often = Counter(piece for piece, _, _, _ in sorted(had))
        words = [piece if n == 1 else f"{n} × {piece}" for piece, n in often.items()]
        said = listed(words) if len(words) <= _MOST_SAID else f"{len(had)} parts"
        name = f"{kind.bag.name} without {said}"
        name = name if name not in names else f"{name} ({len(names) + 1})"
        names.add(name)
        bag = replace(kind.bag, name=name)
        yield replace(kind, names=(name,), demand=count, bag=bag, had=had)
    if kind.demand > len(lacking):
        yield replace(kind, demand=kind.demand - len(lacking))


def _even(bag: Bag, cloth: Cloth, *, job: Job) -> bool:
    slots = slots_of(replace(job, bags=(replace(bag, count=1),)), cloth)
    refuse_face_to_face(slots, cloth, job=job)
    return needs_even(slots)


def _likeness(bag: Bag, cuts: Sequence[Cut], cloth: Cloth) -> object:
    used = {cut.piece for cut in cuts}
    pieces = (_as_on(piece, cloth.name) for piece in bag.pieces if piece.name in used)
    return (tuple(cuts), tuple(pieces))


def _as_on(piece: Piece, material: str) -> Piece:
    """Return the piece with the marks that it carries when cut from one material."""
    kept = (m for m in piece.marks if m.materials is None or material in m.materials)
    return replace(piece, marks=tuple(replace(mark, materials=None) for mark in kept))


def _rules(job: Job, cloth: Cloth, width: Width, *, twice: bool) -> Rules:
    """Return what every spread of a cloth must keep to, or refuse what contradicts itself."""
    table, say = job.table, job.amounts.setting
    plies, multiple = table.plies, 2 if twice else 1
    layers = 2 if cloth.fold is Fold.FOLDED else 1
    what = f"{cloth.name}: the table takes {plies} ply at a time (plies)"
    if table.height is not None and cloth.thickness:
        high = int(table.height / (layers * cloth.thickness) + 1e-9)
        if high < plies:
            plies = high
            what = (
                f"{cloth.name}: the highest spread of {say(table.height)} takes {high} of its "
                f"{say(layers * cloth.thickness)}"
            )
    if plies < multiple:
        need = "plies face to face come in twos" if twice else "one ply is the least"
        raise JobError(f"{what}, but {need}", file=job.file, field="table", hint="allow more")
    longest = [x for x in (table.length, cloth.longest) if x is not None]
    if table.bed is not None:
        longest.append(table.bed[0])
        across = width.booked / layers
        if across > table.bed[1] + 1e-6:
            raise JobError(
                f"{cloth.name} is {say(across)} wide as it lies, wider than the bed, "
                f"{say(table.bed[1])}",
                file=job.file,
                field="table.bed",
                hint="a narrower width, or fold it",
            )
    return Rules(
        table=min(longest, default=None),
        plies=plies,
        multiple=multiple,
        bags=table.bags * multiple,
        over=table.over,
        ends=cloth.ends,
        amounts=job.amounts,
    )
