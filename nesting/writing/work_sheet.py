"""The work sheet for the table: spread by spread, what to lay out and what comes of it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path as FilePath

from nesting.job.job import Spreading
from nesting.marker.lay import Strip
from nesting.material.material import Cloth, Fold, Nap
from nesting.planning.plan import Entry, Plan
from nesting.planning.splice import splices
from nesting.units import format_cm
from nesting.writing.files import whole_file
from nesting.writing.html import element, escaped, items, table
from nesting.writing.report_style import STYLE
from nesting.writing.wording import entry_figures, entry_title, length_needed

__all__ = ["work_sheet", "write_work_sheet"]

_NAPS = {
    Nap.NONE: "no nap: plies may lie either way round",
    Nap.ONE_WAY: "nap or print: every ply the same way round",
    Nap.ANY: "no grain: plies may lie any way round",
}


def write_work_sheet(
    plan: Plan, path: FilePath, *, files: Mapping[str, str], overwrite: bool = False
) -> None:
    """Write the work sheet as one HTML page; `files`: the marker file of each entry's title."""
    with whole_file(path, overwrite=overwrite) as temporary:
        temporary.write_text(work_sheet(plan, files=files), encoding="utf-8")


def work_sheet(plan: Plan, *, files: Mapping[str, str]) -> str:
    """Return the work sheet of a plan."""
    sections = []
    number = 0
    for entry in plan.entries:
        for plies in entry.spreads:
            number += 1
            sections.append(_spread(plan, entry, plies, number=number, files=files))
    title = f"{plan.job.name}: work sheet"
    total = f"{number} spreads. Tick each when it is laid, cut and bundled."
    return "\n".join(
        [
            "<!DOCTYPE html>",
            '<html lang="en"><head><meta charset="utf-8">',
            f"<title>{escaped(title)}</title><style>{STYLE}</style></head><body>",
            f"<header>{element('h1', title)}{element('p', total)}</header>",
            *sections,
            "</body></html>",
            "",
        ]
    )


def _spread(plan: Plan, entry: Entry, plies: int, *, number: int, files: Mapping[str, str]) -> str:
    title = entry_title(entry)
    lines = [*_how_to_lay(plan, entry, plies), f"Marker file: {files.get(title, 'not written')}."]
    return "".join(
        [
            "<section>",
            element("h2", f"☐ Spread {number}: {title}"),
            items(lines),
            element("h3", "Bundle and label after the cut"),
            table(["Piece", "Cut in one ply", "Parts in all plies"], _bundles(entry, plies)),
            "</section>",
        ]
    )


def _how_to_lay(plan: Plan, entry: Entry, plies: int) -> Iterator[str]:
    material = entry.material
    found = entry_figures(entry)
    if not isinstance(material, Cloth) or not isinstance(entry.marker.lay.stock, Strip):
        yield f"{found.sheets} to lay one after the other, each once."
        return
    each = found.length + 2.0 * material.ends
    yield (
        f"{plies} {'ply' if plies == 1 else 'plies'} of {length_needed(each)} each "
        f"(marker {format_cm(found.length)}, {format_cm(material.ends)} at each end); "
        f"together {length_needed(plies * each)}."
    )
    if entry.width is not None:
        yield f"Cloth {format_cm(entry.width.booked)} wide, {format_cm(entry.width.usable)} usable."
    yield _facing(plan, material, plies)
    yield f"{_NAPS[material.nap].capitalize()}."
    if entry.bags:
        held = ", ".join(f"{count} × {name}" for name, count in entry.bags)
        yield f"Each ply holds {held}."
    yield _splicing(plan, entry)


def _facing(plan: Plan, material: Cloth, plies: int) -> str:
    up = "wrong" if material.wrong_side_up else "right"
    if material.fold is Fold.FOLDED:
        return "Folded lengthwise, right sides together, the fold at the marker's lower edge."
    if plies > 1 and plan.job.table.spreading is Spreading.FACE_TO_FACE:
        return f"Face to face: the first ply {up} side up, every other ply turned over."
    return f"Every ply {up} side up."


def _splicing(plan: Plan, entry: Entry) -> str:
    most = plan.job.table.splice
    if most is None:
        return "No splices."
    places = splices(entry.marker, most=most)
    if not places:
        return f"No place where a splice of at most {format_cm(most)} would spare every part."
    said = "; ".join(
        f"{format_cm(place.begin)} to {format_cm(place.end)} ({format_cm(place.overlap)})"
        for place in places
    )
    return f"Splices (new length from, old length to; overlap), measured from the start: {said}."


def _bundles(entry: Entry, plies: int) -> list[Sequence[str]]:
    """Return a row for every piece and hand: how many a ply and in all."""
    parts = [entry.marker.lay.parts[p.part] for p in entry.marker.placements]
    paired = {part.piece.name for part in parts if part.hand == "left"}
    counts = Counter(
        (
            part.piece.name
            + (f", {part.variant}" if part.variant else "")
            + (f", {part.hand.value}" if part.piece.name in paired else "")
        )
        for part in parts
    )
    return [(name, str(count), str(count * plies)) for name, count in counts.items()]
