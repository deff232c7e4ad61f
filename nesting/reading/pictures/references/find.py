"""Which things in a picture are its references."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from nesting.errors import PatternError
from nesting.reading.pictures.camera import Known, camera_of
from nesting.reading.pictures.edges import Points
from nesting.reading.pictures.ground import apart
from nesting.reading.pictures.picture import Picture
from nesting.reading.pictures.references.marks import mark_quads
from nesting.reading.pictures.references.quads import (
    Quad,
    bright_quads,
    drawn_quads,
    lying_quads,
    refined,
    unlike,
)
from nesting.reading.pictures.references.reference import HOW, SHEETS, Kind, Reference

__all__ = ["Finder"]

_UNLIKE = 0.02
"""A four-sided thing that is less like the rectangle (as a share) is another: A4 and Letter differ
by 9 %, and with the lens known by its sides a sheet is seen to 0.3 % (own renders)."""
_BENT = 0.06
"""How unlike it a bad lens makes it look before that is known."""
_SMALL = 0.12
"""A figure whose sides are shorter (as a share of the picture's diagonal) says nothing of the lens,
and the lens does nothing to it."""
_SQUARE_OFF = 0.006
"""On a scan sides of a square are as long as each other to this share, and its diagonals, too."""
_ROUGH = 0.3
"""Of one figure found twice, drawn and lying, that counts whose sides are not as rough (pixels)."""
_LIKE = 0.04
"""A rectangle that is given by its corners is refused if they are less like it."""
_TOGETHER, _TIMES = 0.3, 4.0
"""Sheets that are seen as one camera sees them lie off it by so many pixels at most, or so many
times what their sides are rough."""
_SURELY = 3.0
"""Of things that disagree, one that is so many times more like the rectangle is taken."""
_SAME = 0.012
"""Sheets whose sizes differ by a smaller share are sheets of the same size."""
_ABOUT = 0.04
"""A thing that is so nearly as large as a reference, by another one, is it."""
_CLICKED = 1.0
"""How exactly corners are given by hand (pixels)."""
_USUAL_DPI = (72, 75, 96, 100, 120, 144, 150, 200, 240, 300, 400, 600, 1200)
"""Pixels per inch that scanners offer: common practice, no source."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Finder:
    """Looks for references in a picture."""

    picture: Picture

    @cached_property
    def lying(self) -> list[Quad]:
        """The four-sided things that lie on the ground."""
        return lying_quads(self.picture.pixels, apart(self.picture.pixels))

    @cached_property
    def bright(self) -> list[Quad]:
        """The four-sided things that are as bright as paper, whatever lies about them."""
        return bright_quads(self.picture.pixels)

    @cached_property
    def drawn(self) -> list[Quad]:
        """The four-sided figures that are drawn."""
        return drawn_quads(self.picture.pixels)

    @cached_property
    def marks(self) -> dict[int, Quad]:
        """Our own marks."""
        return mark_quads(self.picture.pixels)

    @property
    def size(self) -> tuple[int, int]:
        """Width and height of the picture, pixels."""
        return self.picture.width, self.picture.height

    def known(self, reference: Reference, *, given: Sequence[Known] = ()) -> list[Known]:
        """Return where a reference is seen; `given`: what else is known already.

        Raises
        ------
        PatternError
            If it is not there, or several different things could be it.

        """
        if reference.kind is Kind.SHEET:
            return self._sheets(reference, given)
        how: dict[Kind, Callable[[Reference], list[Known]]] = {
            Kind.MARKS: self._marks,
            Kind.RECTANGLE: self._given,
            Kind.SQUARE: self._square,
        }
        return how[reference.kind](reference)

    def _unlike(self, quad: Quad, sides: tuple[float, float]) -> tuple[float, bool]:
        """Return how unlike a rectangle of such sides a figure is, the lens taken away."""
        off, turned = unlike(quad.corners, sides, self.size)
        small = _side(quad) < _SMALL * float(np.hypot(*self.size))
        if off > _BENT or small:
            return off, turned
        lens = camera_of([Known(quad=quad, sides=sides, name="")], self.size)
        return unlike(lens.straight(quad.corners), sides, self.size)

    def _marks(self, reference: Reference) -> list[Known]:
        if not self.marks:
            raise PatternError(
                "none of our printed marks is seen in the picture",
                field="reference",
                hint="they have to lie flat and whole in it, with their white rims",
            )
        return [
            Known(quad=quad, sides=reference.sides, name=f"mark {number + 1}")
            for number, quad in sorted(self.marks.items())
        ]

    def _given(self, reference: Reference) -> list[Known]:
        corners = np.array(reference.corners)
        if (corners < 0).any() or (corners > np.array(self.size) - 1).any():
            raise PatternError(
                f"a corner of {reference.name!r} lies outside of the picture",
                field="reference",
                hint=f"it has {self.size[0]} × {self.size[1]} pixels, counted from its upper left",
            )
        x, y = corners.T
        sides = reference.sides
        if float(x @ np.roll(y, -1) - y @ np.roll(x, -1)) < 0.0:
            corners, sides = corners[::-1], sides  # the first side stays between the same corners
            corners = np.roll(corners, 2, axis=0)
        quad = self._near(corners) or _clicked(corners)
        off, turned = self._unlike(quad, sides)
        if off > _LIKE or (turned and max(sides) > 1.1 * min(sides)):
            raise PatternError(
                f"{reference.name!r} contradicts itself: no rectangle of such sides is seen with"
                " its corners there",
                field="reference",
                hint="name first the side from the first corner to the second, and the corners one"
                " after the other",
            )
        return [Known(quad=quad, sides=sides, name=reference.name)]

    def _near(self, corners: Points) -> Quad | None:
        """Return the figure whose sides are seen within three pixels of where they are said."""
        found = [
            quad
            for drawn in (True, False)
            if (quad := refined(self.picture.pixels, corners, drawn=drawn, reach=6.0))
            and float(np.abs(quad.corners - corners).max()) < 4.0
        ]
        return min(found, key=lambda quad: quad.noise, default=None)

    def _square(self, reference: Reference) -> list[Known]:
        found = [*self.drawn, *self.lying]
        like = [quad for quad in found if self._unlike(quad, reference.sides)[0] < _UNLIKE]
        like = _each_once(sorted(like, key=lambda quad: quad.noise > _ROUGH))
        if not like:
            raise PatternError(
                f"there is no {reference.name!r} in the picture",
                field="reference",
                hint='a square has to be whole, alone and straight; or say its corners: "5 x 5 cm'
                ' at 120,80 415,82 413,377 118,375" in pixels',
            )
        fit = [quad for quad in like if self._resolved(quad, reference)]
        chosen = _of_one_size(fit or like)
        if chosen is None:
            sides = ", ".join(f"{_side(quad):.0f}" for quad in like[:6])
            raise PatternError(
                f"several squares could be the {reference.name!r}: with sides of {sides} pixels",
                field="reference",
                hint=f'say its corners in pixels: "{_example(like[0], reference)}"',
            )
        return [Known(quad=quad, sides=reference.sides, name=reference.name) for quad in chosen]

    def _resolved(self, quad: Quad, reference: Reference) -> bool:
        """Tell whether a scan with such a square has the pixels per inch that its file says.

        In a photograph, where a square does not look like one, any would have some.
        """
        gaps = np.roll(quad.corners, -1, axis=0) - quad.corners
        sides = np.hypot(gaps[:, 0], gaps[:, 1])
        across = np.hypot(*(quad.corners[2:] - quad.corners[:2]).T)
        if max(np.ptp(sides) / sides.mean(), np.ptp(across) / across.mean()) > _SQUARE_OFF:
            return False
        dpi = 25.4 * _side(quad) / reference.sides[0]
        said = self.picture.dpi
        usual = _USUAL_DPI if said is None or self.picture.camera else said
        return any(abs(dpi / one - 1.0) < 0.02 for one in usual)

    def _sheets(self, reference: Reference, given: Sequence[Known]) -> list[Known]:
        rated = [(quad, *self._unlike(quad, reference.sides)) for quad in self.lying]
        if not any(off < _UNLIKE for _, off, _ in rated):  # on tiles or printed cloth
            rated += [(quad, *self._unlike(quad, reference.sides)) for quad in self.bright]
        rated.sort(key=lambda one: one[1])
        if not rated or rated[0][1] >= _UNLIKE:
            raise self._no_sheet(reference)
        w, h = reference.sides
        known = [
            Known(quad=quad, sides=(h, w) if turned else (w, h), name=reference.name)
            for quad, _, turned in rated
        ]
        if given:  # of several of one shape, those that are as large as they should be
            fit = [
                other < _UNLIKE and abs(_larger(given[0], one, self.size)[0] - 1.0) < _ABOUT
                for one, (_, other, _) in zip(known, rated, strict=True)
            ]
            if any(fit):
                known = [one for one, fits in zip(known, fit, strict=True) if fits]
                rated = [one for one, fits in zip(rated, fit, strict=True) if fits]
        best, off = known[0], rated[0][1]
        same = [best]
        for one, (_, other, _) in zip(known[1:], rated[1:], strict=True):
            apart_by, unsure = _larger(best, one, self.size)
            alike = abs(apart_by - 1.0) < _SAME + 2.0 * off + unsure
            if other >= _UNLIKE and not (alike and other < _BENT and self._agree(best, one)):
                continue
            if alike:
                same.append(one)
            elif other < _SURELY * max(off, 0.002):
                raise PatternError(
                    f"two rectangles could be the {reference.name} sheet, and by the one the other"
                    f" is {100.0 * apart_by:.1f} % of its size",
                    field="reference",
                    hint="take other things of that shape away, or say the corners of the sheet in"
                    f' pixels: "{_example(best.quad, reference)}"',
                )
        return same

    def _agree(self, one: Known, other: Known) -> bool:
        """Tell whether one camera sees both: a lens bends what is far apart otherwise."""
        noise = max(one.quad.noise, other.quad.noise)
        return camera_of([one, other], self.size).misfit < max(_TOGETHER, _TIMES * noise)

    def _no_sheet(self, reference: Reference) -> PatternError:
        usual = ("A4", "Letter", *SHEETS)
        for name, sides in ((name, SHEETS[name]) for name in usual):
            if sides[1] / sides[0] == reference.sides[1] / reference.sides[0]:
                continue
            if any(self._unlike(quad, sides)[0] < _UNLIKE for quad in self.lying):
                return PatternError(
                    f"there is no {reference.name} sheet in the picture, but a rectangle of the"
                    f" shape of {name}",
                    field="reference",
                    hint=f"if that is what lies there, say {name}",
                )
        return PatternError(
            f"there is no {reference.name} sheet in the picture",
            field="reference",
            hint="it has to lie flat and whole in it, touching nothing, on a ground of another"
            " colour; or " + HOW,
        )


def _clicked(corners: Points) -> Quad:
    """Return a figure of which nothing but the corners is known: a lens bends what is between."""
    share = np.array([0.0, 0.01, 0.99, 1.0])[:, None]
    sides = [
        a + (b - a) * share for a, b in zip(corners, np.roll(corners, -1, axis=0), strict=True)
    ]
    return Quad(
        corners=corners,
        sides=(sides[0], sides[1], sides[2], sides[3]),
        noise=_CLICKED * 2.0**0.5,
        seen=False,
    )


def _side(quad: Quad) -> float:
    gaps = np.roll(quad.corners, -1, axis=0) - quad.corners
    return float(np.hypot(gaps[:, 0], gaps[:, 1]).mean())


def _each_once(quads: Sequence[Quad]) -> list[Quad]:
    """Return figures without those whose corners lie at those of one before."""
    kept: list[Quad] = []
    for quad in quads:
        middle = quad.corners.mean(axis=0)
        if not any(
            np.hypot(*(middle - other.corners.mean(axis=0))) < 0.05 * _side(quad)
            and abs(_side(quad) / _side(other) - 1.0) < 0.15
            for other in kept
        ):
            kept.append(quad)
    return kept


def _of_one_size(quads: Sequence[Quad]) -> list[Quad] | None:
    """Return the figures if they could all be of one size, None else."""
    sides = [_side(quad) for quad in quads]
    return list(quads) if max(sides) < 1.02 * min(sides) else None


def _larger(one: Known, other: Known, size: tuple[int, int]) -> tuple[float, float]:
    """Return how large another rectangle is by the first one, as a share of what it should be.

    The second number is what that may be off, as far from the first one as the other lies.
    """
    lens = camera_of([one], size)

    def share(seen: Points) -> float:
        gaps = np.roll(seen, -1, axis=0) - seen
        lengths = np.hypot(gaps[:, 0], gaps[:, 1])
        return float((float(np.prod(lengths)) ** 0.5 / (other.sides[0] * other.sides[1])) ** 0.5)

    seen, modes = lens.to_ground(other.quad.corners), lens.shifts(other.quad.corners)
    found = share(seen)
    moved = np.array([share(seen + modes[..., i]) - found for i in range(modes.shape[-1])])
    return found, _THRICE * float(np.sqrt(np.sum(moved**2)))


_THRICE = 3.0
"""Standard deviations within which what is reckoned lies."""


def _example(quad: Quad, reference: Reference) -> str:
    places = " ".join(f"{x:.0f},{y:.0f}" for x, y in quad.corners)
    return f"{reference.sides[0]:g} x {reference.sides[1]:g} mm at {places}"
