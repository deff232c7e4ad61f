"""One part drawn where it lies: outline, marks, grain and name."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import lru_cache

from nesting.marker.lay import Lay, Part
from nesting.marker.marker import Placement
from nesting.material.material import Material
from nesting.pattern.notch import notch_paths
from nesting.pattern.path import Affine, Path, Point
from nesting.pattern.piece import Face, Mark, MarkKind, Piece
from nesting.writing.drawing import Hole, Label, Operation, Stroke
from nesting.writing.lettering import LEADING, Block, fit, grain_arrow
from nesting.writing.naming import Texts, part_texts

__all__ = ["DrawnPart", "Lettering", "upright"]


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


@dataclass(frozen=True, slots=True)
class DrawnPart:
    """One part where it lies. `turned`: its right side is down."""

    lay: Lay
    placement: Placement
    material: Material | None
    turned: bool
    pieces: tuple[str, ...]
    lettering: Lettering

    @property
    def part(self) -> Part:
        """The part that lies there."""
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
        for path in self._arrow():
            yield Stroke(
                operation=Operation.TEXT, path=path.transformed(by), part=index, name="grain"
            )
        yield Stroke(operation=Operation.CUT, path=piece.cut.transformed(by), part=index)

    def holes(self) -> Iterator[Hole]:
        """Give the drill holes."""
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
        """Give the texts to transfer, and the part's name."""
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
