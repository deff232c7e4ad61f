"""What is to be made: bags, their pieces, and from which material each is cut."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

from nesting.amounts import Amounts
from nesting.errors import JobError
from nesting.material.material import Cloth, Grade, Material, Nap
from nesting.names import listed
from nesting.pattern.piece import Hand, SharedPiece
from nesting.quantity import Unit
from nesting.shown import Brief

__all__ = [
    "Bag",
    "Cut",
    "CuttingTable",
    "HeldPart",
    "Job",
    "Notion",
    "Spreading",
    "refuse_unknown",
    "refuse_unnamed",
]


@dataclass(frozen=True, slots=True, kw_only=True, repr=False)
class Cut(Brief):
    """One line of the cutting list: a piece, a material, how often per bag, in which variant.

    `copies`: per bag; with `pairs` each copy is a mirrored pair, one right and one left.
    `trimmed`: cut on the sewing line (stabiliser), inset by a further `gap` (mm).
    `reversed`: each copy is the mirror image of the piece, its left one.
    `rough_margin`: cut roughly, with this much more all round (mm), for block fusing.
    `folded_back`: the shorter variant. `nap`, `turn_slack`: override the material's.
    `grain`: degrees added to the piece's grain (90 across, 45 bias).
    `centred`: the print's motif is centred in it (fussy cutting). `matches`: runs on
    across a seam: own point name, other piece's name, its point's name. `match_left`: the
    name of the other piece's point for the left one of a pair, if it is another.
    `grade`: poorest zone of a hide it accepts. `mates`: its copies are cut close together.
    `mate`: it is cut close to that piece, too. `pieced`: it may be put together from
    several where it does not fit or that saves cloth, each of which goes so far beyond the join
    (mm). `joins`: the most joins where it would fit whole.

    Examples
    --------
    >>> Cut(piece="front", material="canvas", copies=2)
    Cut(piece='front', material='canvas', copies=2)
    >>> Cut(piece="front", material="foam", copies=2, trimmed=True, gap=2)
    Cut(piece='front', material='foam', copies=2, trimmed=True, gap=2)

    """

    piece: str
    material: str
    copies: int = 1
    pairs: bool = False
    reversed: bool = False
    trimmed: bool = False
    gap: float = 0.0
    rough_margin: float = 0.0
    folded_back: bool = False
    nap: Nap | None = None
    turn_slack: float | None = None
    grain: float = 0.0
    centred: bool = False
    matches: tuple[str, str, str] | None = None
    match_left: str | None = None
    grade: Grade | None = None
    mates: bool = False
    mate: str | None = None
    pieced: float | None = None
    joins: int = 1

    @property
    def hands(self) -> tuple[Hand, ...]:
        """The hands that one copy comes in, the right one first."""
        if self.pairs:
            return (Hand.RIGHT, Hand.LEFT)
        return (Hand.LEFT,) if self.reversed else (Hand.RIGHT,)

    @property
    def on_bias(self) -> bool:
        """Whether its grain turns it onto a diagonal of the goods: either of them is their bias."""
        return self.grain % 90.0 == 45.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Notion:
    """Hardware and notions per bag: a plain line of the job.

    Examples
    --------
    >>> replace(pouch, notions=(Notion(name="zip", quantity=20, unit="cm", price=0.12),)).notions
    (Notion(name='zip', quantity=20, unit='cm', price=0.12),)

    """

    name: str
    quantity: float
    unit: str = ""
    price: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True, repr=False)
class Bag(Brief):
    """One design and how many of it are ordered.

    `colourway`: which material plays the role of which; the cuts have it already.

    Examples
    --------
    >>> replace(pouch, count=20)
    Bag(name='pouch', pieces=<2>, cuts=<2>, count=20)

    """

    name: str
    pieces: tuple[SharedPiece, ...]
    cuts: tuple[Cut, ...]
    count: int = 1
    notions: tuple[Notion, ...] = ()
    colourway: tuple[tuple[str, str], ...] = ()


class Spreading(StrEnum):
    """How plies lie on one another.

    Examples
    --------
    >>> CuttingTable(plies=20, spreading=Spreading.ONE_WAY).spreading.value
    'face one way'

    """

    ONE_WAY = "face one way"
    """Every ply right side up: both hands of a pair are drawn."""
    FACE_TO_FACE = "face to face"
    """Every other ply turned over: plies come in twos, which cut right and left at once."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CuttingTable:
    """The table an order is spread and cut on, and what counts besides cloth.

    `length`: longest marker with its ends (mm). `bed`: the machine's, along and across
    (mm): what is larger is cut in loads; no marker of an order is longer, no cloth wider.
    `plies`: most plies of a spread; `height`: or the highest lay (mm), for cloths whose
    thickness is known. `bags`: most bags in one marker. `over`: how many more than ordered
    may be made, of each bag.
    `spread_cost`, `marker_cost`: what setting up a spread, or making a marker, is worth,
    in mm of cloth. `cutting_cost`: the same for each mm of marker cut in a spread.
    `splice`: longest overlap where cloth may be spliced (mm), None for no splices.

    Examples
    --------
    >>> table = CuttingTable(length=6000, plies=20, spreading=Spreading.FACE_TO_FACE)
    >>> replace(job, table=table).table.plies
    20

    """

    length: float | None = None
    bed: tuple[float, float] | None = None
    plies: int = 1
    height: float | None = None
    bags: int = 6
    over: int = 0
    spreading: Spreading = Spreading.ONE_WAY
    spread_cost: float = 0.0
    marker_cost: float = 0.0
    cutting_cost: float = 0.0
    splice: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class HeldPart:
    """A part that stays where it was put, all else is laid round it.

    `at`: the lower left corner of its box as it lies, along and across the goods (mm). `turn`:
    degrees counter-clockwise from lying with its grain along the goods; None is the first that
    its rules allow. `mirrored`: it lies face down. `copy`, `hand`, `variant`: which of the parts
    of its `piece` it is, as far as there are several ("plain": cut as it is drawn);
    `bag` and `number`: of which bag (the first, if there is but one kind). `on`: the name of the
    sheet or hide it lies on, and `sheet` which of several that are alike, from 1. `line`: of the
    job file.

    Examples
    --------
    >>> here = HeldPart(material="canvas", piece="front", at=(120, 40), copy=2)
    >>> plan = make_plan(replace(job, held=(here,)), seconds=None, rounds=1, workers=1)
    >>> [part.name for part in plan.entries[0].marker.lay.parts if part.held]
    ['front 2 of 2']

    """

    material: str
    piece: str
    at: tuple[float, float]
    turn: float | None = None
    mirrored: bool = False
    copy: int = 1
    hand: Hand | None = None
    variant: str = ""
    bag: str = ""
    number: int = 1
    on: str = ""
    sheet: int = 1
    line: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True, repr=False)
class Job(Brief):
    """Everything that is to be made at once, and the materials it is made from.

    `assumptions`: every default that was used because the job file did not say, as
    sentences for the report; the first `weighty` ones can spoil goods if they are wrong.
    `unit`: of lengths without one in the job file.
    `at_hand`: how much there is of notions, by name, in their own units.
    `places`: where pieces stand, as (field, file, line), for errors found later. `held`: parts
    that stay where they were put. `size`: which size its bags are; `graded`: they in each size.

    Examples
    --------
    >>> job
    Job(name='Pouch', bags=<1>, materials=<1>, currency='EUR')
    >>> job.wanted(["canvas"])
    [Cloth(name='canvas', spacing=4, widths=<1>)]

    """

    name: str
    bags: tuple[Bag, ...]
    materials: tuple[Material, ...]
    currency: str = ""
    table: CuttingTable = CuttingTable()
    assumptions: tuple[str, ...] = ()
    file: str | None = None
    unit: str = "mm"
    places: tuple[tuple[str, str, int], ...] = ()
    at_hand: tuple[tuple[str, float], ...] = ()
    held: tuple[HeldPart, ...] = ()
    weighty: int = 0
    size: str = ""
    graded: tuple[tuple[str, tuple[Bag, ...]], ...] = ()

    @property
    def called(self) -> str:
        """What it is called, with its size if it has several."""
        return f"{self.name}, size {self.size}" if self.size else self.name

    @property
    def sizes(self) -> tuple[str, ...]:
        """The sizes that it is handed out in, if it has any."""
        return tuple(size for size, _ in self.graded)

    def in_size(self, size: str) -> Job:
        """Return the job as it is in one of its sizes, or as it is where it has none."""
        return replace(self, size=size, bags=dict(self.graded)[size]) if self.graded else self

    def wanted(self, only: Collection[str] | None = None) -> list[Material]:
        """Return the materials of these names (None: all), in the job's order.

        Raises
        ------
        JobError
            No material has one of the names.

        """
        refuse_unknown(only, [material.name for material in self.materials], file=self.file)
        return [m for m in self.materials if only is None or m.name in only]

    @property
    def cloths(self) -> tuple[Cloth, ...]:
        """The materials that are cloth."""
        return tuple(one for one in self.materials if one.taken_in is Unit.LENGTH)

    def material(self, name: str) -> Material | None:
        """Return the material of this name, if there is one."""
        return next((one for one in self.materials if one.name == name), None)

    def with_material(self, changed: Material) -> Job:
        """Return the job with a material in place of the one of its name."""
        return replace(
            self, materials=tuple(changed if m.name == changed.name else m for m in self.materials)
        )

    @property
    def amounts(self) -> Amounts:
        """How this job's lengths and areas are said."""
        return Amounts(self.unit)


def refuse_unknown(
    only: Collection[str] | None, known: Sequence[str], *, file: str | None = None
) -> None:
    """Raise a `JobError` if one of the names is that of no material that there is."""
    for name in only or ():
        if name not in known:
            hint = f"there are: {listed(known)}" if known else None
            raise JobError(f'no material is named "{name}"', file=file, hint=hint)


def refuse_unnamed(job: Job) -> None:
    """Raise a `JobError` if two things have one name, or a cut names what there isn't."""
    _once([bag.name for bag in job.bags], "bag")
    _once([material.name for material in job.materials], "material")
    for bag in job.bags:
        names = [piece.name for piece in bag.pieces]
        _once(names, "piece")
        for cut in bag.cuts:
            if cut.piece not in names:
                raise JobError(
                    f'no piece of the bag "{bag.name}" is named "{cut.piece}"',
                    hint=f"there are: {listed(names)}" if names else None,
                )
            job.wanted([cut.material])  # or refused
    job.wanted([held.material for held in job.held])


def _once(names: Sequence[str], what: str) -> None:
    twice = [name for name, count in Counter(names).items() if count > 1]
    if twice:
        raise JobError(f'two {what}s are named "{twice[0]}"', hint="name one of them otherwise")
