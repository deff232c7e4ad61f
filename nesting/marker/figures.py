"""The figures of a marker: how long, how full, how much to cut."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

from nesting.marker.marker import Marker, Placement
from nesting.marker.measure import cut_length, piece_area, sheet_area
from nesting.pattern.measure import area as path_area
from nesting.pattern.path import Affine, Path
from nesting.tolerance import TOLERANCE

__all__ = ["Figures", "figures"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Figures:
    """What a marker takes and yields.

    `parts`: how many are laid. `length`: on a strip from x = 0 to the farthest point of
    a true outline; on sheets the whole of the used sheets' lengths but the last, of
    which only the used length counts (mm). `area`: of the parts laid, cut-outs taken
    off (mm²). `cut_length`: all outlines and cut-outs (mm). `efficiency` (marker
    efficiency): area ÷ (length × usable width); on sheets area ÷ the usable area of
    the sheets used. `utilisation`: area ÷ all that is taken from the stock: with the
    booked width and both ends on a strip, the whole outlines of the sheets used.
    `sheets`: how many are used (0 on a strip). `last_length`: used length of the last
    sheet, from its lowest x; on a strip the same as `length`.

    Examples
    --------
    >>> found = figures(marker)
    >>> found.parts, found.length, round(found.efficiency, 3)
    (3, 400.0, 0.466)

    """

    parts: int
    length: float
    area: float
    cut_length: float
    efficiency: float
    utilisation: float
    sheets: int
    last_length: float


def figures(marker: Marker, *, booked_width: float | None = None, ends: float = 0.0) -> Figures:
    """Return the figures of a marker.

    Parameters
    ----------
    marker
        Complete or not: only what is laid counts.
    booked_width
        Width of the cloth with its selvedges (mm), if it differs from the usable width.
    ends
        What is lost at each of the two ends of the marker (mm).

    Returns
    -------
    Figures
        Lengths in mm, areas in mm², shares from 0 to 1.

    Notes
    -----
    Marker efficiency counts the area of the parts over the marker's length and usable
    width (the trade's definition); utilisation also counts selvedges and ends.

    Examples
    --------
    >>> figures(marker).length
    400.0
    >>> round(figures(marker, booked_width=480).utilisation, 3)
    0.446

    """
    pieces = [marker.lay.parts[p.part].piece for p in marker.placements]
    area = math.fsum(piece_area(piece) for piece in pieces)
    cut = math.fsum(cut_length(piece) for piece in pieces)
    stock = marker.lay.stock
    if stock.open_ended:
        length = max((_reach(marker, p) for p in marker.placements), default=0.0)
        used = length * stock.width
        taken = (length + 2.0 * ends) * (booked_width or stock.width) if pieces else 0.0
        sheets, last = 0, length
    else:
        length, last = _sheet_lengths(marker)
        kinds = marker.used
        taken = math.fsum(path_area(kind.outline) for kind in kinds)
        used = math.fsum(sheet_area(kind) for kind in kinds)
        sheets = len(kinds)
    return Figures(
        parts=len(pieces),
        length=length,
        area=area,
        cut_length=cut,
        efficiency=area / used if used > 0 else 0.0,
        utilisation=area / taken if taken > 0 else 0.0,
        sheets=sheets,
        last_length=last,
    )


def _extent(path: Path) -> tuple[float, float]:
    xs = [x for x, _ in path.points_once(TOLERANCE.chord)]
    return min(xs), max(xs)


def _reach(marker: Marker, placement: Placement) -> float:
    """Return the largest x of a placed part."""
    return _farthest(marker.lay.parts[placement.part].piece.cut, placement.affine)


@lru_cache(maxsize=1 << 14)
def _farthest(cut: Path, by: Affine) -> float:
    """Return the largest x of a mapped path; a plan asks for its figures a dozen times."""
    return _extent(cut.transformed(by))[1]


def _sheet_lengths(marker: Marker) -> tuple[float, float]:
    """Return the length of all sheets used, the last to its last part, and that of the last."""
    if not marker.sheets:
        return 0.0, 0.0
    spans = [_extent(sheet.outline) for sheet in marker.used]
    final = len(spans) - 1
    on_last = [_reach(marker, p) for p in marker.placements if p.sheet == final]
    last = max(on_last, default=spans[-1][0]) - spans[-1][0]
    return math.fsum(high - low for low, high in spans[:-1]) + last, last
