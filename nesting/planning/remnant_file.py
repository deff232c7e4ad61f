"""What a plan leaves over, as a file that the next job includes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from shapely.geometry.base import BaseGeometry

from nesting.marker.lay import Sheets
from nesting.material.material import Grade, Hides
from nesting.pattern.path import Affine
from nesting.pattern.polygon import polygon
from nesting.pattern.svg_path import format_path
from nesting.planning.ground import hide_of
from nesting.planning.plan import Entry, Plan
from nesting.planning.remnants import Leftover, leftovers
from nesting.planning.stock import quoted
from nesting.units import format_cm

__all__ = ["Left", "named_leftovers", "remnants_text"]

Left = tuple[Entry, tuple[Leftover, ...]]
"""A marker, and what it leaves."""


def named_leftovers(plan: Plan) -> list[Left]:
    """Return what every marker leaves, by names that no other remnant of the job has."""
    taken = {
        remnant.name
        for material in plan.job.materials
        for remnant in getattr(material, "remnants", ())
    }
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
    for entry, leftover in named_leftovers(plan) if left_over is None else left_over:
        for left in leftover:
            _, _, length, width = left.rectangle
            data = " ".join(format_path(path) for path in (left.outline, *left.holes))
            lines += [
                "",
                "[[remnant]]",
                f"name = {quoted(left.name)}",
                f"material = {quoted(entry.material.name)}",
                f"outline = {quoted(data)}",
                f"notes = {quoted(f'holds {format_cm(length)} by {format_cm(width)}')}",
            ]
            grade = _grade(entry, left)
            if grade is not None:
                lines.append(f"grade = {quoted(grade)}")
            if not left.grain_known:
                lines.append('grain = "unknown"')
            if getattr(entry.material, "wrong_side_up", False):
                lines.append('face = "wrong"')
    if len(lines) == 2:
        lines += ["", "# Nothing that is worth keeping."]
    return "\n".join([*lines, ""])


def _grade(entry: Entry, left: Leftover) -> Grade | None:
    """Return the poorest grade of what is left of a hide, if that is graded."""
    stock = entry.marker.lay.stock
    if not isinstance(entry.material, Hides) or not isinstance(stock, Sheets):
        return None
    hide = hide_of(stock.sheets[entry.marker.sheets[left.sheet]], entry.material)
    if not hide.zones:
        return None
    rest: BaseGeometry = polygon(left.outline.transformed(Affine.turn(hide.backbone)))
    grades = []
    for zone in hide.zones:
        area = polygon(zone.outline)
        if rest.intersection(area).area > _SOME * rest.area:
            grades.append(zone.grade)
        rest = rest.difference(area)
    return Grade.D if rest.area > _SOME * left.area else max(grades)


_SOME = 1e-3
"""A share of the left-over too small to count."""


def _comment(text: str) -> str:
    return "".join(c if c.isprintable() else " " for c in text)
