"""The answer to a lay: a placement for every part."""

from __future__ import annotations

from dataclasses import dataclass

from nesting.marker.lay import Lay, Sheet
from nesting.pattern.path import Affine
from nesting.shown import Brief, shown

__all__ = ["Marker", "Placement"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Placement:
    """Where one part lies.

    The part's piece is reflected in the x axis if `flipped`, turned by `angle`
    (degrees counter-clockwise) about its own origin, then moved by (x, y) mm.
    `part` is its index in ``lay.parts``; `sheet` the index in ``marker.sheets`` of
    the sheet it lies on (0 on a strip).

    Examples
    --------
    >>> Placement(part=0, x=40, y=0, angle=90).affine((10, 0))
    (40.0, 10.0)

    """

    part: int
    x: float
    y: float
    angle: float = 0.0
    flipped: bool = False
    sheet: int = 0

    @property
    def affine(self) -> Affine:
        """The map from the part's coordinates to the stock's."""
        turn = Affine.turn(self.angle)
        return Affine.move(self.x, self.y).after(
            turn.after(Affine.mirror()) if self.flipped else turn
        )


@dataclass(frozen=True, slots=True, kw_only=True, repr=False)
class Marker(Brief):
    """A lay and the placements of its parts (all of them, if it is complete).

    `sheets`: for a lay on sheets, the sheets used, as indices into
    ``lay.stock.sheets`` (the same index again for a second sheet of a kind).

    Examples
    --------
    >>> two = replace(lay, parts=lay.parts[:2])
    >>> placed = (Placement(part=0, x=0, y=0), Placement(part=1, x=0, y=32))
    >>> by_hand = Marker(lay=two, placements=placed)
    >>> check(by_hand)
    ()

    """

    lay: Lay
    placements: tuple[Placement, ...]
    sheets: tuple[int, ...] = ()

    def _repr_svg_(self) -> str:
        return shown(self, "marker_svg")

    def _repr_html_(self) -> str:
        return shown(self, "marker_html")

    @property
    def used(self) -> tuple[Sheet, ...]:
        """The kind of each sheet that is used, one after the other; none on a strip."""
        return tuple(self.lay.stock.sheets[kind] for kind in self.sheets)

    @property
    def grounds(self) -> int:
        """How many grounds it lies on: the sheets used, or one strip."""
        return 1 if self.lay.stock.open_ended else len(self.sheets)
