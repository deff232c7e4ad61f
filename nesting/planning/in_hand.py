"""Parts changed by hand: moved alone or together, on other sheets, laid where none of them lay."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace

from nesting.errors import JobError
from nesting.marker.figures import figures
from nesting.marker.marker import Marker, Placement
from nesting.pattern.path import Affine, Point
from nesting.pattern.polygon import piece_polygon, polygon

__all__ = [
    "Change",
    "changed",
    "fresh_sheets",
    "laid_down",
    "on_sheet",
    "together",
    "with_placements",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """What to do with a part: move it (mm), turn it, lay it on its other face.

    `turn`: degrees more, about its middle.
    """

    along: float = 0.0
    across: float = 0.0
    turn: float = 0.0
    flip: bool = False


def changed(marker: Marker, before: Placement, change: Change) -> Placement:
    """Return where a part lies once it is changed; what it turns about stays in its middle."""
    turned = before
    if change.flip:  # about the line along the goods that goes through its origin
        turned = replace(before, flipped=not before.flipped, angle=-before.angle % 360.0)
    if change.turn:
        turned = replace(turned, angle=(turned.angle + change.turn) % 360.0)
    dx, dy = change.along, change.across
    if turned != before:
        (x, y), (u, v) = _middle(marker, [before]), _middle(marker, [turned])
        dx, dy = dx + x - u, dy + y - v
    return replace(turned, x=turned.x + dx, y=turned.y + dy)


def together(marker: Marker, parts: Collection[int], change: Change) -> Marker:
    """Return a marker of which several parts are changed as one, as if they were sewn together.

    They turn, or are laid face down, about the middle of them all.
    """
    of = [p for p in marker.placements if p.part in parts]
    cx, cy = _middle(marker, of)
    turn = Affine.turn(change.turn)

    def put(placement: Placement) -> Placement:
        x, y, angle = placement.x - cx, placement.y - cy, placement.angle
        if change.flip:
            y, angle = -y, -angle
        x, y = turn((x, y))
        return replace(
            placement,
            x=cx + x + change.along,
            y=cy + y + change.across,
            angle=(angle + change.turn) % 360.0,
            flipped=placement.flipped != change.flip,
        )

    return with_placements(marker, [put(placement) for placement in of])


def on_sheet(
    marker: Marker, parts: Collection[int], *, sheet: int | None = None, kind: int | None = None
) -> Marker:
    """Return a marker of which some parts lie in the same place on another sheet.

    `sheet`: one that is used; `kind`: a further one, of this kind of the stock. What then has no
    part on it is not used any more.

    Raises
    ------
    JobError
        There is no such sheet, or no more of its kind.

    """
    if marker.lay.stock.open_ended:
        raise JobError("this marker lies on one length, not on sheets")
    if kind is not None:
        if kind not in fresh_sheets(marker):
            raise JobError("there is no more of these sheets", hint="take one that is used")
        marker, sheet = replace(marker, sheets=(*marker.sheets, kind)), len(marker.sheets)
    if sheet is None or not 0 <= sheet < marker.grounds:
        raise JobError("the marker has no such sheet", hint="load the page again")
    put = [replace(p, sheet=sheet) for p in marker.placements if p.part in parts]
    return _without_empty(with_placements(marker, put))


def fresh_sheets(marker: Marker) -> tuple[int, ...]:
    """Return the kinds of sheets of which one more can be taken."""
    used = [marker.sheets.count(kind) for kind in range(len(marker.lay.stock.sheets))]
    sheets = zip(used, marker.lay.stock.sheets, strict=True)
    return tuple(k for k, (n, s) in enumerate(sheets) if s.count is None or n < s.count)


def laid_down(marker: Marker, part: int, *, sheet: int = 0) -> Marker:
    """Return a marker on which a part lies that did not.

    On cloth it lies behind all others; on a sheet in its lower left corner, whatever lies there.

    Raises
    ------
    JobError
        There is no such part, or it lies already.

    """
    if not 0 <= part < len(marker.lay.parts) or any(p.part == part for p in marker.placements):
        raise JobError("this part is not waiting to be laid", hint="load the page again")
    lay = marker.lay
    turns = lay.parts[part].turns
    here = Placement(part=part, x=0.0, y=0.0, angle=0.0 if turns.free else turns.angles[0])
    if not lay.stock.open_ended:
        if not marker.sheets:  # the first of all
            marker = replace(marker, sheets=fresh_sheets(marker)[:1])
        if not 0 <= sheet < marker.grounds:
            raise JobError("the marker has no such sheet", hint="load the page again")
        x, y, _, _ = polygon(marker.used[sheet].outline).bounds
        x, y = x + lay.stock.margin, y + lay.stock.margin
        here = replace(here, sheet=sheet)
    else:
        x, y = 0.0, 0.0
        if marker.placements:
            x = figures(marker).length + lay.spacing
    x0, y0, _, _ = _box(marker, here)
    return replace(marker, placements=(*marker.placements, replace(here, x=x - x0, y=y - y0)))


def with_placements(marker: Marker, put: Collection[Placement]) -> Marker:
    """Return a marker of which some parts lie elsewhere."""
    anew = {placement.part: placement for placement in put}
    return replace(marker, placements=tuple(anew.get(p.part, p) for p in marker.placements))


def _without_empty(marker: Marker) -> Marker:
    """Return a marker without the sheets that no part lies on, the others in their order."""
    kept = sorted({p.sheet for p in marker.placements})
    place = {sheet: i for i, sheet in enumerate(kept)}
    placements = tuple(replace(p, sheet=place[p.sheet]) for p in marker.placements)
    return replace(
        marker, placements=placements, sheets=tuple(marker.sheets[sheet] for sheet in kept)
    )


def _middle(marker: Marker, placements: Collection[Placement]) -> Point:
    boxes = [_box(marker, placement) for placement in placements]
    x0, y0 = min(b[0] for b in boxes), min(b[1] for b in boxes)
    x1, y1 = max(b[2] for b in boxes), max(b[3] for b in boxes)
    return (0.5 * (x0 + x1), 0.5 * (y0 + y1))


def _box(marker: Marker, placement: Placement) -> tuple[float, float, float, float]:
    piece = marker.lay.parts[placement.part].piece
    x0, y0, x1, y1 = piece_polygon(piece, by=placement.affine).bounds
    return x0, y0, x1, y1
