"""One part drawn where it lies: outline, marks, seam line, grain and name."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import shapely
from shapely.affinity import affine_transform
from shapely.geometry.base import BaseGeometry as Area

from nesting.marker.lay import Part
from nesting.marker.marker import Placement
from nesting.pattern.marks.notch_shapes import notch_paths
from nesting.pattern.path import Affine, Path, Point
from nesting.pattern.piece import Face, Hand, Mark, MarkKind, Piece
from nesting.pattern.polygon import piece_polygon
from nesting.writing.neutral.arrow import grain_arrow
from nesting.writing.neutral.drawing import Hole, Label, Operation, Role, Stroke
from nesting.writing.neutral.font import LEADING
from nesting.writing.neutral.lettering import TEXT_HEIGHT, UP, Block, Lettering, fit, raised
from nesting.writing.neutral.matching import Matching, matching
from nesting.writing.neutral.naming import Naming

__all__ = ["DrawnPart", "Lettering", "drawn_part", "upright"]


@lru_cache(maxsize=4096)
def _notch(mark: Mark, cut: Path) -> tuple[Path, ...]:
    return notch_paths(mark, cut)


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnPart:
    """One part where it lies, ready to be drawn.

    `part`: of the lay. `piece`: with the marks that this copy carries. `turned`: its right
    side is down.
    `lines`: its name, written in `block`; `key`, if that is what it is called. `arrow`: its
    grain, `matching`: its motif and points, in the piece's coordinates.
    """

    part: Part
    placement: Placement
    piece: Piece
    turned: bool
    lines: tuple[str, ...]
    block: Block | None
    key: str
    arrow: tuple[Path, ...]
    matching: Matching

    def _under(self, mark: Mark) -> bool:
        return (mark.face is Face.WRONG) != self.turned

    def strokes(self) -> Iterator[Stroke]:
        """Give cut-outs, marks, seam line, motif, points, the grain and last the outline."""
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
        if piece.sew is not None and piece.sew != piece.cut:
            yield Stroke(operation=Operation.SEW, path=piece.sew.transformed(by), part=index)
        for role, path in self.matching.strokes:
            yield Stroke(
                operation=Operation.MATCH, path=path.transformed(by), part=index, role=role
            )
        for path in self.arrow:
            yield Stroke(
                operation=Operation.TEXT, path=path.transformed(by), part=index, role=Role.GRAIN
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
        for name, at, height in self.matching.names:
            angle = upright(by, 0.0)
            yield Label(
                text=name,
                at=raised(by(at), angle, UP * height),
                height=height,
                angle=angle,
                operation=Operation.MATCH,
                part=self.placement.part,
            )
        block, lines = self.block, self.lines
        if block is None:
            return
        angle = upright(by, block.angle)
        for i, text in enumerate(lines):
            rise = UP - LEADING * (i - (len(lines) - 1) / 2.0)
            yield Label(
                text=text,
                at=raised(by(block.at), angle, rise * block.height),
                height=block.height,
                angle=angle,
                part=self.placement.part,
                key=self.key,
            )


def drawn_part(
    part: Part,
    placement: Placement,
    *,
    material: str | None,
    turned: bool,
    names: Naming,
    lettering: Lettering,
    over: Sequence[Area] = (),
    joins: Sequence[Area] = (),
    points: bool = False,
) -> DrawnPart:
    """Find room for a part's name and grain.

    `material`: its name, if known. `over`: lines that run over the part (mm, where it lies),
    such as the borders of zones; `joins`: those that nothing is written across. `points`: show
    the motif and named points of parts that no print binds, too.
    """
    piece = replace(part.piece, marks=tuple(_carried(part, material)))
    full, short = names.texts(part, flipped=placement.flipped)

    def across(lines: Sequence[Area]) -> tuple[Area, ...]:
        if not lines:
            return ()
        whole, back = piece_polygon(part.piece, by=placement.affine), placement.affine.inverse
        return tuple(
            affine_transform(line, (back.a, back.b, back.c, back.d, back.e, back.f))
            for line in lines
            if line.intersects(whole)
        )

    crossing, joined = across(over), across(joins)
    found = matching(part, lettering, always=points)

    def block_beside(*more: Area) -> Block | None:
        if not lettering.names:
            return None
        avoid = (*found.areas, *joined, *more)
        return fit(piece, full, short=short, lettering=lettering, avoid=avoid, rather=crossing)

    def arrow_beside(*more: Area) -> tuple[Path, ...]:
        return grain_arrow(
            piece, both=not part.one_way, avoid=(*found.areas, *more), lettering=lettering
        )

    block = block_beside()
    arrow: tuple[Path, ...] = ()
    if lettering.arrows and part.grain and not part.turns.free:
        arrow = arrow_beside(*([block.box] if block else []))
        if part.one_way and block and not arrow:  # which way is up matters more than a name
            arrow = arrow_beside()
            lines = [shapely.LineString(path.points(0.1)) for path in arrow]
            block = block_beside(*lines)
    option = -1 if block is None else block.option
    return DrawnPart(
        part=part,
        placement=placement,
        piece=piece,
        turned=turned,
        lines=(*full, *short)[option] if block else (),
        block=block,
        key=names.keys.key(part) if option >= len(full) else "",
        arrow=arrow,
        matching=found,
    )


def _carried(part: Part, material: str | None) -> Iterator[Mark]:
    """Give the marks that a copy carries; a right and a left cut at once only what both do.

    A text that only says the piece's name is left out.
    """
    hands = set(Hand) if part.both_hands else {part.hand}
    for mark in part.piece.marks:
        if mark.copies is not None and part.copy not in mark.copies:
            continue
        if mark.hands is not None and not hands <= mark.hands:
            continue
        if mark.materials is not None and material is not None and material not in mark.materials:
            continue
        if mark.kind is MarkKind.TEXT and says_name(mark.text, part.piece.name):
            continue
        yield mark


_LABEL_WORDS = frozenset(
    {
        *("cut", "of", "x", "×", "pair", "pairs", "pcs", "piece", "pieces", "size", "no"),
        *("left", "right", "l", "r", "mirrored", "reversed"),
    }
)


def says_name(text: str, name: str) -> bool:
    """Whether a text of a pattern is no more than a label: the piece's name, how many to cut.

    The piece is named, and counted, anyway. A second piece of a name is called after it:
    "front 2". What neither names it nor says "cut" is no label: a number may mean anything.
    """
    said, own = text.casefold().split(), name.casefold().split()
    short = min(len(said), len(own))
    named = said[:short] == own[:short]
    if not named and said[:1] != ["cut"]:
        return False
    return all(_is_count(word) for word in (said[short:] if named else said))


def _is_count(word: str) -> bool:
    bare = word.strip(".,:;()#/")
    return not bare or bare.strip("x×0123456789/") == "" or bare in _LABEL_WORDS


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
