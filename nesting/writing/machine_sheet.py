"""What is said with a machine file: in the file where its format can, and on a sheet beside it."""

from __future__ import annotations

from collections.abc import Sequence

from nesting.errors import Finding
from nesting.material.material import Material
from nesting.writing.cautions import ALWAYS, laser_cautions
from nesting.writing.drawing import Drawing
from nesting.writing.files import one_line
from nesting.writing.load import TURNED, Load
from nesting.writing.machine import Kind, Machine
from nesting.writing.work import extent

__all__ = ["machine_sheet", "said_with"]


_ARROW = (
    "  y  ^",
    "  |  |  grain (the marker's length) runs along y",
    "  |  |",
    "  +----- x: along the bed",
)
"""Which way the grain lies on the bed when the marker is turned; plain letters for any screen."""


def said_with(
    machine: Machine, material: Material, drawing: Drawing, load: Load
) -> tuple[str, ...]:
    """Return what a machine file says: the drawing's notes, then the cautions."""
    x0, y0, x1, y1 = extent(load.before_blade)
    lines = [
        f"{load.ordered.drawing.name}, in mm, for {machine.name}",
        *((f"TURNED BY 90 DEGREES. {TURNED}.",) if load.turned else ()),
        *drawing.notes,
        f"Check the scale before you cut: the lines of this file reach over {x1 - x0:.1f} mm "
        f"along x and {y1 - y0:.1f} mm along y. No bar to measure is in it, as it would be cut.",
        *ALWAYS,
        *(laser_cautions([material]) if machine.kind is Kind.LASER else ()),
    ]
    if machine.drops_parts:
        lines.append("Parts drop as they are cut out: nothing is worked on after its outline.")
    return tuple(one_line(line) for line in lines)


def machine_sheet(
    load: Load,
    machine: Machine,
    material: Material,
    *,
    said: Sequence[str],
    findings: Sequence[Finding],
) -> str:
    """Return the sheet of text that goes with a machine file."""
    plan = load.ordered
    head, *cautions = said
    lines = [head, f"Material: {one_line(material.name)}", ""]
    lines += ["Operations:"]
    lines += [
        f"  {tool.operation}: {tool.name}, layer {tool.layer}, pen {tool.pen}, {tool.colour}"
        for tool in machine.tools
    ]
    if load.turned:
        lines += ["", f"TURNED BY 90 DEGREES. {TURNED}:", *_ARROW]
    x, y = load.place((0.0, 0.0))
    lines += [
        "",
        f"The marker's corner (0, 0) lies at {x:.3f}, {y:.3f} mm on the bed.",
        f"Kerf allowed for: {machine.kerf:g} mm." if machine.kerf else "No kerf is allowed for.",
    ]
    if machine.over_cut:
        lines.append(f"Over-cut: {machine.over_cut:g} mm.")
    if machine.compensates:
        lines.append(
            f"The blade's offset of {machine.blade_offset:g} mm is in the file: the machine's own "
            "compensation has to be off."
        )
    lines += [
        f"Cut and drawn: {plan.run / 1e3:.2f} m. Travel: {plan.travel_after / 1e3:.2f} m "
        f"({plan.travel_before / 1e3:.2f} m in the marker's own order). Lifts: {plan.lifts}.",
    ]
    if plan.seconds is not None:
        lines.append(
            f"At your speeds of {machine.cutting_speed:g} and {machine.travel_speed:g} mm/s at "
            f"least {plan.seconds / 60.0:.1f} min; starts, stops and tool changes are not counted."
        )
    if any(stroke.name == "register" for stroke in plan.drawing.strokes):
        lines.append(
            "This is one window of a long lay. Crosses are register marks: once the cloth has "
            "advanced, those of the next window have to fall on those of this one."
        )
    lines += [f"Note: {one_line(finding.text)}." for finding in findings]
    return "\n".join([*lines, "", *cautions, ""])
