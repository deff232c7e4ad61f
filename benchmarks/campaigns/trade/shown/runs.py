"""What a file makes a machine do, in its order, read by readers that are not the program's.

SVG by the standard library, DXF by ezdxf, HP-GL by a dozen lines. mm, y upwards.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import ezdxf
from ezdxf.entities.point import Point as Dot
from shapely import Polygon

from ..asked.shapes import Pt, path_data
from .files import dxf_points

__all__ = ["Run", "runs"]

_SVG = "{http://www.w3.org/2000/svg}"
_UNIT = 0.025
"""Of HP-GL, mm."""


@dataclass(frozen=True)
class Run:
    """What is done without lifting the tool: the operation, the points, whether it comes back."""

    operation: str
    points: tuple[Pt, ...]
    closed: bool

    @cached_property
    def area(self) -> Polygon:
        """What it goes round."""
        return Polygon(self.points)


def runs(path: Path, tools: dict[str, Any]) -> list[Run]:
    """Return what a file does; `tools`: those of the machine file, by operation."""
    if path.suffix == ".svg":
        return list(_svg(path))
    if path.suffix == ".dxf":
        return list(_dxf(path, {str(tool["layer"]): name for name, tool in tools.items()}))
    pens = {int(tool["pen"]): name for name, tool in tools.items()}
    return list(_hpgl(path.read_text(encoding="ascii"), pens))


def _run(operation: str, points: list[Pt], *, closed: bool = False) -> Run:
    kept = [p for k, p in enumerate(points) if not k or math.dist(p, points[k - 1]) > 1e-9]
    back = len(kept) > 3 and math.dist(kept[0], kept[-1]) < 1e-6
    return Run(operation, tuple(kept[:-1] if back else kept), closed or back)


def _svg(path: Path) -> Iterator[Run]:
    root = ElementTree.parse(path).getroot()
    box = [float(v) for v in root.get("viewBox", "").split()]
    sizes = [root.get("width", ""), root.get("height", "")]
    assert [float(size.removesuffix("mm")) for size in sizes] == box[2:], "one unit is not one mm"
    for group in root.findall(f"{_SVG}g"):
        for node in group:
            assert node.tag == f"{_SVG}path", f"a machine can't run {node.tag}"
            for lines in path_data(node.get("d", "")):
                points = [p for run in lines for p in run[:-1]] + [lines[-1][-1]]
                yield _run(group.get("id", ""), [(x, box[3] - y) for x, y in points])


def _dxf(path: Path, operations: dict[str, str]) -> Iterator[Run]:
    document = ezdxf.readfile(path)  # type: ignore[attr-defined]
    for entity in document.modelspace():
        operation = operations[entity.dxf.layer]
        if entity.dxftype() == "TEXT":
            continue
        if isinstance(entity, Dot):
            yield Run(operation, ((entity.dxf.location.x, entity.dxf.location.y),), closed=False)
            continue
        closed = bool(getattr(entity, "closed", False) or getattr(entity, "is_closed", False))
        yield _run(operation, dxf_points(entity), closed=closed)


def _hpgl(text: str, pens: dict[int, str]) -> Iterator[Run]:
    """Yield what goes from one pen up to the next."""
    assert re.fullmatch(r"(?:[A-Z]{2}[-0-9,]*;\n?)*", text), "more than commands"
    pen, at, points = 0, (0.0, 0.0), list[Pt]()
    for command, said in re.findall(r"([A-Z]{2})([-0-9,]*);", text):
        numbers = [int(n) for n in said.split(",") if n]
        if command == "PD":
            points = points or [at]
        elif points:  # whatever else comes next, the pen was up first
            assert command in ("PU", "SP"), f"{command} with the pen down"
            yield _run(pens[pen], points)
            points = []
        if command == "SP":
            pen = numbers[0]
        elif command in ("PU", "PD"):
            there = zip(numbers[::2], numbers[1::2], strict=True)
            for at in ((x * _UNIT, y * _UNIT) for x, y in there):
                if command == "PD":
                    points.append(at)
    assert not points, "the pen stays down"
