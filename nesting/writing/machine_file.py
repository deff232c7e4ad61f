"""A drawing made ready for one machine, and written as the machine reads it.

What is done, in this order: may this material be cut so at all; what of the drawing
the machine does; kerf; common lines, if asked for; turned to fit the bed, or cut in
windows; ordered; the blade's offset and over-cut; moved to the bed's corner; written.
Beside every machine file lies a sheet of text with the cautions, since not every
format can hold them.
"""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import ExitStack
from dataclasses import dataclass, replace
from html import escape
from pathlib import Path as FilePath

from nesting.errors import Finding, MachineError
from nesting.material.material import Material
from nesting.pattern.path import Affine, Point
from nesting.writing.cautions import ALWAYS, laser_cautions
from nesting.writing.common_line import common_lines
from nesting.writing.drawing import Drawing, Operation
from nesting.writing.files import one_line, whole_file
from nesting.writing.hpgl import LIMIT, hpgl
from nesting.writing.kerf import allow_for_kerf
from nesting.writing.knife import for_blade
from nesting.writing.machine import RUN, Format, Kind, Machine
from nesting.writing.machine_dxf import machine_dxf
from nesting.writing.order import Ordered, ordered
from nesting.writing.permit import permit
from nesting.writing.svg import number, svg_path, svg_text
from nesting.writing.windows import Window, windows
from nesting.writing.work import extent, moved, work

__all__ = ["Load", "MachineFiles", "prepare", "write_machine_file"]

_HAIRLINE = 0.01
"""Width (mm) of lines to cut in SVG: what shops ask for is 0.001 to 0.01 mm."""
_ON_BED = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class Load:
    """What is run without moving the material: the strokes in order, in the bed's coordinates.

    `before_blade`: the same before over-cut and the blade's offset, which is what the
    tip has to cut. `place`: the map from the drawing's coordinates to the bed's.
    """

    ordered: Ordered
    before_blade: Drawing
    place: Affine


@dataclass(frozen=True, slots=True, kw_only=True)
class MachineFiles:
    """What was written: the files (machine files, then their sheets), the loads, what to know."""

    files: tuple[FilePath, ...]
    loads: tuple[Load, ...]
    findings: tuple[Finding, ...]


def write_machine_file(
    drawing: Drawing | Sequence[Drawing],
    machine: Machine,
    path: FilePath | str,
    *,
    material: Material,
    sds_read: bool = False,
    form: Format | None = None,
    common_line: bool = False,
    overwrite: bool = False,
    rounds: int = 4,
    seconds: float = 8.0,
) -> MachineFiles:
    """Write a drawing for a machine: a file for each load of its bed.

    Parameters
    ----------
    drawing
        What to cut: one drawing, or those of several sheets of one material. Each is a
        load of the bed, or several if it is a long lay that is cut in windows.
    machine
        What to cut it with.
    path
        The file; several loads get ``-1``, ``-2``… before its suffix, the sheets with
        the cautions the suffix ``.txt``.
    material
        What is cut, for the cautions and refusals.
    sds_read
        The user's word that the material's safety data sheet was read.
    form
        The format, if not the first that the machine reads.
    common_line
        Cut straight edges that two parts share only once.
    overwrite
        Replace files that are there.
    rounds, seconds
        How long the order of cutting is improved (each load).

    Raises
    ------
    MachineError
        The machine must not or can't cut this; nothing was written.
    WriteError
        A file can't be written, or is there already; nothing was written.

    """
    form = form or next(iter(machine.reads), None)
    if form is None or form not in machine.reads:
        what = "reads no file" if form is None else f"does not read {form!s}"
        raise MachineError(
            f"{machine.name} {what}", file=machine.file, field="reads", hint="print templates"
        )
    permit(machine, material, sds_read=sds_read)
    drawings = (drawing,) if isinstance(drawing, Drawing) else tuple(drawing)
    loads: list[tuple[Load, Drawing]] = []
    findings: list[Finding] = []
    for one in drawings:
        ready, found = prepare(
            one, machine, form=form, common_line=common_line, rounds=rounds, seconds=seconds
        )
        loads += [(load, one) for load in ready]
        findings += [finding for finding in found if finding not in findings]
    path = FilePath(path)
    names = [path]
    if len(loads) > 1:
        names = [path.with_name(f"{path.stem}-{i + 1}{path.suffix}") for i in range(len(loads))]
    texts = [_text(load, machine, form, _said(machine, material, one, load)) for load, one in loads]
    texts += [_sheet(load, machine, material, one, findings) for load, one in loads]
    names += [name.with_suffix(".txt") for name in names]
    with ExitStack() as all_or_none:
        for name, text in zip(names, texts, strict=True):
            temporary = all_or_none.enter_context(whole_file(name, overwrite=overwrite))
            temporary.write_text(text, encoding="utf-8", newline="")
    return MachineFiles(
        files=tuple(names), loads=tuple(load for load, _ in loads), findings=tuple(findings)
    )


def prepare(
    drawing: Drawing,
    machine: Machine,
    *,
    form: Format,
    common_line: bool = False,
    rounds: int = 4,
    seconds: float = 8.0,
) -> tuple[tuple[Load, ...], tuple[Finding, ...]]:
    """Make a drawing ready for a machine; nothing is written.

    Raises
    ------
    MachineError
        The parts lie too near for the kerf, something is narrower than it, or the
        lay doesn't fit the bed.

    """
    done = work(drawing, machine)
    if not done.drawing.strokes:
        raise MachineError("there is nothing to cut", file=machine.file, field="tools")
    widened = allow_for_kerf(done.drawing, kerf=machine.kerf)
    if widened.findings:
        first, more = widened.findings[0], len(widened.findings) - 1
        raise MachineError(
            first.text + (f" (and {more} more such)" if more else ""),
            file=machine.file,
            field="kerf",
            hint="lay with a spacing of at least the kerf, common practice is twice that",
        )
    ready = common_lines(widened.drawing) if common_line else widened.drawing
    loads = []
    for window, turned, (x0, y0) in _on_bed(ready, machine, form):
        # Room for over-cut and offset is made before ordering, so that travel is true.
        shift = Affine.move(max(0.0, -x0), max(0.0, -y0))
        placed = moved(window.drawing, shift) if min(x0, y0) < 0.0 else window.drawing
        plan = ordered(placed, machine, form=form, rounds=rounds, seconds=seconds)
        place = shift.after(Affine.move(-window.shift, 0.0)).after(turned)
        cut = for_blade(plan.drawing, machine)
        loads.append(
            Load(ordered=replace(plan, drawing=cut), before_blade=plan.drawing, place=place)
        )
    return tuple(loads), done.findings


def _on_bed(drawing: Drawing, machine: Machine, form: Format) -> list[tuple[Window, Affine, Point]]:
    """Return the loads of the bed, how the drawing was turned, and each one's lowest corner."""
    short = form is Format.HPGL and not machine.long_coordinates
    most = LIMIT if short else float("inf")
    length, width = min(machine.bed_length, most), min(machine.bed_width, most)
    x0, y0, x1, y1 = extent(for_blade(drawing, machine))
    # Parts stay where they lie on the material as long as that is on the bed.
    high, deep = max(y1, y1 - y0), max(x1, x1 - x0)
    still = Affine()
    if deep <= length + _ON_BED and high <= width + _ON_BED:
        return [(Window(drawing=drawing, shift=0.0, registers=()), still, (x0, y0))]
    if not machine.advances and y1 - y0 <= length + _ON_BED and x1 - x0 <= width + _ON_BED:
        turn = Affine.move(high, 0.0).after(Affine.turn(90.0))
        turned = replace(moved(drawing, turn), length=drawing.width, width=drawing.length)
        return [(Window(drawing=turned, shift=0.0, registers=()), turn, (high - y1, x0))]
    bed = "the bed ends there"
    coordinates = f"its 16-bit coordinates end at {LIMIT:g} mm"
    if high > width + _ON_BED:
        raise MachineError(
            f"the marker is {high:.1f} mm wide, the machine takes {width:g} mm "
            f"({coordinates if width < machine.bed_width else bed})",
            file=machine.file,
            field="long_coordinates" if width < machine.bed_width else "bed.width",
            hint="lay it narrower, or on another machine",
        )
    if not machine.advances:
        raise MachineError(
            f"the marker is {deep:.1f} mm long, the machine takes {length:g} mm "
            f"({coordinates if length < machine.bed_length else bed}), "
            "and the cloth does not advance",
            file=machine.file,
            field="long_coordinates" if length < machine.bed_length else "bed.length",
            hint="lay it in shorter markers, or set bed.advances if the cloth can be moved on",
        )
    register = Operation.MARK if machine.tool(Operation.MARK) else Operation.CUT
    # The blade runs ahead of, and past, what it cuts.
    room = machine.over_cut + 2.0 * machine.blade_offset + machine.kerf
    try:
        found = windows(drawing, length=length - room, register=register)
    except MachineError as error:
        raise error.located(file=machine.file) from error
    return [(w, still, extent(for_blade(w.drawing, machine))[:2]) for w in found]


def _said(machine: Machine, material: Material, drawing: Drawing, load: Load) -> list[str]:
    """Return what a machine file says: the drawing's notes, then the cautions."""
    lines = [
        f"{load.ordered.drawing.name}, in mm, for {machine.name}",
        *drawing.notes,
        *ALWAYS,
        *(laser_cautions([material]) if machine.kind is Kind.LASER else ()),
    ]
    if machine.drops_parts:
        lines.append("Parts drop as they are cut out: nothing is worked on after its outline.")
    return [one_line(line) for line in lines]


def _text(load: Load, machine: Machine, form: Format, said: Sequence[str]) -> str:
    drawing = load.ordered.drawing
    if form is Format.HPGL:
        return hpgl(drawing.strokes, machine)
    if form is Format.SVG:
        return _svg(drawing, machine, said)
    return machine_dxf(drawing, machine, form=form, said=said)


def _svg(drawing: Drawing, machine: Machine, said: Sequence[str]) -> str:
    """Return SVG text, 1 unit 1 mm: a group for each operation, in the order of cutting."""
    _, _, x1, y1 = extent(drawing)
    width, height = max(machine.bed_length, x1), max(machine.bed_width, y1)
    if machine.advances:
        width = max(drawing.length, x1)
    into = Affine(1.0, 0.0, 0.0, -1.0, 0.0, height)
    lines = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{number(width)}mm" '
        f'height="{number(height)}mm" viewBox="0 0 {number(width)} {number(height)}">',
        f"<title>{escape(one_line(drawing.name))}</title>",
        f"<desc>{escape(' '.join(said))}</desc>",
    ]
    for operation in RUN:
        tool = machine.tool(operation)
        strokes = [s for s in drawing.strokes if s.operation is operation]
        labels = [label for label in drawing.labels if label.operation is operation]
        if tool is None or not (strokes or labels):
            continue
        lines.append(
            f'<g id="{operation}" data-layer="{tool.layer}" fill="none" stroke="{tool.colour}" '
            f'stroke-width="{_HAIRLINE}" stroke-linecap="round">'
        )
        for k, stroke in enumerate(strokes, 1):
            about = f'id="{operation}-{k}"'
            if stroke.part is not None and stroke.part < len(drawing.parts):
                about += f' data-part="{escape(one_line(drawing.parts[stroke.part].name))}"'
            lines.append(svg_path(stroke.path, into, about))
        lines += [svg_text(label, into, f'fill="{tool.colour}"') for label in labels]
        lines.append("</g>")
    return "\n".join([*lines, "</svg>", ""])


def _sheet(
    load: Load,
    machine: Machine,
    material: Material,
    drawing: Drawing,
    findings: Sequence[Finding],
) -> str:
    """Return the sheet of text that goes with a machine file."""
    plan = load.ordered
    head, *cautions = _said(machine, material, drawing, load)
    lines = [head, f"Material: {one_line(material.name)}", ""]
    lines += ["Operations:"]
    lines += [
        f"  {tool.operation}: {tool.name}, layer {tool.layer}, pen {tool.pen}, {tool.colour}"
        for tool in machine.tools
    ]
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
