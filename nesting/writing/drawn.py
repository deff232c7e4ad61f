"""One part drawn where it lies: outline, marks, grain and name."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import lru_cache

from nesting.marker.lay import Part
from nesting.marker.marker import Placement
from nesting.pattern.notch import notch_paths
from nesting.pattern.path import Affine, Path, Point
from nesting.pattern.piece import Face, Hand, Mark, MarkKind, Piece
from nesting.writing.drawing import Hole, Label, Operation, Stroke
from nesting.writing.lettering import LEADING, TEXT_HEIGHT, Block, fit, grain_arrow
from nesting.writing.naming import Naming

__all__ = ["DrawnPart", "Lettering", "drawn_part", "upright"]


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


@lru_cache(maxsize=4096)
def _notch(mark: Mark, cut: Path) -> tuple[Path, ...]:
    return notch_paths(mark, cut)


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnPart:
    """One part where it lies, ready to be drawn.

    `piece`: with the marks that this copy carries. `turned`: its right side is down.
    `lines`: its name, written in `block`. `arrow`: its grain, in the piece's coordinates.
    """

    placement: Placement
    piece: Piece
    turned: bool
    lines: tuple[str, ...]
    block: Block | None
    arrow: tuple[Path, ...]

    def _under(self, mark: Mark) -> bool:
        return (mark.face is Face.WRONG) != self.turned

    def strokes(self, *, sew: bool) -> Iterator[Stroke]:
        """Give cut-outs, marks, the grain and last the outline."""
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
        for path in self.arrow:
            yield Stroke(
                operation=Operation.TEXT, path=path.transformed(by), part=index, name="grain"
            )
        yield Stroke(operation=Operation.CUT, path=piece.cut.transformed(by), part=index)

    def holes(self) -> Iterator[Hole]:
        """Give the drill holes."""
        for mark in self.piece.marks:
            if mark.kind is MarkKind.DRILL and mark.at is not None:
                yield Hole(
                    at=self.placement.affine(mark.at),
                    diameter=mark.size,
                    part=self.placement.part,
                    face=mark.face,
                    under=False,
                )

    def labels(self) -> Iterator[Label]:
        """Give the texts to transfer, and the part's name."""
        by = self.placement.affine
        for mark in self.piece.marks:
            if mark.kind is MarkKind.TEXT and mark.at is not None and mark.text:
                yield Label(
                    text=mark.text,
                    at=by(mark.at),
                    height=mark.size or TEXT_HEIGHT,
                    angle=upright(by, mark.angle or 0.0),
                    part=self.placement.part,
                    face=mark.face,
                    under=self._under(mark),
                )
        block, lines = self.block, self.lines
        if block is None:
            return
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


def drawn_part(
    part: Part,
    placement: Placement,
    *,
    material: str | None,
    turned: bool,
    names: Naming,
    lettering: Lettering,
) -> DrawnPart:
    """Find room for a part's name and grain; `material`: its name, if known."""
    piece = replace(part.piece, marks=tuple(_carried(part, material)))
    full, short = names.texts(part, flipped=placement.flipped)
    block = fit(
        piece,
        full,
        short=short,
        tallest=lettering.tallest,
        readable=lettering.readable,
        marks=lettering.marks,
    )
    arrow: tuple[Path, ...] = ()
    if lettering.arrows and part.grain and not part.turns.free:
        arrow = grain_arrow(piece, both=not part.one_way, block=block)
    return DrawnPart(
        placement=placement,
        piece=piece,
        turned=turned,
        lines=(*full, *short)[block.option] if block else (),
        block=block,
        arrow=arrow,
    )


def _carried(part: Part, material: str | None) -> Iterator[Mark]:
    """Give the marks that a copy carries; a right and a left cut at once only what both do."""
    hands = set(Hand) if part.both_hands else {part.hand}
    for mark in part.piece.marks:
        if mark.copies is not None and part.copy not in mark.copies:
            continue
        if mark.hands is not None and not hands <= mark.hands:
            continue
        if mark.materials is not None and material is not None and material not in mark.materials:
            continue
        yield mark


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
