"""What a line's dashes are called, whatever kind of file draws them."""

from __future__ import annotations

from collections.abc import Sequence

__all__ = ["dash_name"]


def dash_name(lengths: Sequence[float], dot: float) -> str:
    """Return "dashed", "dotted" or "dash-dotted"; "" for a line without gaps.

    `lengths`: on, off, on, off …, in any unit. `dot`: what is on for no longer is a dot.
    """
    if not any(lengths[1::2] or lengths):
        return ""
    dots = [on <= dot for on in lengths[0::2]]
    if all(dots):
        return "dotted"
    return "dash-dotted" if any(dots) else "dashed"
