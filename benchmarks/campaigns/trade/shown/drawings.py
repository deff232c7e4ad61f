"""Whether the drawn files of a plan show what the plan says, and all of it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from pathlib import Path

import shapely
from shapely import Polygon

from ..asked.variants import same
from ..rules.answer import Entry
from ..rules.judge import NEAR, Laid, Matched
from .files import Element, dxf_elements, svg_elements, svg_title
from .marks import marked_wrong

__all__ = ["drawn_wrong"]

Shown = tuple[Entry, int, tuple[Laid, ...]]
"""One sheet of a marker, or a marker on cloth, and what lies there."""


def drawn_wrong(folder: Path, every: Matched) -> Iterator[str]:
    """Yield what the SVG and DXF files in a folder show wrong or not at all."""
    shown = [
        (entry, sheet, tuple(one for one in laid if one[0].sheet == sheet))
        for entry, laid in every.laid
        for sheet in range(max(1, len(entry.sheets)))
        if entry.lying
    ]
    for path in sorted(folder.glob("*.svg")):
        elements, title = svg_elements(path), svg_title(path)
        names = {e.part for e in elements if e.layer == "cut"}
        fits = [
            one
            for one in shown
            if {lying.name for lying, _ in one[2]} == names and title.startswith(one[0].material)
        ]
        fits = [one for one in fits if _aligned(elements, one) is not None] or fits
        if not fits:
            yield f"{path.name} shows {sorted(names)}, which is no marker"
            continue
        shown.remove(fits[0])
        yield from _svg_wrong(path, elements, fits[0])
        if path.with_suffix(".dxf").exists():
            yield from _dxf_wrong(path.with_suffix(".dxf"), elements, fits[0])
    for entry, sheet, _ in shown:
        if not entry.unplaced and not entry.faults:
            yield f"no file shows sheet {sheet} of {entry.material}"


def _aligned(elements: Sequence[Element], shown: Shown) -> tuple[float, float] | None:
    """Return how a file's corner lies to the goods' corner; None if the first part differs."""
    lying = shown[2][0][0]
    of = [e for e in elements if e.layer == "cut" and e.part == lying.name]
    if len(of) != 1:
        return None
    a, b = of[0].area.bounds, lying.lies.bounds
    near = abs(a[2] - a[0] - b[2] + b[0]) < NEAR and abs(a[3] - a[1] - b[3] + b[1]) < NEAR
    return (b[0] - a[0], b[1] - a[1]) if near else None


def _svg_wrong(path: Path, elements: Sequence[Element], shown: Shown) -> Iterator[str]:
    move = _aligned(elements, shown)
    if move is None:
        yield f"{path.name} shows {shown[2][0][0].name} otherwise than the plan"
        return
    by_part: defaultdict[str, list[Element]] = defaultdict(list)
    for e in elements:
        by_part[e.part].append(e.moved(*move))
    for lying, asked in shown[2]:
        mine = by_part[lying.name]
        outline = [e.area for e in mine if e.layer == "cut"]
        inner = [e.area for e in mine if e.layer == "cut-inner"]
        if len(outline) != 1 or len(inner) != len(lying.lies.interiors):
            yield f"{path.name} shows {lying.name} with {len(outline)} outlines, {len(inner)} inner"
            continue
        if not same(lying.lies, outline[0].difference(shapely.union_all(inner)), within=NEAR):
            yield f"{path.name} shows {lying.name} elsewhere or otherwise than the plan"
        for line in marked_wrong(lying, asked, mine):
            yield f"{path.name}: {line}"


def _dxf_wrong(path: Path, svg: Sequence[Element], shown: Shown) -> Iterator[str]:
    """Yield what a DXF file shows otherwise than the plan, or than the SVG file of the same."""
    elements = dxf_elements(path)
    left = [e.area for e in elements if e.layer == "cut"]
    inner = [e.area for e in elements if e.layer == "cut-inner"]
    for lying, _ in shown[2]:
        outer = Polygon(lying.lies.exterior)
        found = next((area for area in left if same(outer, area, within=NEAR)), None)
        if found is None:
            yield f"{path.name} does not show {lying.name} where it lies"
            continue
        left.remove(found)
        for ring in lying.lies.interiors:
            if not any(same(Polygon(ring), area, within=NEAR) for area in inner):
                yield f"{path.name} lacks a cut-out of {lying.name}"
    if left:
        yield f"{path.name} has {len(left)} outlines more than the plan"
    for layer in ("cut-inner", "notch", "drill", "mark", "mark-underside", "text"):
        counts = [sum(e.layer == layer for e in some) for some in (elements, svg)]
        if counts[0] != counts[1]:
            yield f"{path.name} has {counts[0]} of {layer}, the SVG {counts[1]}"
