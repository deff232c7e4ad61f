"""What of a marker is there at all: every part once, at numbers, on sheets that exist."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator

from nesting.errors import Finding, Severity
from nesting.limits import FARTHEST_LAID
from nesting.marker.marker import Marker, Placement

__all__ = ["copies", "lies", "numbers", "sheets"]


def copies(marker: Marker, *, only: int | None = None) -> Iterator[Finding]:
    """Yield every part of the lay that isn't laid exactly once, and every other part.

    `only`: the one part that is asked about.
    """
    parts = marker.lay.parts
    laid = Counter(placement.part for placement in marker.placements)
    for index in range(len(parts)) if only is None else (only,):
        part = parts[index]
        if laid[index] == 0:
            yield Finding(kind="missing", text=f"{part.name} is not laid", parts=(part.name,))
        elif laid[index] > 1:
            text = f"{part.name} is laid {laid[index]} times"
            yield Finding(kind="extra", text=text, parts=(part.name,))
    for index in sorted(set(laid) - set(range(len(parts)))):
        yield Finding(kind="extra", text=f"part {index} is laid, but the lay has no such part")


def numbers(marker: Marker) -> Iterator[Finding]:
    """Yield every part whose place isn't a number, or is far off the goods."""
    for placement in marker.placements:
        if known(marker, placement) and not sane(placement):
            name = marker.lay.parts[placement.part].name
            place = f"x {placement.x:g}, y {placement.y:g}, turn {placement.angle:g}"
            far = all(map(math.isfinite, (placement.x, placement.y, placement.angle)))
            told = "off the goods, more than 10 km away" if far else "nowhere"
            yield Finding(kind="number", text=f"{name} lies {told}: {place}", parts=(name,))


def known(marker: Marker, placement: Placement) -> bool:
    return 0 <= placement.part < len(marker.lay.parts)


def sane(placement: Placement) -> bool:
    near = abs(placement.x) < FARTHEST_LAID and abs(placement.y) < FARTHEST_LAID
    return near and math.isfinite(placement.angle)


def sheets(marker: Marker) -> Iterator[Finding]:
    """Yield every sheet that isn't there, those used too often, and those without parts."""
    stock = marker.lay.stock
    for placement in marker.placements:
        if known(marker, placement) and not has_sheet(marker, placement):
            name = marker.lay.parts[placement.part].name
            text = f"{name} lies on sheet {placement.sheet}, which the marker doesn't have"
            yield Finding(kind="sheet", text=text, parts=(name,))
    for kind, used in sorted(Counter(marker.sheets).items()):
        if not 0 <= kind < len(stock.sheets):
            text = f"the marker uses sheets of kind {kind}, which the stock doesn't have"
            yield Finding(kind="sheet", text=text)
            continue
        sheet = stock.sheets[kind]
        if sheet.count is not None and used > sheet.count:
            text = f"{used} of {sheet.name} are used, there are {sheet.count}"
            yield Finding(kind="sheet", text=text, amount=float(used - sheet.count))
    for index in sorted(set(range(len(marker.sheets))) - {p.sheet for p in marker.placements}):
        text = f"sheet {index} has no part on it"
        yield Finding(kind="sheet", severity=Severity.NOTE, text=text)


def has_sheet(marker: Marker, placement: Placement) -> bool:
    if marker.lay.stock.open_ended:
        return placement.sheet == 0
    if not 0 <= placement.sheet < len(marker.sheets):
        return False
    return 0 <= marker.sheets[placement.sheet] < len(marker.lay.stock.sheets)


def lies(marker: Marker, placement: Placement) -> bool:
    """Whether a placement is of a part of the lay, at numbers, on a sheet that is there."""
    return known(marker, placement) and sane(placement) and has_sheet(marker, placement)
