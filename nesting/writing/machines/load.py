"""A drawing made ready for one machine: the loads of its bed.

What is done, in this order: what of the drawing the machine does; kerf; common lines, if
asked for; turned to fit the bed, or cut in windows; ordered; the blade's offset and
over-cut; moved to the bed's corner.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from nesting.errors import Finding, MachineError, Severity
from nesting.pattern.path import Affine, Point
from nesting.planning.lay.bed import turn_on_bed
from nesting.planning.records import BedLoad
from nesting.writing.machines.bed_loads import drawn_loads
from nesting.writing.machines.common_line import common_lines
from nesting.writing.machines.formats import Format
from nesting.writing.machines.hpgl import LIMIT
from nesting.writing.machines.kerf import allow_for_kerf
from nesting.writing.machines.knife import for_blade, starts_uncut
from nesting.writing.machines.machine import Machine
from nesting.writing.machines.sequence import CuttingSequence, in_sequence
from nesting.writing.machines.windows import Window, windows
from nesting.writing.machines.work import extent, moved, work
from nesting.writing.neutral.drawing import Drawing, Operation
from nesting.writing.neutral.letters import lettered

__all__ = ["LETTERED", "TURNED", "Load", "prepare"]

LETTERED = (Format.HPGL, Format.SVG)
"""Formats in which text is drawn as the outlines of its letters."""

TURNED = (
    "Load the material with its grain, or length, across the bed: along y, not x, with the "
    "start of the marker at y = 0"
)
"""How the material is loaded for a marker that was turned (`Load.turned`)."""


_HINT = "give the job this machine's bed, less kerf and blade ([table] bed = [length, width]),"


@dataclass(frozen=True, slots=True, kw_only=True)
class Load:
    """What is run without moving the material: the strokes in order, in the bed's coordinates.

    `before_blade`: the same before over-cut and the blade's offset, which is what the
    tip has to cut. `place`: the map from the drawing's coordinates to the bed's.
    """

    sequence: CuttingSequence
    before_blade: Drawing
    place: Affine

    @property
    def turned(self) -> bool:
        """Whether what runs along the material runs across the bed."""
        return abs(self.place.vector((1.0, 0.0))[1]) > 0.5


def prepare(
    drawing: Drawing,
    machine: Machine,
    *,
    form: Format,
    common_line: bool = False,
    sheet: bool = False,
    planned: Sequence[BedLoad] = (),
    rounds: int = 4,
) -> tuple[tuple[Load, ...], tuple[Finding, ...]]:
    """Make a drawing ready for a machine; nothing is written.

    `sheet`: the material is a sheet or hide, which can be turned on a bed that advances too.
    `planned`: the loads of the bed that it was laid for, if it was.

    Raises
    ------
    MachineError
        The parts lie too near for the kerf, something is narrower than it, or the
        lay doesn't fit the bed.

    """
    done = work(drawing, machine)
    if form in LETTERED:
        letters = lettered(done.drawing.labels)
        lines = replace(done.drawing, strokes=(*done.drawing.strokes, *letters), labels=())
        done = replace(done, drawing=lines)
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
    on_bed = _on_bed(ready, machine, form, sheet=sheet, planned=planned)
    # Room for over-cut and offset is made before ordering, so that travel is true; all windows
    # are moved alike, so that the register marks of one fall on those of the next.
    dx = max(0.0, *(-x0 for _, _, (x0, _) in on_bed))
    dy = max(0.0, *(-y0 for _, _, (_, y0) in on_bed))
    shift = Affine.move(dx, dy)
    for window, turned, _ in on_bed:
        placed = moved(window.drawing, shift) if max(dx, dy) > 0.0 else window.drawing
        plan = in_sequence(placed, machine, form=form, rounds=rounds)
        place = shift.after(Affine.move(-window.shift, 0.0)).after(turned)
        cut = for_blade(plan.drawing, machine)
        loads.append(
            Load(sequence=replace(plan, drawing=cut), before_blade=plan.drawing, place=place)
        )
    findings = (*done.findings, *starts_uncut(ready, machine))
    if any(load.turned for load in loads):
        findings = (_turned(drawing), *findings)
    return tuple(loads), findings


def _placed(
    drawing: Drawing, machine: Machine, bed: Point, *, may_turn: bool
) -> tuple[Window, Affine, Point] | None:
    """Return a drawing as it lies on the bed, if it does, and its lowest corner.

    Parts stay where they lie on the material as long as that is on the bed.
    """
    x0, y0, x1, y1 = extent(for_blade(drawing, machine))
    high, deep = max(y1, y1 - y0), max(x1, x1 - x0)
    if turn_on_bed((deep, high), bed, may_turn=False) is not None:
        return (Window(drawing=drawing, shift=0.0, registers=()), Affine(), (x0, y0))
    if not may_turn or turn_on_bed((y1 - y0, x1 - x0), bed, may_turn=False) is None:
        return None
    turn = Affine.move(high, 0.0).after(Affine.turn(90.0))
    turned = replace(moved(drawing, turn), length=drawing.width, width=drawing.length)
    return (Window(drawing=turned, shift=0.0, registers=()), turn, (high - y1, x0))


def _too_large(part: Drawing, machine: Machine, bed: Point) -> MachineError:
    """Say by how much a load that was planned for a bed is larger than this one."""
    x0, y0, x1, y1 = extent(for_blade(part, machine))
    return MachineError(
        f"{part.name} takes ({x1 - x0:.1f}, {y1 - y0:.1f}) mm with kerf and blade, the machine"
        f" ({bed[0]:g}, {bed[1]:g}) mm",
        file=machine.file,
        field="bed",
        hint=f"{_HINT} and lay it again",
    )


def _turned(drawing: Drawing) -> Finding:
    return Finding(
        kind="turned",
        text=f"{drawing.name}: TURNED by 90° to fit the bed. {TURNED}",
        severity=Severity.NOTE,
        amount=90.0,
    )


def _on_bed(
    drawing: Drawing,
    machine: Machine,
    form: Format,
    *,
    sheet: bool,
    planned: Sequence[BedLoad],
) -> list[tuple[Window, Affine, Point]]:
    """Return the loads of the bed, how the drawing was turned, and each one's lowest corner."""
    short = form is Format.HPGL and not machine.long_coordinates
    most = LIMIT if short else float("inf")
    length, width = min(machine.bed_length, most), min(machine.bed_width, most)
    x0, y0, x1, y1 = extent(for_blade(drawing, machine))
    high, deep = max(y1, y1 - y0), max(x1, x1 - x0)
    may_turn = sheet or not machine.advances
    if (whole := _placed(drawing, machine, (length, width), may_turn=may_turn)) is not None:
        return [whole]
    across = turn_on_bed((0.0, high), (length, width), may_turn=False) is not None
    if planned and not (machine.advances and across):
        found_loads = []
        for one, part in drawn_loads(drawing, planned):
            back = Affine.move(-one.x, -one.y)
            placed = _placed(moved(part, back), machine, (length, width), may_turn=may_turn)
            if placed is None:
                raise _too_large(part, machine, (length, width))
            window, turn, corner = placed
            found_loads.append((window, turn.after(back), corner))
        return found_loads
    bed = "the bed ends there"
    coordinates = f"its 16-bit coordinates end at {LIMIT:g} mm"
    if not across:
        raise MachineError(
            f"the marker is {high:.1f} mm wide, the machine takes {width:g} mm "
            f"({coordinates if width < machine.bed_width else bed})",
            file=machine.file,
            field="long_coordinates" if width < machine.bed_width else "bed.width",
            hint=f"{_HINT} and lay it again",
        )
    if not machine.advances:
        raise MachineError(
            f"the marker is {deep:.1f} mm long, the machine takes {length:g} mm "
            f"({coordinates if length < machine.bed_length else bed}), "
            "and the cloth does not advance",
            file=machine.file,
            field="long_coordinates" if length < machine.bed_length else "bed.length",
            hint=f"{_HINT} and lay it again, or set bed.advances if the cloth can be moved on",
        )
    register = Operation.MARK if machine.tool(Operation.MARK) else Operation.CUT
    # The axis runs ahead of the blade at both ends; over-cut stays on the outline, and kerf
    # is in the drawing.
    room = 2.0 * machine.blade_offset
    try:
        found = windows(drawing, length=length - room, register=register)
    except MachineError as error:
        raise error.located(file=machine.file) from error
    return [(w, Affine(), extent(for_blade(w.drawing, machine))[:2]) for w in found]
