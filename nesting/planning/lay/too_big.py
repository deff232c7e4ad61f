"""Parts that fit nowhere on their stock, found before any search, and what would help.

A part is named only when it is certain that it does not fit. What fits by its size
alone may still fail in the search, on a hide full of flaws for instance.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from nesting.amounts import METRIC, Amounts
from nesting.errors import JobError
from nesting.job.job import Job
from nesting.marker.fits import (
    Hull,
    areas_for,
    fits_box,
    hull_of,
    motif_serves,
    narrowest,
    row_serves,
    slack_of,
)
from nesting.marker.lay import Lay, Part, Sheets, Strip, Turns
from nesting.material.material import Material
from nesting.planning.lay.ground import WITH_GRAIN, stock_of

__all__ = ["TooBig", "refuse_too_big", "too_big"]

_LARGER_SHEETS = "take larger sheets, or let it be put together: pieced in its [[cut]]"

_ANY = Turns(slack=180.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class TooBig:
    """A part that fits nowhere: its index in ``lay.parts``, its name, why, and what would help."""

    part: int
    name: str
    why: str
    hint: str


def too_big(lay: Lay, amounts: Amounts = METRIC) -> tuple[TooBig, ...]:
    """Return the parts of a lay that fit nowhere on its stock in any turn they may take."""
    told: dict[tuple[object, ...], tuple[str, str] | None] = {}
    found = []
    for i, part in enumerate(lay.parts):
        key = (id(part.piece), part.turns, part.flip, part.region, part.binding)
        if key not in told:
            told[key] = _trouble(part, lay.stock, amounts)
        trouble = told[key]
        if trouble is not None:
            found.append(TooBig(part=i, name=part.name, why=trouble[0], hint=trouble[1]))
    return tuple(found)


def refuse_too_big(lay: Lay, material: Material, *, job: Job) -> None:
    """Raise a `JobError` for the first part that fits no width, sheet or hide of a material.

    A part that fits another width on sale than the one the lay has is let pass.
    """
    found = too_big(lay, job.amounts)
    for width in material.widths if found else ():
        other = stock_of(material, width=width, regions=())
        big = {big.part for big in too_big(replace(lay, stock=other), job.amounts)}
        found = tuple(one for one in found if one.part in big)
    if not found:
        return
    first = found[0]
    hint = first.hint
    if material.is_leather and hint == _LARGER_SHEETS:
        hint = "use a larger hide, or accept a poorer grade or another direction"
    piece = lay.parts[first.part].piece.name
    places = {field: (file, line) for field, file, line in job.places}
    file, line = places.get(f"piece.{piece}", (job.file, None))
    of = "width" if lay.stock.open_ended else material.kind
    raise JobError(
        f"{first.name} fits no {of} of {material.name}: {first.why}",
        file=file,
        field=f"piece.{piece}",
        line=line,
        hint=hint,
    )


def _trouble(part: Part, stock: Strip | Sheets, amounts: Amounts) -> tuple[str, str] | None:
    """Return why a part fits nowhere and what would help, or None."""
    hull = hull_of(part)
    if stock.open_ended:
        return _strip_trouble(part, hull, stock, amounts)
    areas = [
        area
        for sheet in stock.sheets
        for area in areas_for(part, sheet.outline, sheet.regions, margin=stock.margin)
    ]
    spaces = [(turns, [(x1 - x0, y1 - y0) for x0, y0, x1, y1 in rings]) for rings, turns in areas]
    if any(
        fits_box(hull, box, turns or part.turns, flip=part.flip)
        for turns, boxes in spaces
        for box in boxes
    ):
        if motif_serves(part, hull, [ring for rings, _ in areas for ring in rings]):
            return None
        why = "no motif of the print lies where the piece would be inside one of them"
        return why, "move its motif point, or don't centre it"
    boxes = [box for _, many in spaces for box in many]
    length, width = np.ptp(hull, axis=0)
    what = f"it is {amounts.needed(length)} long and {amounts.needed(width)} wide"
    if not stock.sheets:
        return "there is none to cut from", "give a count or remnants"
    if not boxes and part.region == WITH_GRAIN:
        return f"the grain of all that there is isn't known; {what}", 'let it turn: nap = "any"'
    if not boxes:
        why = f"no zone is of the grade and allows its direction; {what}"
        return why, "accept a poorer grade or another direction"
    tight = all(turns is not None for turns, _ in spaces)
    largest = max(boxes, key=lambda box: box[0] * box[1])
    why = f"{what}, the largest space is {amounts.room(largest[0])} by {amounts.room(largest[1])}"
    if stock.margin:
        why += f", {amounts.setting(stock.margin)} off the edges"
    if any(fits_box(hull, box, _ANY, flip=part.flip) for box in boxes):
        if tight:
            return why, (
                "it would fit turned further from the direction of tightness: allow it with"
                " turn_slack in its [[cut]], or accept a poorer grade"
            )
        return why, 'it would fit turned: allow it with nap = "any" or another grain'
    return why, _LARGER_SHEETS


def _strip_trouble(
    part: Part, hull: Hull, strip: Strip, amounts: Amounts
) -> tuple[str, str] | None:
    needs = narrowest(hull, part.turns, flip=part.flip)
    if needs > strip.width + slack_of(hull):
        usable = amounts.room(strip.width)
        why = f"it needs a width of {amounts.needed(needs)}, {usable} is usable"
        turned = narrowest(hull, Turns(angles=(0.0, 90.0)), flip=False)
        if turned <= strip.width:
            return why, 'take wider cloth, or let it lie across: grain = "across" in its [[cut]]'
        if narrowest(hull, _ANY, flip=False) <= strip.width:
            return why, 'take wider cloth, or let it turn: nap = "any" in its [[cut]]'
        return why, "take wider cloth, or let it be put together: pieced in its [[cut]]"
    if strip.longest is not None and not fits_box(
        hull, (strip.longest, strip.width), part.turns, flip=part.flip
    ):
        length = float(np.ptp(hull[:, 0]))
        most = amounts.room(strip.longest)
        why = f"it is {amounts.needed(length)} long, the longest lay is {most}"
        return why, "allow a longer lay, or let it be put together: pieced in its [[cut]]"
    binding = part.binding
    if binding is None or binding.phase is not None or part.turns.slack:
        return None
    if any(row_serves(part, hull, angle, strip) for angle in part.turns.angles):
        return None
    why = "no motif of the print lies where the piece would be inside the cloth"
    return why, "move its motif point, take wider cloth, or don't centre it"
