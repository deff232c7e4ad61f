"""From a marker to the one drawing that all files are made from."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from nesting.marker.figures import figures
from nesting.marker.lay import Lay, Part, Strip
from nesting.marker.marker import Marker, Placement
from nesting.material.material import Material, Width
from nesting.pattern.notch import notch_paths
from nesting.pattern.path import Affine, Path, Point
from nesting.pattern.piece import Face, Hand, Mark, MarkKind, Piece
from nesting.planning.plan import Entry
from nesting.tolerance import TOLERANCE
from nesting.writing.drawing import Drawing, Hole, Label, Operation, Stroke
from nesting.writing.ground import cloth_edges, sheet_edges, wrong_side_up
from nesting.writing.lettering import LEADING, Block, fit, grain_arrow

__all__ = ["Lettering", "draw", "draw_entry", "part_key", "part_texts", "piece_names"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Lettering:
    """How large the names of parts are written: capitals' height in mm.

    Below `readable`, an abbreviation is written if that can be larger. `arrows`: draw
    the grain. `marks`: keep off the marks where there is room.
    """

    tallest: float = 10.0
    readable: float = 2.5
    arrows: bool = True
    marks: bool = True


def draw_entry(
    entry: Entry,
    *,
    pieces: Sequence[str] = (),
    notes: Sequence[str] = (),
    lettering: Lettering | None = None,
) -> tuple[Drawing, ...]:
    """Draw a material's marker: one drawing on cloth, one for each sheet on sheets or hides."""
    count = 1 if isinstance(entry.marker.lay.stock, Strip) else len(entry.marker.sheets)
    return tuple(
        draw(
            entry.marker,
            sheet=sheet,
            material=entry.material,
            width=entry.width,
            pieces=pieces,
            notes=notes,
            lettering=lettering,
        )
        for sheet in range(count)
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
    names = tuple(dict.fromkeys((*pieces, *piece_names(lay))))
    length, across, name, edges = _ground(marker, sheet, material, width)
    up_wrong = material is not None and wrong_side_up(material)
    strokes, holes, labels = list(edges), list[Hole](), list[Label]()
    for placement in marker.placements:
        if placement.sheet == sheet:
            turned = up_wrong != placement.flipped
            drawn = _Drawn(lay, placement, material, turned, names, lettering)
            strokes += drawn.strokes(sew=sew)
            holes += drawn.holes()
            labels += drawn.labels()
    return Drawing(
        name=name,
        length=length,
        width=across,
        strokes=tuple(strokes),
        holes=tuple(holes),
        labels=tuple(labels),
        parts=lay.parts,
        pieces=names,
        notes=(*notes, *_face_notes(strokes, labels, up_wrong)),
    )


def _ground(
    marker: Marker, sheet: int, material: Material | None, width: Width | None
) -> tuple[float, float, str, tuple[Stroke, ...]]:
    """Return length, width, name and edges of what the parts lie on."""
    stock = marker.lay.stock
    if isinstance(stock, Strip):
        length = figures(marker).length
        edges = cloth_edges(length, stock.width, material=material, width=width)
        return length, stock.width, marker.lay.name, edges
    kind = stock.sheets[marker.sheets[sheet]]
    points = kind.outline.points(TOLERANCE.chord)
    name = f"{marker.lay.name}: {kind.name}"
    if len(marker.sheets) > 1:
        name += f" ({sheet + 1} of {len(marker.sheets)})"
    return (
        max(x for x, _ in points),
        max(y for _, y in points),
        name,
        sheet_edges(kind),
    )


def _face_notes(
    strokes: Sequence[Stroke], labels: Sequence[Label], up_wrong: bool
) -> Iterator[str]:
    if up_wrong:
        yield "The cloth lies with its wrong side up."
    if any(stroke.under for stroke in strokes) or any(label.under for label in labels):
        yield "Marks shown as underside belong on the face that lies down: transfer them by hand."


def piece_names(lay: Lay) -> tuple[str, ...]:
    """Return the names of a lay's pieces, each once, in the order of its parts."""
    return tuple(dict.fromkeys(part.piece.name for part in lay.parts))


def part_key(part: Part, *, parts: Sequence[Part], pieces: Sequence[str]) -> str:
    """Return a short key: the piece's place in `pieces` as A, B, … Z, AA and so on.

    Variants of a piece within `parts` are told apart by a small letter: A, Ab, Ac.
    """
    number = list(pieces).index(part.piece.name) + 1
    key = ""
    while number:
        number, letter = divmod(number - 1, 26)
        key = chr(ord("A") + letter) + key
    variants = sorted({p.variant for p in parts if p.piece.name == part.piece.name})
    place = variants.index(part.variant)
    return key + (chr(ord("a") + place) if place else "")


Texts = tuple[tuple[str, ...], ...]
"""Ways to say something, each some lines."""


def part_texts(
    part: Part,
    *,
    parts: Sequence[Part],
    pieces: Sequence[str],
    flipped: bool = False,
) -> tuple[Texts, Texts]:
    """Return ways to name a part in full, and abbreviations; the best first."""
    pairs = any(p.hand is Hand.LEFT and p.piece.name == part.piece.name for p in parts)
    hand = ("R" if part.hand is Hand.RIGHT else "L") if pairs else ""
    bag = f"bag {part.bag}" if any(p.bag != part.bag for p in parts) else ""
    number = f"{part.copy}/{part.copies}"
    face = "face down" if flipped else ""
    detail = " ".join(word for word in (number, hand, part.variant, bag, face) if word)
    name = part.piece.name
    words = name.split()
    cut = min(
        range(1, len(words)),
        key=lambda i: abs(len(" ".join(words[:i])) - len(" ".join(words[i:]))),
        default=None,
    )
    texts = [(name, detail), (f"{name}  {detail}",)]
    if cut:
        texts.append((" ".join(words[:cut]), " ".join(words[cut:]), detail))
    key = part_key(part, parts=parts, pieces=pieces)
    short = " ".join(word for word in (number, hand) if word)
    return tuple(texts), ((f"{key} {short}",), (key, *short.split()), (key,))


@lru_cache(maxsize=4096)
def _notch(mark: Mark, cut: Path) -> tuple[Path, ...]:
    return notch_paths(mark, cut)


@dataclass(frozen=True, slots=True)
class _Drawn:
    """One part where it lies. `turned`: its right side is down."""

    lay: Lay
    placement: Placement
    material: Material | None
    turned: bool
    pieces: tuple[str, ...]
    lettering: Lettering

    @property
    def part(self) -> Part:
        return self.lay.parts[self.placement.part]

    def _marks(self) -> Iterator[Mark]:
        """Give the marks that this copy carries."""
        part = self.part
        for mark in part.piece.marks:
            if mark.copies is not None and part.copy not in mark.copies:
                continue
            if mark.hands is not None and part.hand not in mark.hands:
                continue
            if (
                mark.materials is not None
                and self.material is not None
                and self.material.name not in mark.materials
            ):
                continue
            yield mark

    def _under(self, mark: Mark) -> bool:
        return (mark.face is Face.WRONG) != self.turned

    @property
    def piece(self) -> Piece:
        """The part's piece with the marks that this copy carries."""
        return replace(self.part.piece, marks=tuple(self._marks()))

    def strokes(self, *, sew: bool) -> Iterator[Stroke]:
        by, index, piece = self.placement.affine, self.placement.part, self.piece
        for hole in piece.holes:
            yield Stroke(operation=Operation.CUT, path=hole.transformed(by), part=index, inner=True)
        for mark in piece.marks:
            notch = mark.kind is MarkKind.NOTCH
            for path in _notch(mark, piece.cut) if notch else (mark.path,):
                if path is not None:
                    yield Stroke(
                        operation=Operation.NOTCH if notch else Operation.MARK,
                        path=path.transformed(by),
                        part=index,
                        face=mark.face,
                        under=not notch and self._under(mark),
                        name=mark.name,
                    )
        if sew and piece.sew is not None:
            yield Stroke(operation=Operation.SEW, path=piece.sew.transformed(by), part=index)
        for path in self._arrow():
            yield Stroke(
                operation=Operation.TEXT, path=path.transformed(by), part=index, name="grain"
            )
        yield Stroke(operation=Operation.CUT, path=piece.cut.transformed(by), part=index)

    def holes(self) -> Iterator[Hole]:
        for mark in self._marks():
            if mark.kind is MarkKind.DRILL and mark.at is not None:
                yield Hole(
                    at=self.placement.affine(mark.at),
                    diameter=mark.size,
                    part=self.placement.part,
                    face=mark.face,
                    under=False,
                )

    def labels(self) -> Iterator[Label]:
        by = self.placement.affine
        for mark in self._marks():
            if mark.kind is MarkKind.TEXT and mark.at is not None and mark.text:
                yield Label(
                    text=mark.text,
                    at=by(mark.at),
                    height=mark.size or 4.0,
                    angle=upright(by, mark.angle or 0.0),
                    part=self.placement.part,
                    face=mark.face,
                    under=self._under(mark),
                )
        block = self._block()
        if block is None:
            return
        full, short = self._texts()
        lines = (*full, *short)[block.option]
        angle = upright(by, block.angle)
        down = Affine.turn(angle).vector((0.0, -LEADING * block.height))
        x, y = by(block.at)
        for i, text in enumerate(lines):
            step = i - (len(lines) - 1) / 2.0
            yield Label(
                text=text,
                at=(x + step * down[0], y + step * down[1]),
                height=block.height,
                angle=angle,
                part=self.placement.part,
            )

    def _texts(self) -> tuple[Texts, Texts]:
        return part_texts(
            self.part,
            parts=self.lay.parts,
            pieces=self.pieces,
            flipped=self.placement.flipped,
        )

    def _block(self) -> Block | None:
        full, short = self._texts()
        return fit(
            self.piece,
            full,
            short=short,
            tallest=self.lettering.tallest,
            readable=self.lettering.readable,
            marks=self.lettering.marks,
        )

    def _arrow(self) -> tuple[Path, ...]:
        turns = self.part.turns
        if turns.free or not self.lettering.arrows:
            return ()
        both = any(abs((angle % 360.0) - 180.0) < 1e-6 for angle in turns.angles)
        return grain_arrow(self.piece, both=both, block=self._block())


def upright(by: Affine, angle: float) -> float:
    """Return the direction (degrees, in −90…90) in which text along `angle` is read once mapped."""
    along: Point = Affine.turn(angle).vector((1.0, 0.0))
    x, y = by.vector(along)
    mapped = math.degrees(math.atan2(y, x))
    # Text that runs straight down is read from the right, as on a drawing's dimensions.
    while mapped <= -90.0 + 1e-6:
        mapped += 180.0
    while mapped > 90.0 + 1e-6:
        mapped -= 180.0
    return mapped
