"""Paper that is printed on: sheets of known sizes, and a plotter's rolls."""

from __future__ import annotations

from dataclasses import dataclass, replace

from nesting.amounts import METRIC, Amounts
from nesting.errors import WriteError

__all__ = ["LONGEST", "PAPERS", "Paper", "roll", "usual_overlap"]

LONGEST = 5080.0
"""Longest side of a PDF page that every viewer shows: 14,400 units of 1/72 in (mm)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Paper:
    """A sheet (mm): its size, and the frame in its middle that is printed on.

    `open_length`: a roll, whose pages are as long as what is on them.
    """

    name: str
    width: float
    height: float
    frame_width: float
    frame_height: float
    open_length: bool = False

    @property
    def corner(self) -> tuple[float, float]:
        """The frame's lower left corner on the page."""
        return (self.width - self.frame_width) / 2.0, (self.height - self.frame_height) / 2.0

    @property
    def turned(self) -> Paper:
        """The same sheet on its side."""
        return replace(
            self,
            width=self.height,
            height=self.width,
            frame_width=self.frame_height,
            frame_height=self.frame_width,
        )


def _sheet(name: str, width: float, height: float, margin: float = 10.0) -> Paper:
    return Paper(
        name=name,
        width=width,
        height=height,
        frame_width=width - 2.0 * margin,
        frame_height=height - 2.0 * margin,
    )


PAPERS = {
    "a4": _sheet("A4", 210.0, 297.0),
    "letter": _sheet("Letter", 215.9, 279.4),
    "a3": _sheet("A3", 297.0, 420.0),
    "a0": _sheet("A0", 841.0, 1189.0),
    "a4-letter": Paper(
        name="A4 or Letter", width=210.0, height=279.4, frame_width=190.0, frame_height=254.0
    ),
}
"""Sizes: ISO 216 and 8½ × 11 in. Margins of 10 mm keep clear of the border that home
printers can't print on (3 to 6 mm). The third set's page is what both sheets have."""


def usual_overlap(amounts: Amounts) -> float:
    """Return how far (mm) sheets overlap where nothing else is said: 10 mm, or 3/8 in."""
    return 9.525 if amounts.inches else 10.0


def roll(width: float, *, margin: float = 10.0, amounts: Amounts = METRIC) -> Paper:
    """Return a plotter's roll of some width (mm); pages stay below the limit of PDF.

    Raises
    ------
    WriteError
        It is too narrow for the check squares, or can't be.

    """
    least = 2.0 * margin + 110.0
    if not least < width < LONGEST:
        wrong = "wider than a page can be" if width > least else "too narrow to print on"
        raise WriteError(
            f"a roll of {amounts.tool(width)} is {wrong}",
            hint=f'more than {amounts.needed(least)}; say its unit: "36 in", "914 mm"',
        )
    return Paper(
        name=f"roll {amounts.tool(width)}",
        width=LONGEST - 1.0,
        height=width,
        frame_width=LONGEST - 1.0 - 2.0 * margin,
        frame_height=width - 2.0 * margin,
        open_length=True,
    )
