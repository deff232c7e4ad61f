"""From a marker to the one drawing that all files are made from."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from nesting.marker.figures import figures
from nesting.marker.lay import Sheet, Sheets, Strip
from nesting.marker.marker import Marker
from nesting.material.material import Hides, Material, SheetGoods, Width, Zone
from nesting.pattern.path import Affine, Path
from nesting.planning.ground import hide_of
from nesting.planning.plan import Entry
from nesting.tolerance import TOLERANCE
from nesting.writing.drawing import Drawing, Hole, Label, Stroke
from nesting.writing.drawn import Lettering, drawn_part
from nesting.writing.ground import cloth_edges, load_edges, sheet_edges, wrong_side_up
from nesting.writing.naming import naming

__all__ = ["Lettering", "draw", "draw_entry", "draw_grounds"]


def draw_grounds(entry: Entry) -> tuple[Drawing, ...]:
    """Draw only what the parts lie on: one drawing on cloth, one for each sheet or hide."""
    return tuple(
        _ground(entry.marker, sheet, entry.material, entry.width)
        for sheet in range(_sheets(entry.marker))
    )


def _sheets(marker: Marker) -> int:
    return 1 if isinstance(marker.lay.stock, Strip) else len(marker.sheets)


def draw_entry(
    entry: Entry,
    *,
    pieces: Sequence[str] = (),
    notes: Sequence[str] = (),
    lettering: Sequence[Lettering] = (),
) -> tuple[Drawing, ...]:
    """Draw a material's marker: one drawing on cloth, one for each sheet or hide.

    `lettering`: one for each drawing, or none for the usual.
    """
    drawn = tuple(
        draw(
            entry.marker,
            sheet=sheet,
            material=entry.material,
            width=entry.width,
            pieces=pieces,
            notes=notes,
            lettering=lettering[sheet] if lettering else None,
        )
        for sheet in range(_sheets(entry.marker))
    )
    return tuple(
        replace(one, strokes=(*load_edges(entry.loads, one.length, sheet=n), *one.strokes))
        for n, one in enumerate(drawn)
    )


def draw(
    marker: Marker,
    *,
    sheet: int = 0,
    material: Material | None = None,
    width: Width | None = None,
    pieces: Sequence[str] = (),
    notes: Sequence[str] = (),
    lettering: Lettering | None = None,
    sew: bool = False,
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
    pieces
        Names of pieces in the order that their keys and colours follow; those of the
        lay that are missing come last.
    notes
        Sentences that every file made from the drawing has to say.
    lettering
        How large to write.
    sew
        Whether to draw the sewing lines as well.

    """
    lettering = lettering or Lettering()
    lay = marker.lay
    names = naming(lay.parts, pieces=pieces)
    ground = _ground(marker, sheet, material, width)
    up_wrong = material is not None and wrong_side_up(material)
    strokes, holes, labels = list(ground.strokes), list[Hole](), list[Label]()
    for placement in marker.placements:
        if placement.sheet == sheet:
            turned = up_wrong != placement.flipped
            drawn = drawn_part(
                lay.parts[placement.part],
                placement,
                material=material.name if material is not None else None,
                turned=turned,
                names=names,
                lettering=lettering,
            )
            strokes += drawn.strokes(sew=sew)
            holes += drawn.holes()
            labels += drawn.labels()
    return replace(
        ground,
        strokes=tuple(strokes),
        holes=tuple(holes),
        labels=tuple(labels),
        parts=lay.parts,
        pieces=names.pieces,
        notes=(
            *notes,
            *_zone_notes(marker, sheet, material),
            *_face_notes(strokes, labels, _lies_wrong(material) if up_wrong else ""),
        ),
    )


def _ground(marker: Marker, sheet: int, material: Material | None, width: Width | None) -> Drawing:
    """Return the drawing of what the parts lie on."""
    stock, name = marker.lay.stock, marker.lay.name
    if isinstance(stock, Strip):
        length = figures(marker).length
        edges = cloth_edges(length, stock.width, material=material, width=width)
        return Drawing(name=name, length=length, width=stock.width, strokes=edges)
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
        strokes=sheet_edges(kind, zones=_zones(kind, material)),
    )


def _zones(sheet: Sheet, material: Material | None) -> tuple[tuple[str, Path], ...]:
    """Return the zones of a hide in words; regions by name where nothing else is known."""
    if material is None:
        return tuple((region.name, path) for region in sheet.regions for path in region.outlines)
    if not isinstance(material, Hides):
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
    if isinstance(material, Hides) and marker.sheets:
        stock = marker.lay.stock
        assert isinstance(stock, Sheets)
        hide = hide_of(stock.sheets[marker.sheets[sheet]], material)
        if hide.guessed:
            yield (
                f"The zones of {hide.name} and their directions of tightness were guessed from"
                " its outline: look at the leather and pull at it."
            )


def _lies_wrong(material: Material | None) -> str:
    if isinstance(material, Hides):
        return "The hide lies with its flesh side, the wrong side, up."
    what = "sheet" if isinstance(material, SheetGoods) else "cloth"
    return f"The {what} lies with its wrong side up."


def _face_notes(strokes: Sequence[Stroke], labels: Sequence[Label], lies: str) -> Iterator[str]:
    if lies:
        yield lies
    if any(stroke.under for stroke in strokes) or any(label.under for label in labels):
        yield "Marks shown as underside belong on the face that lies down: transfer them by hand."
