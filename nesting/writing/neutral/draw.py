"""From a marker to the one drawing that all files are made from."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import repeat

import shapely
from shapely import LineString
from shapely.geometry.base import BaseGeometry as Area

from nesting.marker.figures import figures
from nesting.marker.lay import Sheet
from nesting.marker.marker import Marker
from nesting.material.material import Material, Width, Zone
from nesting.names import marker_title
from nesting.pattern.path import Affine, Path
from nesting.pattern.polygon import piece_polygon, polygon
from nesting.planning.lay.ground import hide_of
from nesting.planning.plan import Entry
from nesting.planning.records import BedLoad
from nesting.tolerance import TOLERANCE
from nesting.writing.neutral.beside import Ground
from nesting.writing.neutral.drawing import Drawing, Label, Role, Shown, Stroke
from nesting.writing.neutral.drawn import DrawnPart, drawn_part
from nesting.writing.neutral.ground import (
    cloth_edges,
    load_edges,
    print_shown,
    sheet_edges,
    wrong_side_up,
)
from nesting.writing.neutral.keys import Keys
from nesting.writing.neutral.lettering import Lettering, text_box
from nesting.writing.neutral.naming import Naming, naming, shared_names

__all__ = ["Lettering", "draw", "draw_entry", "draw_grounds"]

_MOST_BESIDE = 150
"""Parts whose names stand beside them in one drawing: of more, their lines hide what lies there."""


def draw_grounds(entry: Entry) -> tuple[Drawing, ...]:
    """Draw only what the parts lie on: one drawing on cloth, one for each sheet or hide."""
    return tuple(
        _ground(entry.marker, sheet, entry.material, entry.width)
        for sheet in range(entry.marker.grounds)
    )


def draw_entry(
    entry: Entry,
    *,
    keys: Keys | None = None,
    notes: Sequence[str] = (),
    lettering: Sequence[Lettering] = (),
    sheets: Sequence[int] | None = None,
) -> tuple[Drawing, ...]:
    """Draw a material's marker: one drawing on cloth, one for each sheet or hide.

    `keys`: the job's. `lettering`: one for each drawing, or none for the usual. `sheets`:
    which to draw, where not all are wanted.
    """
    wanted = range(entry.marker.grounds) if sheets is None else sheets
    return tuple(
        draw(
            entry.marker,
            sheet=sheet,
            material=entry.material,
            width=entry.width,
            keys=keys,
            notes=notes,
            lettering=letters,
            loads=entry.loads,
            shared=shared_names(entry.bags),
        )
        for sheet, letters in zip(wanted, lettering or repeat(None, len(wanted)), strict=True)
    )


def draw(
    marker: Marker,
    *,
    sheet: int = 0,
    material: Material | None = None,
    width: Width | None = None,
    keys: Keys | None = None,
    notes: Sequence[str] = (),
    lettering: Lettering | None = None,
    loads: Sequence[BedLoad] = (),
    shared: Mapping[str, str] | None = None,
    points: bool = False,
) -> Drawing:
    """Draw a marker, or one sheet of it.

    Parameters
    ----------
    marker
        What to draw; true outlines, curves as curves.
    sheet
        Which of the marker's sheets; 0 on a strip.
    material, width
        Where they are known the selvedges, ends, fold, print, and the face that is up
        are drawn too, and marks for other materials left out.
    keys
        Of the job's pieces; those of the lay that are missing come last.
    notes
        Sentences that every file made from the drawing has to say.
    lettering
        How large to write.
    loads
        Loads of a bed that the marker is cut in.
    shared
        What bags are called of which parts may be for others, too (see `shared_names`).
    points
        Show motifs and named points of parts that no print binds, too.

    """
    lettering = lettering or Lettering()
    lay = marker.lay
    names = naming(lay.parts, keys=keys, shared=shared)
    ground = _ground(marker, sheet, material, width)
    edges = (*load_edges(loads, ground.length, sheet=sheet), *ground.strokes)
    up_wrong = material is not None and wrong_side_up(material)
    over = _borders(edges, ground, lettering)
    joins = lettering.joins(ground.box)
    drawn = [
        drawn_part(
            lay.parts[placement.part],
            placement,
            material=material.name if material is not None else None,
            turned=up_wrong != placement.flipped,
            names=names,
            lettering=lettering,
            over=over,
            joins=joins,
            points=points,
        )
        for placement in marker.placements
        if placement.sheet == sheet
    ]
    strokes = [*edges, *(stroke for one in drawn for stroke in one.strokes())]
    labels = [label for one in drawn for label in one.labels()]
    nameless = [one for one in drawn if one.block is None] if lettering.leaders else []
    too_many = len(nameless) if len(nameless) > _MOST_BESIDE else 0
    for item in _beside(
        drawn, [] if too_many else nameless, labels, edges, names=names, lettering=lettering
    ):
        if isinstance(item, Label):
            labels.append(item)
        else:
            strokes.append(item)
    return replace(
        ground,
        strokes=tuple(strokes),
        holes=tuple(hole for one in drawn for hole in one.holes()),
        labels=tuple(labels),
        parts=lay.parts,
        keys=names.keys,
        notes=(
            *notes,
            *_zone_notes(marker, sheet, material),
            *_unnamed_notes(too_many),
            *_face_notes(strokes, labels, _lies_wrong(material) if up_wrong else ""),
        ),
    )


def _borders(edges: Sequence[Stroke], ground: Drawing, lettering: Lettering) -> list[Area]:
    """Return the lines (mm) that run across parts: of zones, of loads, and where rows end."""
    named = [edge for edge in edges if edge.role is Role.BORDER] if lettering.see_through else []
    lines: list[Area] = [_line(edge.path) for edge in named]
    _, y0, _, y1 = ground.box
    lines += [LineString([(x, y0), (x, y1)]) for x in lettering.breaks]
    return lines


def _line(path: Path) -> LineString:
    points = path.points(TOLERANCE.search_chord)
    return LineString([*points, points[0]] if path.closed else points)


def _beside(
    drawn: Sequence[DrawnPart],
    nameless: Sequence[DrawnPart],
    labels: Sequence[Label],
    edges: Sequence[Stroke],
    *,
    names: Naming,
    lettering: Lettering,
) -> Iterator[Stroke | Label]:
    """Give the names of zones and loads, and those of parts that have no room for theirs."""
    named = [edge for edge in edges if edge.role is Role.BORDER]
    if not named and not nameless:
        return
    wholes = {id(one): _sound(piece_polygon(one.piece, by=one.placement.affine)) for one in drawn}
    flaws = [polygon(edge.path).buffer(0.0) for edge in edges if edge.role is Role.FLAW]
    outer = [edge for edge in edges if edge.role in (Role.USABLE, Role.SHEET)]
    inside = shapely.union_all([polygon(edge.path).buffer(0.0) for edge in outer])
    lines = [
        _line(edge.path)
        for edge in edges
        if edge.role in (Role.CLOTH, Role.USABLE, Role.SHEET, Role.FOLD)
    ]
    x0, y0, x1, y1 = shapely.union_all(lines).bounds
    lines += [LineString([(x, y0), (x, y1)]) for x in lettering.breaks]
    lines += lettering.joins((x0, y0, x1, y1))
    ground = Ground(
        taken=[*wholes.values(), *flaws],
        edges=lines,
        borders=[_line(edge.path) for edge in named],
        size=shapely.box(x0, y0, x1, y1),
        lettering=lettering,
    )
    ground.add(*(text_box(t.text, t.at, height=t.height, angle=t.angle) for t in labels))
    for edge in named:
        area = polygon(edge.path).buffer(0.0).intersection(inside)
        yield from ground.name(_ways(edge.name), area)
    for one in nameless:
        part = one.part
        _, short = names.texts(part, flipped=one.placement.flipped)
        whole = wholes[id(one)]
        texts = (short[0][0], short[-1][0])
        yield from ground.lead(texts, whole, part=one.placement.part, key=names.keys.key(part))


def _sound(area: Area) -> Area:
    """Return an area that can be cut with others; the outlines of a spoilt plan may cross."""
    if area.is_valid:
        return area
    mended = area.buffer(0.0)
    return area.convex_hull if mended.is_empty else mended


def _ways(name: str) -> list[tuple[str, ...]]:
    """Return ways to write a zone's name: in full, on two lines."""
    lines = tuple(name.split(", "))
    return [(name,), lines] if len(lines) > 1 else [(name,)]


def _ground(marker: Marker, sheet: int, material: Material | None, width: Width | None) -> Drawing:
    """Return the drawing of what the parts lie on."""
    stock, name = marker.lay.stock, marker.lay.name
    if stock.open_ended:
        length = figures(marker).length
        edges = cloth_edges(length, stock.width, material=material, width=width)
        name = name if material is None else marker_title(material.name, name)
        shown = None if material is None else print_shown(material, edges)
        return Drawing(name=name, length=length, width=stock.width, strokes=edges, shown=shown)
    kind = stock.sheets[marker.sheets[sheet]]
    points = kind.outline.points(TOLERANCE.chord)
    if kind.name != name:
        name = f"{name}: {kind.name}"
    if len(marker.sheets) > 1:
        name += f" ({sheet + 1} of {len(marker.sheets)})"
    return Drawing(
        name=name,
        length=max(x for x, _ in points),
        width=max(y for _, y in points),
        corner=(min(x for x, _ in points), min(y for _, y in points)),
        strokes=sheet_edges(kind, zones=_zones(kind, material)),
        shown=_hide_shown(kind, material),
    )


def _hide_shown(sheet: Sheet, material: Material | None) -> Shown | None:
    """Return the picture of the hide that a sheet is, or is a bit of."""
    if material is None or not material.is_leather:
        return None
    hide = hide_of(sheet, material)
    if hide.picture is None:
        return None
    turn = Affine.turn(-hide.backbone)
    return Shown(
        picture=hide.picture, place=turn.after(hide.picture.place), within=(sheet.outline,)
    )


def _zones(sheet: Sheet, material: Material | None) -> tuple[tuple[str, Path], ...]:
    """Return the zones of a hide in words; regions by name where nothing else is known."""
    if material is None:
        return tuple((region.name, path) for region in sheet.regions for path in region.outlines)
    if not material.is_leather:
        return ()
    hide = hide_of(sheet, material)
    turn = Affine.turn(-hide.backbone)
    return tuple(
        (_zone_words(zone, hide.backbone), zone.outline.transformed(turn)) for zone in hide.zones
    )


def _zone_words(zone: Zone, backbone: float) -> str:
    """Say a zone's name and grade, and the direction in which it stretches least."""
    words = f"{zone.name} {zone.grade}"
    if zone.tight is None:
        return words
    return f"{words}, tight at {(zone.tight - backbone) % 180.0:g}°"


def _zone_notes(marker: Marker, sheet: int, material: Material | None) -> Iterator[str]:
    if material is not None and material.is_leather and marker.sheets:
        hide = hide_of(marker.used[sheet], material)
        if hide.guessed:
            yield (
                f"The zones of {hide.name} and their directions of tightness were guessed from"
                " its outline: look at the leather and pull at it."
            )


def _unnamed_notes(count: int) -> Iterator[str]:
    if count:
        yield (
            f"This drawing is too small for the names of {count} parts: larger ones, on true-scale"
            " prints and in files for machines, have them."
        )


def _lies_wrong(material: Material | None) -> str:
    if material is None:
        return ""
    if material.is_leather:
        return "The hide lies with its flesh side, the wrong side, up."
    return f"The {material.kind} lies with its wrong side up."


def _face_notes(strokes: Sequence[Stroke], labels: Sequence[Label], lies: str) -> Iterator[str]:
    if lies:
        yield lies
    if any(stroke.under for stroke in strokes) or any(label.under for label in labels):
        yield "Marks shown as underside belong on the face that lies down: transfer them by hand."
