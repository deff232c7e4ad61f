"""Sheets that are cut alike, so that each arrangement is shown once."""

from __future__ import annotations

from nesting.marker.marker import Marker

__all__ = ["Alike", "alike", "alike_words"]

Alike = tuple[tuple[int, ...], ...]
"""Groups of a marker's sheets (their indices), each cut in the same way."""


def alike(marker: Marker) -> Alike:
    """Return the sheets of a marker in groups, in the order of their first ones.

    Alike are sheets of a kind with the same pieces in the same places, for whichever bags.
    """
    if marker.lay.stock.open_ended:
        return ((0,),)
    laid: list[list[object]] = [[] for _ in marker.sheets]
    number: dict[int, int] = {}
    for p in marker.placements:
        part = marker.lay.parts[p.part]
        piece = number.setdefault(id(part.piece), len(number))
        laid[p.sheet].append((piece, part.variant, part.hand.value, p.x, p.y, p.angle, p.flipped))
    groups: dict[object, list[int]] = {}
    for sheet, (kind, what) in enumerate(zip(marker.sheets, laid, strict=True)):
        groups.setdefault((kind, tuple(sorted(what, key=repr))), []).append(sheet)
    return tuple(tuple(group) for group in groups.values())


def alike_words(group: tuple[int, ...]) -> str:
    """Say which other sheets are cut like the first of a group; nothing if there are none."""
    if len(group) == 1:
        return ""
    runs: list[list[int]] = []
    for sheet in group:
        if runs and sheet == runs[-1][-1] + 1:
            runs[-1].append(sheet)
        else:
            runs.append([sheet])
    said = [f"{r[0] + 1}" if len(r) == 1 else f"{r[0] + 1} to {r[-1] + 1}" for r in runs]
    return f"{len(group)} alike: {', '.join(said)}"
