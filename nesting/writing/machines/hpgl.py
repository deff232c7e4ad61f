"""HP-GL: pens up and down along polylines, 40 units to the mm, and no more than that.

Only ``IN SP PU PD PA`` are used, as every device knows them (the published language:
1 unit is 0.025 mm; coordinates are clamped to −32768…32767 on 16-bit devices). There
are no comments in the language; a device would try to obey them.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from nesting.errors import MachineError
from nesting.pattern.path import Path
from nesting.writing.machines.machine import Machine
from nesting.writing.neutral.drawing import Stroke

__all__ = ["LIMIT", "UNITS", "hpgl"]

UNITS = 40.0
"""Plotter units per mm."""

LIMIT = 32767 / UNITS
"""Largest coordinate of a 16-bit device: 819.175 mm."""

_LONGEST = 500
"""Coordinate pairs in one command; longer ones overflow the buffers of small devices."""


def hpgl(strokes: Iterable[Stroke], machine: Machine) -> str:
    """Return strokes in the order given as HP-GL.

    Raises
    ------
    MachineError
        A coordinate is negative, or too large for the device; nothing is ever wrapped
        or clamped.

    """
    most = 2**30 - 1 if machine.long_coordinates else 32767
    lines, pen = ["IN;", "PA;", "PU;"], 0
    for stroke in strokes:
        tool = machine.tool(stroke.operation)
        if tool is None:
            raise ValueError(f"the machine has no tool for {stroke.operation!s}")
        if tool.pen != pen:
            pen = tool.pen
            lines.append(f"SP{pen};")
        first, *rest = _units(stroke.path, machine, most)
        lines.append(f"PU{first[0]},{first[1]};")
        for i in range(0, len(rest), _LONGEST):
            lines.append(f"PD{_pairs(rest[i : i + _LONGEST])};")
    lines += ["PU0,0;", "SP0;"]
    if machine.footer:
        lines.append(machine.footer)
    return "\n".join([*lines, ""])


def _pairs(points: Sequence[tuple[int, int]]) -> str:
    return ",".join(f"{x},{y}" for x, y in points)


def _units(path: Path, machine: Machine, most: int) -> list[tuple[int, int]]:
    points = list(path.points(machine.chord))
    if path.closed:
        points.append(points[0])
    units = [(round(UNITS * x), round(UNITS * y)) for x, y in points]
    for x, y in units:
        if min(x, y) < 0:
            raise MachineError("a coordinate is negative", field="bed", hint="move the marker")
        if max(x, y) > most:
            raise MachineError(
                f"{max(x, y) / UNITS:g} mm is beyond the {most / UNITS:g} mm "
                "at which the device's coordinates end",
                field="long_coordinates",
                hint="cut in shorter windows, or say long_coordinates = true if it takes them",
            )
    # A dot is a pen put down where it is; else repeated points say nothing.
    kept = [p for i, p in enumerate(units) if i == 0 or p != units[i - 1]]
    return kept if len(kept) > 1 else [kept[0], kept[0]]
