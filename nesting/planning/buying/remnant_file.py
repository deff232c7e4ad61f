"""What a plan leaves over, as a file that the next job includes."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import replace

import shapely
import tomlkit

from nesting.amounts import Amounts
from nesting.pattern.path import Affine
from nesting.pattern.polygon import polygon, ring_path
from nesting.pattern.svg_path import format_path
from nesting.planning.buying.remnants import Leftover, leftovers
from nesting.planning.lay.ground import hide_of
from nesting.planning.plan import Entry, Plan

__all__ = ["Left", "named_leftovers", "remnant_lines", "remnants_text"]

Left = tuple[Entry, tuple[Leftover, ...]]
"""A marker, and what it leaves."""


def named_leftovers(plan: Plan, *, known: Collection[str] = ()) -> list[Left]:
    """Return what every marker leaves, by names that no remnant of the job has; nor `known`."""
    taken = set(known)
    for material in plan.job.materials:
        taken |= {one.name for one in material.drawn}
    found = []
    for entry in plan.entries:
        mine = []
        for left in leftovers(entry):
            name, number = left.name, 1
            while name in taken:
                number += 1
                name = f"{left.name} ({number})"
            taken.add(name)
            mine.append(replace(left, name=name))
        found.append((entry, tuple(mine)))
    return found


def remnants_text(plan: Plan, *, left_over: Sequence[Left] | None = None) -> str:
    """Return the file: a [[remnant]] for each left-over, its holes in its outline (mm).

    `left_over`: what `named_leftovers` gave, where that is known.
    """
    lines = [
        f"# Left over when {_comment(plan.job.name)} is cut as laid. A job that includes this",
        '# file, include = "remnants.toml", uses them first.',
    ]
    amounts = plan.job.amounts
    for entry, leftover in named_leftovers(plan) if left_over is None else left_over:
        for left in leftover:
            lines += ["", *remnant_lines(entry, left, amounts)]
    if len(lines) == 2:
        lines += ["", "# Nothing that is worth keeping."]
    return "\n".join([*lines, ""])


def remnant_lines(entry: Entry, left: Leftover, amounts: Amounts) -> list[str]:
    """Return a left-over's [[remnant]], its holes in its outline (mm)."""
    _, _, length, width = left.rectangle
    data = " ".join(format_path(path) for path in (left.outline, *left.holes))
    lines = [
        "[[remnant]]",
        f"name = {quoted(left.name)}",
        f"material = {quoted(entry.material.name)}",
        f"outline = {quoted(data)}",
        f"notes = {quoted(f'holds {amounts.rooms(length, width)}')}",
    ]
    zones = _zone_lines(entry, left)
    if not left.grain_known:
        lines.append('grain = "unknown"')
    if entry.material.wrong_side_up and not zones:
        lines.append('face = "wrong"')
    return lines + zones


def quoted(text: str) -> str:
    """Return a TOML basic string."""
    return tomlkit.string(text).as_string()


def _zone_lines(entry: Entry, left: Leftover) -> list[str]:
    """Return the zones of the hide that a left-over has part of, as it lies."""
    if not entry.material.is_leather:
        return []
    hide = hide_of(entry.marker.used[left.sheet], entry.material)
    upright = Affine.turn(-hide.backbone)
    rest = polygon(left.outline)
    lines: list[str] = []
    for zone in hide.zones:
        area = shapely.intersection(polygon(zone.outline.transformed(upright)), rest)
        for bit in getattr(area, "geoms", [area]):
            if not isinstance(bit, shapely.Polygon) or bit.area <= _SOME * rest.area:
                continue
            lines += [
                "[[remnant.zone]]",
                f"name = {quoted(zone.name)}",
                f"grade = {quoted(zone.grade)}",
                f"outline = {quoted(format_path(ring_path(bit.exterior)))}",
            ]
            if zone.tight is not None:
                tight = round((zone.tight - hide.backbone) % 180.0, 6)
                lines += [f"tight = {tight:g}", f"slack = {zone.slack:g}"]
    # Without any it would count as good all over.
    return lines or (['grade = "D"'] if hide.zones else [])


_SOME = 1e-3
"""A share of the left-over too small to count."""


def _comment(text: str) -> str:
    return "".join(c if c.isprintable() else " " for c in text)
