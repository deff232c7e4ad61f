"""A pattern piece as drawn, and what is to be transferred from it."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Annotated

from nesting.pattern.path import Path, Point
from nesting.shown import Brief
from nesting.stored import IN_ORDER, Once

__all__ = ["Face", "Hand", "Mark", "MarkKind", "NotchStyle", "Piece", "SharedPiece"]


class Face(StrEnum):
    """The face of the material on which a mark belongs."""

    RIGHT = "right"
    WRONG = "wrong"


class Hand(StrEnum):
    """Which of a mirrored pair: the piece as drawn is the right one.

    Examples
    --------
    >>> Cut(piece="front", material="canvas", pairs=True).hands
    (<Hand.RIGHT: 'right'>, <Hand.LEFT: 'left'>)

    """

    RIGHT = "right"
    LEFT = "left"


class MarkKind(StrEnum):
    """What a mark is.

    Examples
    --------
    >>> Mark(kind=MarkKind.TEXT, at=(110, 80), size=6, text="magnet behind").kind
    <MarkKind.TEXT: 'text'>

    """

    NOTCH = "notch"
    DRILL = "drill"
    LINE = "line"
    OUTLINE = "outline"
    TEXT = "text"


class NotchStyle(StrEnum):
    """The shape of a notch, in the trade's words (ASTM D6673 layer plan: 4, 80 to 83).

    Examples
    --------
    >>> Mark(kind=MarkKind.NOTCH, at=(110, 160), size=5, width=4, style=NotchStyle.V)
    Mark(kind=MarkKind.NOTCH, at=(110, 160), size=5, width=4, style=NotchStyle.V)

    """

    SLIT = "slit"
    V = "v"
    T = "t"
    CASTLE = "castle"
    CHECK = "check"
    U = "u"


@dataclass(frozen=True, slots=True, kw_only=True, repr=False)
class Mark(Brief):
    """Something to transfer to the cut part.

    `at`: the notch's point on the edge, the drill hole's centre, the text's anchor.
    `path`: a placement line (open) or outline (closed).
    `size`: a notch's depth, a drill hole's diameter, a text's height, mm.
    `width`: a notch's width at the edge, mm. `angle`: a text's direction, or a
    notch's direction into the piece, degrees counter-clockwise; None for a notch
    means square to the edge.
    `copies` (numbers from 1, counted per bag and cutting-list line), `hands` and
    `materials` say which cuts carry the mark; None means all.
    `face`: the face of the material on which it belongs.
    `mirrored`: a one-sided (check) notch is drawn the other way round.
    `joins`: a line along which two bits of a piece are joined.

    Examples
    --------
    >>> top = Mark(kind=MarkKind.NOTCH, at=(110, 160), size=5)
    >>> rivet = Mark(kind=MarkKind.DRILL, at=(30, 30), size=4)
    >>> replace(front, marks=(top, rivet))
    Piece(name='front', cut=Path(segments=<8>), grain=90, marks=<2>)

    """

    kind: MarkKind
    name: str = ""
    at: Point | None = None
    path: Path | None = None
    size: float = 0.0
    width: float = 0.0
    angle: float | None = None
    style: NotchStyle = NotchStyle.SLIT
    text: str = ""
    copies: Annotated[frozenset[int], IN_ORDER] | None = None
    hands: Annotated[frozenset[Hand], IN_ORDER] | None = None
    materials: Annotated[frozenset[str], IN_ORDER] | None = None
    face: Face = Face.RIGHT
    mirrored: bool = False
    joins: bool = False


@dataclass(frozen=True, slots=True, kw_only=True, repr=False)
class Piece(Brief):
    """A pattern piece: what is cut, what is sewn, how it lies on the grain.

    `cut`: the cutting line, closed, counter-clockwise. `holes`: cut-outs inside it,
    closed, clockwise. `sew`: the sewing line, closed, counter-clockwise, if known
    (the seam allowance lies between the two). `grain`: direction of the grain line,
    degrees counter-clockwise from +x. `fold`: the axis of symmetry, if the piece was
    drawn as a half and opened (or is known to be symmetric about it). `fold_back`:
    the line at which a shorter variant is folded back; what lies on its *left* is
    folded away. `motif`: the point to centre a print's motif on, if not the middle
    of the outline. The grain points to the end that is up (the top of a print, down the nap),
    unless it is not `up_known`, only its line. `points`: named points, such as the ends of
    seams to be matched.

    Examples
    --------
    >>> sew = rectangle(200, 140, radius=20)
    >>> Piece(name="panel", cut=add_allowance(sew, 10), sew=sew, grain=90)
    Piece(name='panel', cut=Path(segments=<8>), sew=Path(segments=<8>), grain=90)

    """

    name: str
    cut: Path
    holes: tuple[Path, ...] = ()
    sew: Path | None = None
    grain: float = 0.0
    marks: tuple[Mark, ...] = ()
    fold: tuple[Point, Point] | None = None
    fold_back: tuple[Point, Point] | None = None
    motif: Point | None = None
    points: tuple[tuple[str, Point], ...] = ()
    up_known: bool = True


SharedPiece = Annotated[Piece, Once("pieces", what="piece")]
"""A piece that many things have: a stored plan holds it once."""
