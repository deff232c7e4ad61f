"""What was found in a pattern file."""

from __future__ import annotations

from dataclasses import dataclass

from nesting.amounts import METRIC, Amounts
from nesting.errors import Finding, PatternError, Severity
from nesting.pattern.measure import bounds
from nesting.pattern.path import Path, Point
from nesting.pattern.piece import Piece
from nesting.reading.pictures.shown import Shown
from nesting.reading.unit.scale import Scale
from nesting.shown import Brief
from nesting.units import nearest

__all__ = ["CheckLine", "Found", "Pattern"]


@dataclass(frozen=True, slots=True, kw_only=True, repr=False)
class Found(Brief):
    """A piece of a pattern file, and what the file says about it.

    `right`, `left`: how many are cut as drawn and how many mirrored; None if the file
    does not say. `opened`: the file has half of it, with a mirror line. `up_known`: one
    arrowhead says which end of the grain line is up. `turns`, `curves`:
    vertices that the file names as corners or as lying on a smooth curve (mm). `fields`:
    every text field as it stands. `line`: where the piece begins in the file, from 1.
    `uncertainty`: how far (mm) its outline may be off anywhere, if it is from a picture.
    """

    piece: Piece
    right: int | None = None
    left: int | None = None
    material: str = ""
    size: str = ""
    opened: bool = False
    up_known: bool = False
    turns: tuple[Point, ...] = ()
    curves: tuple[Point, ...] = ()
    fields: tuple[tuple[str, str], ...] = ()
    line: int | None = None
    uncertainty: float | None = None

    @property
    def extent(self) -> tuple[float, float]:
        """Length along x and width along y of the cutting line, mm."""
        x0, y0, x1, y1 = bounds(self.piece.cut)
        return (x1 - x0, y1 - y0)


@dataclass(frozen=True, slots=True, kw_only=True, repr=False)
class CheckLine(Brief):
    """A square or a line that is drawn to be measured on paper, and is no piece.

    `name`: what is written in or beside it, its label or its layer. `path`: as it is drawn, mm.
    `length`: how long it is as the file is read (of a square: its side); `said`: how long it
    says that it is, if it does.
    """

    name: str
    path: Path
    length: float
    said: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True, repr=False)
class Pattern(Brief):
    """A pattern file: its pieces, how it was understood, and what is odd about it.

    `kind`: "sewn-product DXF", "plain DXF" or "SVG". `sizes`: every size in the file, of
    which `size` was taken. `fields`: what is said about the whole style. `amounts`: how its
    lengths are said. `checks`: what is drawn to be measured. `shown`: the picture that it was read
    from, made flat.
    """

    file: str
    kind: str
    found: tuple[Found, ...]
    findings: tuple[Finding, ...]
    scale: Scale
    size: str = ""
    sizes: tuple[str, ...] = ()
    fields: tuple[tuple[str, str], ...] = ()
    amounts: Amounts = METRIC
    checks: tuple[CheckLine, ...] = ()
    shown: Shown | None = None

    @property
    def pieces(self) -> tuple[Piece, ...]:
        """The pieces, in the file's order."""
        return tuple(found.piece for found in self.found)

    @property
    def largest(self) -> tuple[float, float]:
        """Length and width (mm) of the piece with the longest side."""
        return max((found.extent for found in self.found), key=max, default=(0.0, 0.0))

    def piece(self, name: str) -> Piece:
        """Return the piece with that name; capitals and spaces around it don't matter."""
        names = [piece.name for piece in self.pieces]
        for like in (lambda a: a == name, lambda a: _plain(a) == _plain(name)):
            hits = [piece for piece in self.pieces if like(piece.name)]
            if len(hits) == 1:
                return hits[0]
        faults = (f for f in self.findings if f.severity is Severity.FAULT)
        told = next((fault.text for fault in faults if name in fault.parts), None)
        near = nearest(name, names)
        hint = f"did you mean {near!r}?" if near else "it has " + ", ".join(names[:12])
        raise PatternError(
            told or f"there is no piece {name!r} in it", file=self.file, hint=None if told else hint
        )


def _plain(name: str) -> str:
    return " ".join(name.split()).casefold()
