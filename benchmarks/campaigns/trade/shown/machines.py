"""Files for a machine: each part once, on the bed, larger by the kerf, what is inside first."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import shapely
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from ..asked.amounts import Units
from ..asked.shapes import Pt
from ..asked.variants import mapped, same
from ..rules.answer import Lying
from ..rules.judge import NEAR, Laid, Matched
from .runs import Run, runs
from .worked import worked_wrong

__all__ = ["cut_wrong"]

_HAIR = 1e-3
"""How far beyond the bed is let pass (mm): rounding of a file."""
_CORNER = re.compile(r"corner \(0, 0\) lies at x (.+?), y (.+?) on the bed")


@dataclass(frozen=True)
class _Load:
    """One file: what it does, and where its sheet of text says that the goods lie."""

    name: str
    material: str
    runs: tuple[Run, ...]
    corner: Pt
    turned: bool

    def back(self, p: Pt) -> Pt:
        """Return where a point of the bed is on the goods."""
        x, y = p[0] - self.corner[0], p[1] - self.corner[1]
        return (y, -x) if self.turned else (x, y)


Pool = list[tuple[tuple[str, int, int], Laid]]
"""What is still to be cut: (material, number of its marker, sheet) and the part."""


def cut_wrong(folder: Path, machine: Path, every: Matched) -> Iterator[str]:
    """Yield what is wrong in a folder of files for a machine."""
    shop = tomllib.loads(machine.read_text(encoding="utf-8"))
    loads = [_load(sheet, shop) for sheet in sorted(folder.glob("*.txt"))]
    left: Pool = [
        ((entry.material, number, one[0].sheet), one)
        for number, (entry, laid) in enumerate(every.laid)
        for one in laid
    ]
    for load in loads:
        yield from _on_bed(load, shop)
        yield from _inside_first(load)
        yield from _parts(load, shop, left)
    for _, (lying, _) in left:
        yield f"{lying.name} is in no file for the machine"


def _load(sheet: Path, shop: dict[str, Any]) -> _Load:
    text = sheet.read_text(encoding="utf-8")
    file = next(
        one
        for suffix in (".svg", ".dxf", ".plt", "")
        if (one := sheet.with_suffix(suffix)).exists() and one != sheet
    )
    corner = _CORNER.search(text)
    material = re.search(r"^Material: (.+)$", text, re.MULTILINE)
    assert corner is not None, text
    assert material is not None, text
    units = Units("mm")
    return _Load(
        name=file.name,
        material=material[1],
        runs=tuple(runs(file, shop["tools"])),
        corner=(_length(corner[1], units), _length(corner[2], units)),
        turned="TURNED BY 90 DEGREES" in text,
    )


def _length(said: str, units: Units) -> float:
    """Return a length as sheets have it, the smallest with a power of ten."""
    number, unit = said.split()
    return float(number) * units.mm(f"1 {unit}")


def _on_bed(load: _Load, shop: dict[str, Any]) -> Iterator[str]:
    bed = shop["bed"]
    xs, ys = zip(*(p for run in load.runs for p in run.points), strict=True)
    beyond = max(-min(xs), -min(ys), max(xs) - bed["length"], max(ys) - bed["width"])
    if beyond > _HAIR:
        yield f"{load.name} goes {beyond:.3f} mm beyond the bed"


def _inside_first(load: _Load) -> Iterator[str]:
    """Yield what is done after the contour that goes round it."""
    shapes = [_shape(run) for run in load.runs]
    tree = shapely.STRtree(shapes)
    for k, run in enumerate(load.runs):
        if run.operation != "cut" or not run.closed:
            continue
        for j in tree.query(run.area, predicate="contains_properly"):
            if int(j) > k:
                other = load.runs[int(j)]
                yield f"{load.name}: a {other.operation} at {other.points[0]} is done too late"


def _shape(run: Run) -> BaseGeometry:
    if len(run.points) == 1:
        return shapely.Point(run.points[0])
    return shapely.LineString([*run.points, *(run.points[:1] if run.closed else ())])


def _parts(load: _Load, shop: dict[str, Any], left: Pool) -> Iterator[str]:
    """Yield what a load cuts otherwise than its marker has it; takes what it cuts from `left`."""
    cut = [mapped(run.area, load.back) for run in load.runs if run.operation == "cut"]
    outer = [one for k, one in enumerate(cut) if not _inner(k, cut)]
    kerf, within = shop.get("kerf", 0.0), NEAR + shop.get("chord", 0.05)
    there = next(
        (
            key
            for key, (lying, _) in left
            if key[0] == load.material and outer and _is(lying, outer, kerf, within)
        ),
        None,
    )
    if there is None:
        yield f"{load.name} cuts nothing of {load.material} where it lies"
        return
    mine: list[Laid] = []
    for key, one in [item for item in left if item[0] == there]:
        found = _taken(one[0], cut, kerf, within)
        if found is not None:
            mine.append(one)
            left.remove((key, one))
            yield from found
    for area in cut:
        yield f"{load.name} cuts {area.area:.1f} mm² at {area.bounds}, which is no part"
    lying_so = [replace(run, points=tuple(map(load.back, run.points))) for run in load.runs]
    yield from worked_wrong(load.name, lying_so, mine, shop["tools"])


def _inner(k: int, cut: Sequence[Polygon]) -> bool:
    point = cut[k].representative_point()
    return any(j != k and other.contains(point) and other.area > cut[k].area
               for j, other in enumerate(cut))  # fmt: skip


def _wide(area: Polygon, by: float) -> BaseGeometry:
    return area.buffer(by, join_style="mitre", mitre_limit=10.0)


def _is(lying: Lying, outer: Sequence[Polygon], kerf: float, within: float) -> bool:
    wanted = Polygon(lying.lies.exterior)
    return any(same(wanted, _wide(one, -kerf / 2.0), within=within) for one in outer)


def _taken(lying: Lying, cut: list[Polygon], kerf: float, within: float) -> list[str] | None:
    """Take a part's contours from those of a load; what is wrong, or None if it isn't there."""
    wanted = Polygon(lying.lies.exterior)
    found = next((o for o in cut if same(wanted, _wide(o, -kerf / 2.0), within=within)), None)
    if found is None:
        return None
    cut.remove(found)
    faults = []
    for ring in lying.lies.interiors:
        hole = next(
            (o for o in cut if same(Polygon(ring), _wide(o, kerf / 2.0), within=within)), None
        )
        if hole is None:
            faults.append(f"a cut-out of {lying.name} is not cut by the machine")
        else:
            cut.remove(hole)
    return faults
