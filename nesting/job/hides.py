"""From the tables of a job file to the hides of a leather."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import shapely

from nesting.job.desk import Desk, Request
from nesting.job.locate import Place
from nesting.job.materials import goods_from, picture_from
from nesting.job.shapes import closed_shape, outline_with_holes, refuse_other_unit
from nesting.job.tables.leather_table import HideTable, LeatherTable
from nesting.job.tables.piece_table import given
from nesting.job.tables.remnant_table import ZoneTable
from nesting.limits import LARGEST_HIDE
from nesting.material.guess import guessed_zones
from nesting.material.material import Grade, Hide, Hides, Nap, Zone
from nesting.pattern.measure import bounds
from nesting.pattern.path import Affine, Path
from nesting.pattern.polygon import polygon, ring_path
from nesting.units import AREA_UNITS

__all__ = ["hide_from", "hides_from", "zones_from"]

SPACING = 3.0
"""Between parts of leather (mm): 2 to 3 mm for clicking (common practice, no source)."""

MARGIN = 5.0
"""Off a hide's edge and its flaws (mm): edges are thin and ragged (own choice)."""

_USUAL = (200.0, 4000.0)
"""Longer side (mm) of a hide, or a piece of one, that is drawn: common practice, no source."""

_INSIDE = 0.5
"""A zone that was drawn along the hide's edge may reach beyond it by so much (mm)."""


def hides_from(table: LeatherTable, place: Place, desk: Desk) -> Hides:
    """Return the hides of a leather."""
    if table.margin is None:
        desk.assume(f"parts stay {desk.amounts.setting(MARGIN)} off edges and flaws", of=table.name)
    factor = AREA_UNITS["m²"] / AREA_UNITS[table.price_per]
    return Hides(
        **goods_from(table, desk, nap=Nap.ANY, spacing=SPACING),
        hides=tuple(
            hide_from(hide, (*place, "hide", i), desk) for i, hide in enumerate(table.hide)
        ),
        margin=MARGIN if table.margin is None else table.margin,
        price=None if table.price is None else table.price * factor,
    )


def hide_from(table: HideTable, place: Place, desk: Desk) -> Hide:
    """Return one hide."""
    outline, holes = _outline(table, place, desk)
    x0, y0, x1, y1 = bounds(outline)
    if max(x1 - x0, y1 - y0) > LARGEST_HIDE:
        raise desk.error(
            "a hide is at most 10 m long", place, hint="check its unit and its outline"
        )
    whole = polygon(outline)
    flaws = holes + tuple(
        closed_shape(flaw, (*place, "flaw", i), desk, hole=True)
        for i, flaw in enumerate(table.flaw)
    )
    for i, flaw in enumerate(flaws[len(holes) :]):
        if not polygon(flaw).intersects(whole):
            say = desk.amounts.size
            x0, y0, x1, y1 = bounds(outline)
            raise desk.error(
                "the flaw lies outside its hide",
                (*place, "flaw", i),
                hint=f"that goes from ({say(x0)}, {say(y0)}) to ({say(x1)}, {say(y1)})",
            )
    left = shapely.difference(whole, shapely.union_all([polygon(flaw) for flaw in flaws]))
    if left.area <= 1e-3 * whole.area:
        raise desk.error("the flaws leave nothing of the hide", (*place, "flaw"))
    zones = zones_from(table.zone, place, desk, within=whole)
    if table.guess_zones is not None:
        if zones:
            raise desk.error(
                "it has zones drawn, so there is nothing to guess", (*place, "guess_zones")
            )
        zones = guessed_zones(outline, backbone=table.backbone, side=table.guess_zones == "side")
        desk.assume(
            "its zones, and that it is tightest along the backbone, are guessed from the outline: "
            "look at the leather and pull at it",
            of=table.name,
            first=True,
        )
    if table.backbone:
        desk.assume("turned in the lay so that the backbone runs along x", of=table.name)
    return Hide(
        name=table.name,
        outline=outline,
        flaws=flaws,
        zones=zones,
        backbone=table.backbone,
        guessed=table.guess_zones is not None,
        picture=picture_from(table.picture, (*place, "picture"), desk),
    )


def zones_from(
    tables: Sequence[ZoneTable], place: Place, desk: Desk, *, within: shapely.Polygon
) -> tuple[Zone, ...]:
    """Return the zones of a hide, or of what is left of one, whose outline is `within`."""
    return tuple(
        bit
        for i, zone in enumerate(tables)
        for bit in _zone(zone, (*place, "zone", i), desk, within=within)
    )


def _outline(table: HideTable, place: Place, desk: Desk) -> tuple[Path, tuple[Path, ...]]:
    """Return a hide's outline and holes, drawn in the job or in a file."""
    if table.from_ is None:
        outline, holes = outline_with_holes(table, table.hole, place, desk)
        refuse_other_unit(table, outline, place, desk, _USUAL)
        return outline, holes
    if given(table):
        raise desk.error("it has a shape and a file", place, hint="give one of the two")
    if table.hole:
        raise desk.error("holes belong into the file", (*place, "hole"), hint="or draw a flaw")
    request = Request(
        file=desk.path(table.from_, (*place, "from")),
        piece=table.piece or table.name,
        unit=table.file_unit,
        amounts=desk.amounts,
    )
    found = desk.fetch(request, (*place, "from"))
    # A file has its own origin, and an SVG counts downwards: flaws need a corner to start from.
    x0, y0, x1, y1 = bounds(found.cut)
    desk.assume(
        f"flaws and zones are measured from the lower left corner of its outline, which is"
        f" {desk.amounts.size(x1 - x0)} by {desk.amounts.size(y1 - y0)}",
        of=table.name,
    )
    to_corner = Affine.move(-x0, -y0)
    holes = tuple(hole.transformed(to_corner) for hole in found.holes)
    return found.cut.transformed(to_corner), holes


def _zone(table: ZoneTable, place: Place, desk: Desk, *, within: shapely.Polygon) -> Iterator[Zone]:
    """Yield a zone, in as many bits as its hide's edge cuts it into."""
    outlines = [closed_shape(table, place, desk)]
    name = table.name or f"zone {table.grade}"
    beyond = shapely.difference(polygon(outlines[0]), within.buffer(_INSIDE))
    if not beyond.is_empty:
        outlines = _on_hide(outlines[0], within, place, desk)
        desk.assume("what of it is outside its hide is left out", of=name, first=True)
    slack = table.slack
    if slack is None:
        slack = 180.0 if table.tight is None else _TIGHT_SLACK
        if table.tight is not None:
            desk.assume(
                f"parts may turn {slack:g}° from the direction of tightness", of=name, first=True
            )
    grade = Grade(table.grade)
    for outline in outlines:
        yield Zone(name=name, grade=grade, outline=outline, tight=table.tight, slack=slack)


def _on_hide(outline: Path, hide: shapely.Polygon, place: Place, desk: Desk) -> list[Path]:
    """Return what of a zone is on its hide: one outline, or several."""
    inside = shapely.intersection(polygon(outline), hide)
    bits = [b for b in getattr(inside, "geoms", [inside]) if b.area > _SPECK]
    if not bits:
        say = desk.amounts.setting
        x0, y0, x1, y1 = hide.bounds
        raise desk.error(
            "the zone lies outside its hide",
            place,
            hint=f"that goes from ({say(x0)}, {say(y0)}) to ({say(x1)}, {say(y1)})",
        )
    return [ring_path(bit.exterior) for bit in bits]


_SPECK = 1.0
"""A bit of a zone smaller than this (mm²) is none."""


_TIGHT_SLACK = 15.0
"""How far a part may turn from the direction of tightness where none is said (own choice)."""
