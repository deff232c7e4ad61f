"""What is said with a machine file: in the file where its format can, and on a sheet beside it."""

from __future__ import annotations

from collections.abc import Sequence

from nesting.amounts import METRIC, Amounts
from nesting.errors import Finding
from nesting.marker.lay import Part
from nesting.material.material import Material
from nesting.writing.cautions import ALWAYS, laser_cautions
from nesting.writing.files import one_line
from nesting.writing.machines.load import TURNED, Load
from nesting.writing.machines.machine import Kind, Machine
from nesting.writing.machines.work import extent
from nesting.writing.neutral.drawing import Drawing, Operation, Role, by_key
from nesting.writing.neutral.keys import keys_of

__all__ = ["machine_sheet", "said_with"]


_ONE_OF_SEVERAL = (
    "That is beyond the bed, as this is one load of several: move the material on so that its "
    "corner lies there. No part lies across the border of two loads."
)

_ARROW = (
    "  y  ^",
    "  |  |  grain (the marker's length) runs along y",
    "  |  |",
    "  +----- x: along the bed",
)
"""Which way the grain lies on the bed when the marker is turned; plain letters for any screen."""


def said_with(
    machine: Machine,
    material: Material,
    drawing: Drawing,
    load: Load,
    *,
    amounts: Amounts = METRIC,
) -> tuple[str, ...]:
    """Return what a machine file says: the drawing's notes, then the cautions."""
    x0, y0, x1, y1 = extent(load.before_blade)
    say = amounts.on_machine
    unit = "inches" if amounts.inches else "mm"
    lines = [
        f"{load.sequence.drawing.name}, told in {unit}, for {machine.name}",
        *((f"TURNED BY 90 DEGREES. {TURNED}.",) if load.turned else ()),
        *drawing.notes,
        f"Check the scale before you cut: the lines of this file reach over {say(x1 - x0)} "
        f"along x and {say(y1 - y0)} along y. No bar to measure is in it, as it would be cut.",
        *ALWAYS,
        *(laser_cautions([material]) if machine.kind is Kind.LASER else ()),
    ]
    if machine.drops_parts:
        lines.append("Parts drop as they are cut out: nothing is worked on after its outline.")
    return tuple(one_line(line) for line in lines)


def _parts(load: Load) -> list[Part]:
    drawing = load.sequence.drawing
    cut = {s.part for s in drawing.strokes if s.operation is Operation.CUT}
    return [part for i, part in enumerate(drawing.parts) if i in cut]


def machine_sheet(
    load: Load,
    machine: Machine,
    material: Material,
    *,
    said: Sequence[str],
    findings: Sequence[Finding],
    amounts: Amounts = METRIC,
) -> str:
    """Return the sheet of text that goes with a machine file."""
    plan, tool = load.sequence, amounts.tool
    head, *cautions = said
    lines = [head, f"Material: {one_line(material.name)}", ""]
    lines += ["Operations:"]
    lines += [
        f"  {tool.operation}: {tool.name}, layer {tool.layer}, pen {tool.pen}, {tool.colour}"
        for tool in machine.tools
    ]
    if load.turned:
        lines += ["", f"TURNED BY 90 DEGREES. {TURNED}:", *_ARROW]
    known = keys_of(plan.drawing.parts, plan.drawing.keys)
    keys = {known.key(part): known.meaning(part) for part in _parts(load)}
    if keys:
        lines += ["", "Keys of what is cut, as on all other papers:"]
        lines += [f"  {key}: {one_line(name)}" for key, name in sorted(keys.items(), key=by_key)]
    x, y = load.place((0.0, 0.0))
    lines += [
        "",
        f"The marker's corner (0, 0) lies at x {amounts.fine(x)}, y {amounts.fine(y)} on the bed.",
        *([_ONE_OF_SEVERAL] if min(x, y) < -1.0 else []),
        f"Kerf allowed for: {amounts.tool(machine.kerf)}."
        if machine.kerf
        else "No kerf is allowed for.",
    ]
    if machine.over_cut:
        lines.append(f"Over-cut: {tool(machine.over_cut)}.")
    if machine.compensates:
        lines.append(
            f"The blade's offset of {tool(machine.blade_offset)} is in the file: the machine's own"
            " compensation has to be off."
        )
    lines += [
        f"Cut and drawn: {amounts.path(plan.run)}. Travel: {amounts.path(plan.travel_after)} "
        f"({amounts.path(plan.travel_before)} in the marker's own order). Lifts: {plan.lifts}.",
    ]
    if plan.seconds is not None:
        lines.append(
            f"At your speeds of {tool(machine.cutting_speed or 0.0)} and"
            f" {tool(machine.travel_speed or 0.0)} a second at least"
            f" {plan.seconds / 60.0:.1f} min; starts, stops and tool changes are not counted."
        )
    if any(stroke.role is Role.REGISTER for stroke in plan.drawing.strokes):
        lines.append(
            "This is one window of a long lay. Crosses are register marks: once the cloth has "
            "advanced, those of the next window have to fall on those of this one."
        )
    lines += [f"Note: {one_line(finding.text)}." for finding in findings]
    return "\n".join([*lines, "", *cautions, ""])
