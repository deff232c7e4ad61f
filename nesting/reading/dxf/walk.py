"""Everything that is drawn in a DXF file, with blocks put where they are inserted."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from nesting.errors import PatternError
from nesting.pattern.path import Affine, Path, Point
from nesting.reading.dxf.shapes import SHAPES, flat
from nesting.reading.dxf.tags import MOST_TAGS, Block, Document, Entity, too_much
from nesting.reading.dxf.text import text_lines
from nesting.reading.items import clean

__all__ = ["Drawn", "Insertion", "Walk", "layers", "own_blocks", "text_anchor", "text_height"]

_DEEPEST = 16
"""Blocks within blocks within blocks; none is known that goes beyond four."""

_SILENT = frozenset(("ATTDEF", "SEQEND", "VIEWPORT", "DIMENSION", "HATCH", "VERTEX", "ATTRIB"))


SAME = Affine()


@dataclass(frozen=True, slots=True)
class Drawn:
    """An entity on its layer, with what it is: a path, a point, or texts at a point."""

    entity: Entity
    layer: str
    path: Path | None = None
    at: Point | None = None
    texts: tuple[str, ...] = ()
    by: Affine = SAME

    @property
    def filled(self) -> bool:
        """Whether it is a filled shape: the head of an arrow, no outline."""
        return self.entity.kind == "SOLID"


@dataclass(frozen=True, slots=True)
class Insertion:
    """A block where it is inserted in modelspace."""

    block: Block
    by: Affine
    entity: Entity


class Walk:
    """Goes through a document; weighs it first, so that no file can keep it for ever."""

    def __init__(self, document: Document) -> None:
        self.document = document
        self.unread: dict[str, int] = {}
        """Kinds of entity that were passed over, and how many."""
        self._weights: dict[str, int] = {}
        names = [block.name.upper() for block in own_blocks(document)]
        total = sum(self._weight(name, ()) for name in names)
        if total + self._weigh(document.entities, ()) > MOST_TAGS:
            raise too_much()

    def block(self, block: Block, by: Affine) -> Iterator[Drawn]:
        """Yield everything in a block, mapped from its coordinates by `by`."""
        yield from self._entities(block.entities, by, parent="")

    def loose(self) -> Iterator[Drawn]:
        """Yield what lies in modelspace itself, insertions left out."""
        plain = [e for e in self.document.entities if e.kind != "INSERT" and _in_model(e)]
        yield from self._entities(plain, Affine(), parent="")

    def insertions(self) -> Iterator[Insertion]:
        """Yield the blocks inserted in modelspace."""
        for entity in self.document.entities:
            if entity.kind == "INSERT" and _in_model(entity):
                block = self.document.blocks.get(entity.text(2).strip().upper())
                if block is not None:
                    for by in self._places(entity, block):
                        yield Insertion(block, by, entity)

    def attributes(self, entity: Entity) -> list[tuple[str, str]]:
        """Return tag and value of the attributes of an insertion."""
        return [(p.text(2).strip(), " ".join(text_lines(p.text(1)))) for p in entity.parts]

    def _weight(self, name: str, within: tuple[str, ...]) -> int:
        """Return how many tags a block draws with all that is inserted in it."""
        block = self.document.blocks.get(name)
        if block is None:
            return 0
        if name in within:
            raise PatternError(
                f"block {block.name!r} contains itself",
                line=block.line,
                hint="resolve the block (explode it) in the drawing",
            )
        if len(within) >= _DEEPEST:
            raise PatternError(
                "blocks lie too deep in one another",
                line=block.line,
                hint="resolve the blocks (explode them) in the drawing",
            )
        if name not in self._weights:
            self._weights[name] = self._weigh(block.entities, (*within, name))
        return self._weights[name]

    def _weigh(self, entities: Sequence[Entity], within: tuple[str, ...]) -> int:
        total = 0
        for entity in entities:
            total += entity.end - entity.begin
            if entity.kind == "INSERT":
                inner = self._weight(entity.text(2).strip().upper(), within)
                columns, rows = _grid(entity)
                total += columns * rows * (inner + 1)
        return total

    def _entities(self, entities: Sequence[Entity], by: Affine, *, parent: str) -> Iterator[Drawn]:
        for entity in entities:
            layer = entity.layer
            if layer in ("0", "") and parent:
                layer = parent
            if layer in self.document.hidden or entity.integer(60) == 1:
                self._pass_over("hidden")
            elif entity.kind == "INSERT":
                yield from self._inserted(entity, by, layer=layer)
            elif (drawn := self._drawn(entity, by, layer)) is not None:
                yield drawn

    def _inserted(self, entity: Entity, by: Affine, *, layer: str) -> Iterator[Drawn]:
        name = entity.text(2).strip().upper()
        block = self.document.blocks.get(name)
        if block is None:
            self._pass_over("INSERT of a missing block")
            return
        for place in self._places(entity, block):
            yield from self._entities(block.entities, by.after(place), parent=layer)

    def _places(self, entity: Entity, block: Block) -> Iterator[Affine]:
        """Yield the maps of an insertion; rows and columns give several."""
        turn = Affine.turn(entity.number(50))
        scale = Affine(entity.number(41, 1.0), 0.0, 0.0, entity.number(42, 1.0))
        own = flat(entity)
        if own is None or scale.a == 0.0 or scale.d == 0.0:
            raise PatternError(
                "a block is inserted tilted or with scale 0",
                line=entity.line,
                hint="resolve the block (explode it) in the drawing",
            )
        base = Affine.move(-block.base[0], -block.base[1])
        columns, rows = _grid(entity)
        for i in range(columns):
            for j in range(rows):
                dx, dy = turn.vector((i * entity.number(44), j * entity.number(45)))
                at = Affine.move(entity.number(10) + dx, entity.number(20) + dy)
                yield own.after(at.after(turn.after(scale.after(base))))

    def _drawn(self, entity: Entity, by: Affine, layer: str) -> Drawn | None:
        kind = entity.kind
        if kind in SHAPES:
            own = Affine() if kind in ("LINE", "ELLIPSE", "SPLINE") else flat(entity)
            if own is None:
                self._pass_over(f"tilted {kind}")
                return None
            segments = SHAPES[kind](entity)
            path = clean(segments, line=entity.line)
            if path is None:
                return None
            whole = by.after(own)
            return Drawn(entity, layer, path.transformed(whole) if whole != Affine() else path)
        if kind == "POINT":
            return Drawn(entity, layer, at=by((entity.number(10), entity.number(20))), by=by)
        if kind in ("TEXT", "MTEXT"):
            whole = by.after(flat(entity) or Affine()) if kind == "TEXT" else by
            at = whole(_anchor(entity))
            return Drawn(entity, layer, at=at, texts=_texts(entity), by=whole)
        if kind not in _SILENT:
            self._pass_over(kind)
        return None

    def _pass_over(self, what: str) -> None:
        self.unread[what] = self.unread.get(what, 0) + 1


def own_blocks(document: Document) -> list[Block]:
    """Return the blocks that a person made: no layouts, no anonymous ones."""
    return [block for block in document.blocks.values() if not block.name.startswith("*")]


def layers(document: Document) -> Iterator[str]:
    """Give the layers on which something is drawn."""
    for entities in (document.entities, *(block.entities for block in own_blocks(document))):
        yield from (entity.layer for entity in entities)


def _grid(entity: Entity) -> tuple[int, int]:
    """Return the columns and rows in which a block is inserted."""
    return max(1, entity.integer(70, 1)), max(1, entity.integer(71, 1))


def _in_model(entity: Entity) -> bool:
    return entity.integer(67) == 0


def _anchor(entity: Entity) -> Point:
    """Return where a text stands; aligned ones have a second point (DXF reference, TEXT)."""
    aligned = entity.kind == "TEXT" and (entity.integer(72) or entity.integer(73))
    if aligned and entity.raw(11) is not None:
        return (entity.number(11), entity.number(21))
    return (entity.number(10), entity.number(20))


def text_anchor(entity: Entity, line: int = 0, of: int = 1) -> tuple[float, float]:
    """Return where on a line of a text its place is: of its width, of its capitals' height.

    Groups 72 and 73 of TEXT; of MTEXT 71, and lines 5/3 of the height apart (DXF reference).
    """
    if entity.kind == "MTEXT":
        at = max(1, min(9, entity.integer(71, 1))) - 1
        up, above = ((1.0, 0.0), (0.5, 0.5 * (of - 1)), (0.0, of - 1.0))[at // 3]
        return (0.0, 0.5, 1.0)[at % 3], up + (line - above) * 5.0 / 3.0
    across = entity.integer(72)
    along = {1: 0.5, 2: 1.0, 4: 0.5}.get(across, 0.0)
    up = 0.5 if across == 4 else {2: 0.5, 3: 1.0}.get(entity.integer(73), 0.0)
    return along, up


def _texts(entity: Entity) -> tuple[str, ...]:
    several = entity.kind == "MTEXT"
    whole = "".join(entity.texts(3, 1)) if several else entity.text(1)
    return text_lines(whole, several=several)


def text_height(drawn: Drawn) -> float:
    """Return the height of a text as it is drawn."""
    by = drawn.by
    return drawn.entity.number(40) * math.sqrt(abs(by.a * by.d - by.b * by.c))
