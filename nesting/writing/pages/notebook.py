"""A marker in a notebook: an object that shows itself as SVG."""

from __future__ import annotations

from dataclasses import dataclass

from nesting.marker.lay import Strip
from nesting.marker.marker import Marker
from nesting.writing.neutral.draw import draw
from nesting.writing.pages.view import screen_lettering, screen_svg

__all__ = ["View", "marker_svg", "view"]

_ACROSS = 250.0  # mm: about the width of a notebook's page on screen


@dataclass(frozen=True, slots=True, kw_only=True)
class View:
    """A marker (one sheet of it) to look at; notebooks ask it for its SVG."""

    marker: Marker
    sheet: int = 0

    def _repr_svg_(self) -> str:
        return marker_svg(self.marker, sheet=self.sheet)


def view(marker: Marker, *, sheet: int = 0) -> View:
    """Return the marker, or one sheet of it, as something a notebook shows."""
    return View(marker=marker, sheet=sheet)


def marker_svg(marker: Marker, *, sheet: int = 0) -> str:
    """Return a coloured picture of the marker, or one sheet of it, as an SVG element."""
    if not isinstance(marker.lay.stock, Strip) and not marker.sheets:
        return '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 1 1"></svg>'
    lettering = screen_lettering(draw(marker, sheet=sheet), across=_ACROSS)
    return screen_svg(draw(marker, sheet=sheet, lettering=lettering))
