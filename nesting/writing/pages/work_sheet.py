"""The work sheet for the table: spread by spread, what to lay out and what comes of it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path as FilePath

from nesting.amounts import Amounts
from nesting.material.material import Goods, Nap
from nesting.names import listed
from nesting.planning.orders.bundles import Bundle, bundles, faces_each_other
from nesting.planning.orders.splice import splices
from nesting.planning.plan import Entry, Plan
from nesting.writing.files import whole_file
from nesting.writing.neutral.alike import alike, alike_words
from nesting.writing.neutral.draw import draw_entry, draw_grounds
from nesting.writing.neutral.keys import Keys, job_keys, keys_of
from nesting.writing.pages.markup import Passage, Table, filled
from nesting.writing.pages.report_tables import zone_sentences
from nesting.writing.pages.view import screen_lettering, screen_svg
from nesting.writing.pages.wording import counted, entry_title

__all__ = ["work_sheet", "write_work_sheet"]

_PAGE, _HIGH = 180.0, 80.0  # mm: the most a marker takes of an A4 page

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
    laid = [(entry, i) for entry in plan.entries for i in range(len(entry.spreads))]
    spreads = [
        _spread(plan, entry, i, number=number, file=files.get(entry_title(entry), ""))
        for number, (entry, i) in enumerate(laid, start=1)
    ]
    return filled(
        "work_sheet.html",
        title=f"{plan.job.called}: work sheet",
        total=f"{counted(len(laid), 'spread')}. Tick each when it is laid, cut and bundled.",
        spreads=spreads,
    )


def _spread(plan: Plan, entry: Entry, spread: int, *, number: int, file: str) -> dict[str, object]:
    keys = keys_of(entry.marker.lay.parts, job_keys(plan.job))
    found = bundles(entry, plan.job, plies=entry.spreads[spread])
    table = Table(
        caption=f"Bundles of spread {number}",
        head=["Key", "Piece", "Variant", "In the marker", "Parts from all plies"],
        rows=_bundled(found, keys),
        numbers=(3, 4),
        named=1,
    )
    return {
        "title": f"☐ Spread {number}: {entry_title(entry)}",
        "picture": _picture(entry, keys=job_keys(plan.job)),
        "lines": [*_how_to_lay(plan, entry, spread), f"Marker file: {file or 'not written'}."],
        "bundles": Passage("Bundle and label after the cut", table=table),
    }


def _bundled(found: Sequence[Bundle], keys: Keys) -> list[tuple[str, ...]]:
    """Return a row for each piece, variant and hand, whichever bags it is for."""
    rows: dict[tuple[str, str, str], list[int]] = {}
    for one in sorted(found, key=lambda b: keys.place(b.piece, b.design)):
        title = keys.titles[keys.place(one.piece, one.design)]
        key = keys.key_of(one.piece, one.variant, one.design)
        variant = ", ".join(filter(None, (one.variant, one.hand and one.hand.value)))
        counts = rows.setdefault((key, title, variant), [0, 0])
        counts[0] += one.drawn
        counts[1] += one.cut
    return [(*what, *map(str, counts)) for what, counts in rows.items()]


def _picture(entry: Entry, *, keys: Keys) -> str:
    """Return a small drawing of a marker's only ground, to know it by; nothing of several."""
    grounds = draw_grounds(entry)
    if len(grounds) != 1:
        return ""
    lettering = [screen_lettering(grounds[0], across=_PAGE, high=_HIGH)]
    (drawing,) = draw_entry(entry, keys=keys, lettering=lettering)
    return screen_svg(drawing)


def _how_to_lay(plan: Plan, entry: Entry, spread: int) -> Iterator[str]:
    material, plies = entry.material, entry.spreads[spread]
    found = entry.figures
    if not entry.marker.lay.stock.open_ended:
        yield f"{counted(found.sheets, material.kind)}, one after the other."
        for group in alike(entry.marker):
            if len(group) > 1:
                yield f"Cut the same way, so they may be stacked: {alike_words(group)}."
        yield from zone_sentences(entry)
        return
    amounts = plan.job.amounts
    each = found.length + 2.0 * material.ends
    yield (
        f"{plies} {'ply' if plies == 1 else 'plies'} of {amounts.needed(each)} each "
        f"(marker {amounts.needed(found.length)}, {amounts.setting(material.ends)} at each end); "
        f"together {amounts.needed(plies * each)}."
    )
    if entry.width is not None:
        booked, usable = entry.width.booked, entry.width.usable
        yield f"Cloth {amounts.setting(booked)} wide, {amounts.setting(usable)} usable."
    yield _facing(plan, entry, plies)
    yield f"{_NAPS[material.nap].capitalize()}."
    if entry.bags:
        held = listed(f"{count} × {name}" for name, count in entry.bags)
        unit = "Two plies give" if faces_each_other(entry, plan.job) else "Each ply gives"
        yield f"{unit} {held}."
    yield from _sources(entry, material, spread, amounts)
    yield _splicing(plan, entry)


def _facing(plan: Plan, entry: Entry, plies: int) -> str:
    material = entry.material
    up = "wrong" if material.wrong_side_up else "right"
    if material.folded:
        return "Folded lengthwise, right sides together, the fold at the marker's lower edge."
    if faces_each_other(entry, plan.job):
        return (
            f"Face to face: the first ply {up} side up, every other ply turned over. From each "
            "two plies an outline gives a part and its mirror image."
        )
    return f"Every ply {up} side up."


def _sources(entry: Entry, cloth: Goods, spread: int, amounts: Amounts) -> Iterator[str]:
    """Say which roll the plies come from."""
    for laid in entry.laid_from:
        if laid.spread != spread:
            continue
        first, *more = laid.rolls
        if laid.splice is None:
            many = "ply" if laid.plies == 1 else "plies"
            yield f"{laid.plies} {many} from {_roll(cloth, first, amounts)}."
            continue
        begin, end = laid.splice
        yield (
            f"1 ply spliced: {_roll(cloth, first, amounts)} up to {amounts.needed(end)} from the"
            f" marker's start, then {_roll(cloth, more[0], amounts)} from {amounts.room(begin)} on."
        )


def _roll(cloth: Goods, number: int, amounts: Amounts) -> str:
    if number == 0:
        return "new cloth"
    return f"roll {number} ({amounts.room(cloth.rolls[number - 1])})"


def _splicing(plan: Plan, entry: Entry) -> str:
    amounts, most = plan.job.amounts, plan.job.table.splice
    if most is None:
        return "No splices."
    places = splices(entry.marker, most=most)
    if not places:
        return f"No place where a splice of at most {amounts.setting(most)} would spare every part."
    said = "; ".join(
        f"{amounts.room(place.begin)} to {amounts.needed(place.end)}"
        f" ({amounts.needed(place.overlap)})"
        for place in places
    )
    return f"Splices (new length from, old length to; overlap), measured from the start: {said}."
