"""A picture of goods, which lies under the marker."""

from __future__ import annotations

from dataclasses import dataclass

from nesting.pattern.path import Affine, Point
from nesting.shown import Brief

__all__ = ["Picture"]


@dataclass(frozen=True, slots=True, kw_only=True, repr=False)
class Picture(Brief):
    """What goods look like from above, at true scale.

    `kind`: "png" or "jpeg". `data`: the file in base64, so that a stored plan has all of it.
    `size`: how long and how high it is (mm). `at`: where its lower left corner lies (mm), as the
    goods are drawn; of a print from the middle of a motif.
    """

    kind: str
    data: str
    size: Point
    at: Point = (0.0, 0.0)

    @property
    def uri(self) -> str:
        """The picture as an address that holds it."""
        return f"data:image/{self.kind};base64,{self.data}"

    @property
    def place(self) -> Affine:
        """The map from its own axes (mm, y downwards from its upper left corner) to the goods'."""
        return Affine(d=-1.0, e=self.at[0], f=self.at[1] + self.size[1])
