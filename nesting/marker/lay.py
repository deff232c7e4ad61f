"""One problem: parts, what they are cut from, and the rules, all as data.

Every rule of the trade is one of: allowed turns and flips (`Turns`, `Part.flip`), a
region for this part (`Part.region`), a lattice its anchor must hit (`Binding`), an
edge it must touch (`Part.edge`), parts that keep the same turn (`Part.turn_group`),
parts that lie near each other on the same sheet (`Part.mates`), or where that takes
no more of the goods (`Part.match`), a part held where somebody put it (`Part.held`).
The search and the judge know these and nothing of nap, print, fold or hide.

Axes: x along the cloth, y across it. mm, degrees counter-clockwise.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum
from typing import ClassVar, Literal

from nesting.pattern.path import Path, Point
from nesting.pattern.piece import Hand, SharedPiece
from nesting.quantity import Unit
from nesting.shown import Brief

__all__ = [
    "Binding",
    "Edge",
    "Held",
    "Lattice",
    "Lay",
    "Part",
    "Region",
    "Sheet",
    "Sheets",
    "Strip",
    "Turns",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Turns:
    """The turns a part may take: each angle (degrees), give or take `slack` (degrees).

    ``Turns(slack=180)`` is any turn at all.

    Examples
    --------
    >>> Turns(angles=(0, 180), slack=2)
    Turns(angles=(0, 180), slack=2)
    >>> Turns(slack=180).free
    True

    """

    angles: tuple[float, ...] = (0.0,)
    slack: float = 0.0

    @property
    def free(self) -> bool:
        """Whether every turn is allowed."""
        return self.slack >= 180.0


class Edge(StrEnum):
    """An edge of a strip that a part must touch.

    Examples
    --------
    >>> Part(name="half front", piece=front, edge=Edge.LOW).edge
    <Edge.LOW: 'low'>

    """

    LOW = "low"
    """y = 0: the fold of folded cloth."""
    HIGH = "high"
    """y = width."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Lattice:
    """The repeat of a print, in the stock's coordinates (mm).

    Lattice points are (x0 + i·along + (j odd ? drop·along : 0), y0 + j·across) for
    whole i, j. A period of None leaves that axis free (stripes). `tolerance`: how far
    off (mm, each axis) an anchor may lie, for cloth whose repeat drifts.

    Examples
    --------
    >>> Lattice(along=64, across=32, drop=0.5, origin=(0, 10))
    Lattice(along=64, across=32, drop=0.5, origin=(0, 10), tolerance=0.0)

    """

    along: float | None = None
    across: float | None = None
    drop: float = 0.0
    origin: Point = (0.0, 0.0)
    tolerance: float = 0.0

    @property
    def step(self) -> float:
        """How far it is to the next repeat (mm), along or across, whichever is farther."""
        return max(self.along or 0.0, self.across or 0.0) or math.inf


@dataclass(frozen=True, slots=True, kw_only=True)
class Binding:
    """The part's `anchor` (in its own coordinates) must lie on the lattice.

    Parts whose binding has the same `phase` name share one unknown shift of the
    lattice instead: their anchors must be congruent to each other, wherever the print
    falls (matching across a seam without a fixed motif).

    Examples
    --------
    >>> centred = Binding(anchor=(110, 80), lattice=Lattice(along=64, across=32))
    >>> Part(name="front", piece=front, binding=centred).binding.anchor
    (110, 80)

    """

    anchor: Point
    lattice: Lattice
    phase: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Held:
    """Where a part is held: the search lays all else round it, the judge finds it there.

    Its piece is reflected in the x axis if `flipped`, turned by `angle` (degrees) about its
    own origin, then moved by (x, y) mm, as in a `Placement`. `sheet`: the index in
    ``lay.stock.sheets`` of the kind it is held on (0 on a strip), and `number` which one of
    that kind: parts held on the same lie on one sheet.

    Examples
    --------
    >>> Part(name="tab 1", piece=tab, held=Held(x=20, y=35)).held
    Held(x=20, y=35, angle=0.0, flipped=False, sheet=0, number=0)

    """

    x: float
    y: float
    angle: float = 0.0
    flipped: bool = False
    sheet: int = 0
    number: int = 0


@dataclass(frozen=True, slots=True, kw_only=True, repr=False)
class Part(Brief):
    """One thing to be laid: a piece in one variant, ready to cut, with its freedoms.

    `name` is unique within the lay; `design` names its bag where a job has several.
    `piece` has its grain along +x and is already
    mirrored if `hand` is left. `copy` of `copies` counts within the bag `bag` (0: it is a
    template, for any); cut through two plies it gives one for `other_bag` as well, if that is set.
    `flip`: it may also be laid face down (reflected in the grain line before turning).
    `region`: name of the region of each sheet it must lie in (None: the whole outline).
    `variant`: how it differs from the piece as drawn ("trimmed", "folded back", "").
    `grain`: its goods have one, and `one_way`: the nap allows no turn by 180°, both for its
    arrow; the turns of a symmetric piece don't tell. `both_hands`: cut through two plies
    that face each other it gives a right and a left. `pieced`: of how many parts its piece
    is put together, if it is one of several. `match`: those of one name are sewn so that the
    print runs on, and no repeat is quite like the one before: among markers that take as much
    of the goods, they lie in the same repeat or the next. `held`: where it has to lie.

    Examples
    --------
    >>> Part(name="tab 1", piece=tab, turns=Turns(angles=(0, 180)), flip=True)
    Part(name='tab 1', piece=<Piece 'tab'>, turns=Turns(angles=(0, 180), slack=0.0), flip=True)

    """

    name: str
    piece: SharedPiece
    copy: int = 1
    copies: int = 1
    bag: int = 1
    other_bag: int | None = None
    hand: Hand = Hand.RIGHT
    variant: str = ""
    turns: Turns = Turns()
    flip: bool = False
    region: str | None = None
    binding: Binding | None = None
    edge: Edge | None = None
    turn_group: str | None = None
    mates: str | None = None
    match: str | None = None
    grain: bool = True
    one_way: bool = False
    both_hands: bool = False
    pieced: int = 1
    design: str = ""
    held: Held | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Strip:
    """Cloth of usable `width` (mm, along y from 0) and open length (along x from 0).

    `longest`: the most that one marker may take, if limited.

    Examples
    --------
    >>> Strip(width=1430, longest=6000)
    Strip(width=1430, longest=6000)

    """

    open_ended: ClassVar[Literal[True]] = True
    """What counts is the length that is taken; on sheets it is their number."""
    taken_in: ClassVar[Unit] = Unit.LENGTH

    width: float
    longest: float | None = None

    @property
    def sheets(self) -> tuple[Sheet, ...]:
        """No sheets."""
        return ()

    @property
    def most(self) -> float:
        """The longest marker that may be laid (mm)."""
        return math.inf if self.longest is None else self.longest


@dataclass(frozen=True, slots=True, kw_only=True, repr=False)
class Region(Brief):
    """A named area of a sheet that some parts are bound to: closed outlines (mm), holes clockwise.

    `turns`, if given, replaces the turns of a part in it (the direction of tightness
    of a hide's zone): angles are relative to the sheet. `load`: it is a load of the bed that
    cuts the sheet, whole.

    Examples
    --------
    >>> back = Region(name="back", outlines=(rectangle(800, 300),), turns=Turns(slack=15))
    >>> hide = Sheet(name="shoulder", outline=rectangle(1200, 700), regions=(back,), count=1)
    >>> Part(name="flap", piece=tab, region="back").region
    'back'

    """

    name: str
    outlines: tuple[Path, ...]
    turns: Turns | None = None
    load: bool = False


@dataclass(frozen=True, slots=True, kw_only=True, repr=False)
class Sheet(Brief):
    """One kind of sheet, remnant or hide: an outline with holes (flaws), and regions.

    `count`: how many there are (None: as many as needed). Sheets are used in the
    order in which the stock lists them (remnants first), the fewest of them; if they have a
    `cost`, those are opened that cost least together (a hide's area, 0 for a left-over).
    `origin`: the place in the goods' list of what it is, or is a bit of; it costs once.

    Examples
    --------
    >>> knot = circle(40, centre=(300, 250)).reversed()
    >>> Sheet(name="board", outline=rectangle(1000, 500), holes=(knot,))
    Sheet(name='board', outline=Path(segments=<4>), holes=<1>)

    """

    name: str
    outline: Path
    holes: tuple[Path, ...] = ()
    regions: tuple[Region, ...] = ()
    count: int | None = None
    cost: float = 0.0
    origin: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True, repr=False)
class Sheets(Brief):
    """Stock of fixed size. `margin`: how far parts stay off its edges and holes (mm).

    Examples
    --------
    >>> foam = Sheet(name="foam", outline=rectangle(1000, 500), count=2)
    >>> Sheets(sheets=(foam,), margin=5)
    Sheets(sheets=<1>, margin=5)

    """

    open_ended: ClassVar[Literal[False]] = False
    taken_in: ClassVar[Unit] = Unit.SHEETS

    sheets: tuple[Sheet, ...]
    margin: float = 0.0

    @property
    def most(self) -> float:
        """How many sheets there are."""
        return sum(math.inf if sheet.count is None else sheet.count for sheet in self.sheets)


@dataclass(frozen=True, slots=True, kw_only=True, repr=False)
class Lay(Brief):
    """Parts + one stock + spacing: one problem.

    `spacing`: least distance between true outlines of two parts (mm).

    Examples
    --------
    >>> Lay(name="tabs", parts=tabs, stock=Strip(width=100), spacing=2)
    Lay(name='tabs', parts=<4>, stock=Strip(width=100, longest=None), spacing=2)

    """

    name: str
    parts: tuple[Part, ...]
    stock: Strip | Sheets
    spacing: float = 0.0
