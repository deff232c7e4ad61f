"""Tolerances that several rooms share."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["TOLERANCE", "Tolerance"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Tolerance:
    """The program's tolerances; lengths in mm, angles in degrees.

    `chord`: largest distance between a curve and the chords that stand for it in
    the judge, the figures and in formats without curves.
    `search_chord`: the same for the search, whose rings are then grown outwards by it.
    `contact`: depth or lack of gap the judge lets pass, *as a share of the larger
    part's size*; curves add `chord`. Rounding of a search that is exact on rings.
    `lattice`, `turn`: how far off a print's repeat or an allowed turn a part may be.
    `held`: how far a held part may be from its place: the rounding of numbers in a file.
    `close`: an open outline whose ends are nearer than this is closed silently.
    `on_edge`: how far from the edge a notch may be drawn and still belong to it.
    """

    chord: float = 1e-3
    search_chord: float = 0.02
    contact: float = 1e-6
    lattice: float = 1e-3
    turn: float = 1e-6
    held: float = 1e-6
    close: float = 0.05
    on_edge: float = 1.0


TOLERANCE = Tolerance()
