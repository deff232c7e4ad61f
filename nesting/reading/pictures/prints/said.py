"""A repeat that was measured, in sentences."""

from __future__ import annotations

from nesting.amounts import Amounts
from nesting.reading.pictures.prints.repeat import Repeat

__all__ = ["said"]


def said(found: Repeat, amounts: Amounts) -> list[str]:
    """Return what was found of a repeat, and how sure it is."""
    sure = int(100.0 * found.sure)  # rounded down: nothing is 100 % sure
    way = "the same upside down" if found.two_way else "one way up"
    x, y = found.middle
    lines = [
        _repeat(found, amounts),
        f"{sure}% sure; off by at most {amounts.tool(round(found.error, 2))};"
        f" {found.seen:.0f} are seen",
        f"direction: {way}",
    ]
    if not found.clear:
        lines.append(
            "middle of a motif: not clear, for it has no ground around it; a place was chosen"
        )
    lines.append(
        f"a motif's middle lies {amounts.fine(x)} to the right and {amounts.fine(y)} up from the"
        " lower left corner of the flat picture"
    )
    if found.origin is not None:
        along, across = map(amounts.fine, found.origin)
        lines.append(
            f"the first one lies {along} along and {across} across from the cloth's corner"
        )
    return lines


def _repeat(found: Repeat, amounts: Amounts) -> str:
    if found.up is not None and found.right is not None:
        drop = f", every other column moved along by {found.drop:.0%}" if found.drop else ""
        return f"repeat: {amounts.fine(found.up)} along, {amounts.fine(found.right)} across{drop}"
    if found.up is not None:
        return f"stripes across the cloth: repeat {amounts.fine(found.up)} along"
    return f"stripes along the cloth: repeat {amounts.fine(found.right or 0.0)} across"
