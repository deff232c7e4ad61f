"""What pieces are cut from: cloth by the length, sheets, hides and remnants."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from typing import ClassVar, Literal

from nesting.material.picture import Picture
from nesting.pattern.path import Path, Point
from nesting.quantity import Unit
from nesting.shown import Brief

__all__ = [
    "Cloth",
    "Fold",
    "Goods",
    "Grade",
    "Hide",
    "Hides",
    "Material",
    "Nap",
    "Print",
    "Remnant",
    "SheetGoods",
    "Shrinkage",
    "Width",
    "Zone",
]


class Nap(StrEnum):
    """Which turns the goods allow.

    Examples
    --------
    >>> Cut(piece="front", material="canvas", nap=Nap.NONE)
    Cut(piece='front', material='canvas', nap=Nap.NONE)

    """

    NONE = "none"
    """The same after a turn by 180°."""
    ONE_WAY = "one-way"
    """One way up only."""
    ANY = "any"
    """Goods without a grain: any turn at all."""


class Fold(StrEnum):
    """How cloth lies on the table.

    Examples
    --------
    >>> replace(canvas, fold=Fold.FOLDED).fold
    <Fold.FOLDED: 'folded'>

    """

    SINGLE = "single"
    FOLDED = "folded"
    """Folded lengthwise, right sides together: y = 0 is the fold."""


class Grade(StrEnum):
    """Quality of a zone of a hide, best first.

    Examples
    --------
    >>> Cut(piece="front", material="leather", grade=Grade.B)
    Cut(piece='front', material='leather', grade=Grade.B)

    """

    A = "A"
    B = "B"
    C = "C"
    D = "D"


@dataclass(frozen=True, slots=True, kw_only=True)
class Print:
    """A print's repeat (mm): None leaves an axis without one (stripes).

    `drop`: share of `along` by which every other column is shifted (0 or ½).
    `origin`: a lattice point, measured from the corner of the usable cloth; if not `placed`, the
    lay may begin anywhere in the repeat, and `origin` is where it does.
    `drift`: how far a motif may lie from where the repeat says (mm): room for moving a
    template onto its motif is left about what is centred or matched. `off_centre`: how far a
    motif may lie off the middle of a piece that is centred on it, and matched to none (mm).
    `picture`: of one repeat, its `at` measured from a motif's middle.

    Examples
    --------
    >>> dots = Print(along=64, across=32, drop=0.5, drift=2)
    >>> replace(canvas, print=dots)
    Cloth(name='canvas', spacing=4, widths=<1>, print=<Print>)

    """

    along: float | None = None
    across: float | None = None
    drop: float = 0.0
    origin: Point = (0.0, 0.0)
    placed: bool = True
    drift: float = 0.0
    off_centre: float = 0.0
    picture: Picture | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Shrinkage:
    """Shares lost in washing (0.05 is 5 %), along and across.

    `cut_larger`: parts are cut larger so that they shrink to size; otherwise the
    cloth is washed before cutting and more of it is bought.

    Examples
    --------
    >>> replace(canvas, shrinkage=Shrinkage(along=0.05, across=0.02)).shrinkage
    Shrinkage(along=0.05, across=0.02, cut_larger=False)

    """

    along: float = 0.0
    across: float = 0.0
    cut_larger: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Width:
    """One width (mm): as booked, what is usable of it, price per metre of length.

    Not `on_sale`: only what is at hand has it, none can be bought.

    Examples
    --------
    >>> Width(booked=1450, usable=1430, price=18.5)
    Width(booked=1450, usable=1430, price=18.5, on_sale=True)

    """

    booked: float
    usable: float
    price: float | None = None
    on_sale: bool = True


@dataclass(frozen=True, slots=True, kw_only=True, repr=False)
class Goods(Brief):
    """What all materials have, and what most of them have nothing of.

    `spacing`: least distance between parts (mm). `turn_slack`: how many degrees off
    the grain a part may lie. `faces_alike`: both faces look the same, so parts may be
    flipped. `wrong_side_up`: laid with the wrong side up, outlines mirrored.
    `substance`: what it is made of, as the user says it, for the cautions
    ("pvc", "pu", "cotton", "chrome-tanned leather", "" for not said).
    `thickness`: mm, for the height of spreads.
    """

    kind: ClassVar[str]
    """What one of it is called."""
    taken_in: ClassVar[Unit]
    """What a marker takes of it."""
    sold_in: ClassVar[Unit]
    """What is bought of it."""
    is_leather: ClassVar[bool] = False

    name: str
    nap: Nap = Nap.NONE
    spacing: float = 0.0
    turn_slack: float = 0.0
    faces_alike: bool = False
    wrong_side_up: bool = False
    substance: str = ""
    thickness: float | None = None

    @property
    def kinds(self) -> str:
        """What several of it are called; cloth is not counted."""
        return self.kind if self.taken_in is Unit.LENGTH else f"{self.kind}s"

    @property
    def folded(self) -> bool:
        """Whether it is laid in two plies, right sides together."""
        return False

    @property
    def ends(self) -> float:
        """What is lost at each end of a marker (mm)."""
        return 0.0

    @property
    def step(self) -> float:
        """What lengths are bought in steps of (mm); 0 where any can be had."""
        return 0.0

    @property
    def shrinkage(self) -> Shrinkage:
        """What is lost in washing."""
        return Shrinkage()

    @property
    def print(self) -> Print | None:
        """The print that parts may be bound to."""
        return None

    @property
    def widths(self) -> tuple[Width, ...]:
        """The widths on sale, and at hand."""
        return ()

    @property
    def rolls(self) -> tuple[float, ...]:
        """The lengths at hand (mm)."""
        return ()

    @property
    def hides(self) -> tuple[Hide, ...]:
        """The hides at hand."""
        return ()

    @property
    def remnants(self) -> tuple[Remnant, ...]:
        """The left-overs at hand."""
        return ()

    @property
    def limited(self) -> bool:
        """Whether there is so much of it and no more can be bought."""
        return False

    @property
    def drawn(self) -> tuple[Remnant | Hide, ...]:
        """What of it is at hand one by one, each with an outline of its own."""
        return self.remnants


@dataclass(frozen=True, slots=True, kw_only=True, repr=False)
class Remnant(Brief):
    """A left-over of known outline (mm), used before new goods.

    `grain_known`: its grain runs along x; otherwise only pieces free of grain are cut from it.
    `stock_id`: by which the stock file that it is from knows it again.

    Examples
    --------
    >>> rest = Remnant(name="rest 1", outline=rectangle(500, 300))
    >>> replace(canvas, remnants=(rest,)).remnants
    (Remnant(name='rest 1', outline=Path(segments=<4>)),)

    """

    name: str
    outline: Path
    holes: tuple[Path, ...] = ()
    grain_known: bool = True
    stock_id: str = ""

    @property
    def paths(self) -> tuple[Path, ...]:
        """All that is drawn of it."""
        return (self.outline, *self.holes)


@dataclass(frozen=True, slots=True, kw_only=True, repr=False)
class Cloth(Goods):
    """A roll. `widths`: one, or several to compare. `ends`: allowance at each end (mm).

    `step`: lengths are bought in steps of (mm). `longest`: the longest piece to be had
    or the table (mm). `fold_print`: a printed cloth is folded although its print falls
    differently on the two plies. `rolls`: the lengths at hand (mm), `roll_widths`: the booked
    width of each (empty: the first of all). `remnants`: left-overs, used before the roll.

    Examples
    --------
    >>> wide = Width(booked=1450, usable=1430, price=18.5)
    >>> Cloth(name="canvas", widths=(wide,), nap=Nap.ONE_WAY, spacing=4, ends=15, step=100)
    Cloth(name='canvas', nap=Nap.ONE_WAY, spacing=4, widths=<1>, ends=15)

    """

    kind: ClassVar[str] = "cloth"
    taken_in: ClassVar[Literal[Unit.LENGTH]] = Unit.LENGTH
    sold_in: ClassVar[Unit] = Unit.LENGTH

    widths: tuple[Width, ...] = field()  # without it the property above would be its default
    ends: float = 0.0
    step: float = 100.0
    shrinkage: Shrinkage = Shrinkage()
    print: Print | None = None
    fold: Fold = Fold.SINGLE
    longest: float | None = None
    fold_print: bool = False
    rolls: tuple[float, ...] = ()
    roll_widths: tuple[float, ...] = ()
    remnants: tuple[Remnant, ...] = ()

    @property
    def folded(self) -> bool:
        """Whether it is laid in two plies, right sides together."""
        return self.fold is Fold.FOLDED

    def rolls_of(self, width: Width) -> tuple[int, ...]:
        """Return which of the rolls (from 0) are so wide."""
        first = self.widths[0].booked
        wide = self.roll_widths or (first,) * len(self.rolls)
        return tuple(i for i, booked in enumerate(wide) if booked == width.booked)


@dataclass(frozen=True, slots=True, kw_only=True, repr=False)
class SheetGoods(Goods):
    """Sheets of one size (mm, `length` along the grain), at most `count` of them.

    `at_hand`: so many of those that are used need not be bought.
    `margin`: how far parts stay off the edges. `price` per sheet.

    Examples
    --------
    >>> SheetGoods(name="foam", length=1000, width=500, count=2, nap=Nap.ANY, spacing=3, price=12)
    SheetGoods(name='foam', nap=Nap.ANY, spacing=3, length=1000, width=500, count=2, price=12)

    """

    kind: ClassVar[str] = "sheet"
    taken_in: ClassVar[Literal[Unit.SHEETS]] = Unit.SHEETS
    sold_in: ClassVar[Unit] = Unit.SHEETS

    length: float
    width: float
    count: int | None = None
    price: float | None = None
    margin: float = 0.0
    remnants: tuple[Remnant, ...] = ()
    at_hand: int = 0

    @property
    def limited(self) -> bool:
        """Whether their number is known."""
        return self.count is not None


@dataclass(frozen=True, slots=True, kw_only=True, repr=False)
class Zone(Brief):
    """A graded area of a hide, and its direction of tightness (degrees), if known.

    `slack`: how far a part may turn from that direction.

    Examples
    --------
    >>> back = Zone(name="back", grade=Grade.A, outline=rectangle(800, 300), tight=0, slack=15)
    >>> back.binds()
    True

    """

    name: str
    grade: Grade
    outline: Path
    tight: float | None = None
    slack: float = 180.0

    def binds(self, slack: float | None = None) -> bool:
        """Whether its tightness leaves some turns out; `slack` in place of its own."""
        return self.tight is not None and (self.slack if slack is None else slack) < 90.0


@dataclass(frozen=True, slots=True, kw_only=True, repr=False)
class Hide(Brief):
    """One hide (mm): outline, flaws to stay out of, graded zones; the backbone's direction.

    `guessed`: the zones were derived from the outline, not drawn by the user. `remnant`:
    what was left of a hide, used first. `grain_known`: whether its backbone's direction is.
    `stock_id`: by which the stock file that it is from knows it again. `picture`: of it.

    Examples
    --------
    >>> middle = rectangle(800, 300, at=(200, 200))
    >>> back = Zone(name="back", grade=Grade.A, outline=middle, tight=0, slack=15)
    >>> Hide(name="shoulder", outline=ellipse(1200, 700), zones=(back,))
    Hide(name='shoulder', outline=Path(segments=<2>), zones=<1>)

    """

    name: str
    outline: Path
    flaws: tuple[Path, ...] = ()
    zones: tuple[Zone, ...] = ()
    backbone: float = 0.0
    guessed: bool = False
    remnant: bool = False
    grain_known: bool = True
    stock_id: str = ""
    picture: Picture | None = None

    @property
    def paths(self) -> tuple[Path, ...]:
        """All that is drawn of it."""
        return (self.outline, *self.flaws, *(zone.outline for zone in self.zones))


@dataclass(frozen=True, slots=True, kw_only=True, repr=False)
class Hides(Goods):
    """The hides at hand of one leather. `price` per m². `margin`: off edges and flaws (mm).

    Examples
    --------
    >>> hole = circle(40, centre=(300, 350))
    >>> hide = Hide(name="shoulder", outline=ellipse(1200, 700), flaws=(hole,))
    >>> Hides(name="leather", hides=(hide,), nap=Nap.ANY, spacing=3, margin=5, price=105)
    Hides(name='leather', nap=Nap.ANY, spacing=3, hides=<1>, margin=5, price=105)

    """

    kind: ClassVar[str] = "hide"
    taken_in: ClassVar[Literal[Unit.HIDES]] = Unit.HIDES
    sold_in: ClassVar[Unit] = Unit.AREA
    is_leather: ClassVar[bool] = True

    hides: tuple[Hide, ...] = field()  # as the widths of cloth
    margin: float = 0.0
    price: float | None = None

    @property
    def limited(self) -> bool:
        """Hides are laid on as they are at hand."""
        return True

    @property
    def drawn(self) -> tuple[Hide, ...]:
        """The hides."""
        return self.hides


Material = Cloth | SheetGoods | Hides
