"""What a plan leaves over, as a file that the next job includes."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace

import shapely
import tomlkit
from tomlkit.items import Table

from nesting.amounts import Amounts
from nesting.pattern.path import Affine
from nesting.pattern.polygon import polygon, ring_path
from nesting.pattern.svg_path import format_path
from nesting.planning.buying.remnants import MOST_KEPT, Leftover, leftovers, most_kept
from nesting.planning.lay.ground import hide_of
from nesting.planning.plan import Entry, Plan

__all__ = ["Left", "named_leftovers", "remnant_table", "remnants_text"]

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
    document = tomlkit.document()
    document.add(tomlkit.comment(_INTRO.format(name=_comment(plan.job.name))))
    document.add(tomlkit.comment('file, include = "remnants.toml", uses them first.'))
    document.add(tomlkit.nl())
    tables = tomlkit.aot()
    for entry, leftover in named_leftovers(plan) if left_over is None else left_over:
        if most_kept(leftover):
            said = f"Of {entry.material.name} only the {MOST_KEPT} largest are kept."
            document.add(tomlkit.comment(_comment(said)))
        for left in leftover:
            tables.append(remnant_table(entry, left, plan.job.amounts))
    if tables:
        document.append("remnant", tables)
    else:
        document.add(tomlkit.comment("Nothing that is worth keeping."))
    return tomlkit.dumps(document)


_INTRO = "Left over when {name} is cut as laid. A job that includes this"


def remnant_table(entry: Entry, left: Leftover, amounts: Amounts) -> Table:
    """Return a left-over as a table of TOML, its holes in its outline (mm)."""
    _, _, length, width = left.rectangle
    zones = _zones(entry, left)
    told = {
        "name": left.name,
        "material": entry.material.name,
        "outline": " ".join(format_path(path) for path in (left.outline, *left.holes)),
        "notes": f"holds {amounts.rooms(length, width)}",
    }
    if not left.grain_known:
        told["grain"] = "unknown"
    if entry.material.wrong_side_up and zones is None:
        told["face"] = "wrong"
    if zones == []:
        told["grade"] = "D"  # without any it would count as good all over
    table = _table(told)
    if zones:
        table.append("zone", tomlkit.aot())
        table["zone"].extend(map(_table, zones))
    return table


def _table(told: Mapping[str, str | float]) -> Table:
    table = tomlkit.table()
    for key, value in told.items():
        table.add(key, value)
    return table


def _zones(entry: Entry, left: Leftover) -> list[dict[str, str | float]] | None:
    """Return the zones that a left-over has part of, as it lies; None if its hide has none."""
    if not entry.material.is_leather:
        return None
    hide = hide_of(entry.marker.used[left.sheet], entry.material)
    if not hide.zones:
        return None
    upright = Affine.turn(-hide.backbone)
    rest = polygon(left.outline)
    zones: list[dict[str, str | float]] = []
    for zone in hide.zones:
        area = shapely.intersection(polygon(zone.outline.transformed(upright)), rest)
        for bit in getattr(area, "geoms", [area]):
            if not isinstance(bit, shapely.Polygon) or bit.area <= _SOME * rest.area:
                continue
            told: dict[str, str | float] = {
                "name": zone.name,
                "grade": zone.grade.value,
                "outline": format_path(ring_path(bit.exterior)),
            }
            if zone.tight is not None:
                told["tight"] = round((zone.tight - hide.backbone) % 180.0, 6)
                told["slack"] = zone.slack
            zones.append(told)
    return zones


_SOME = 1e-3
"""A share of the left-over too small to count."""


def _comment(text: str) -> str:
    return "".join(c if c.isprintable() else " " for c in text)
