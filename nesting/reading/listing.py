"""What a pattern file holds, as rows to print."""

from __future__ import annotations

from dataclasses import dataclass

from nesting.errors import Severity
from nesting.pattern.measure import area
from nesting.pattern.piece import MarkKind
from nesting.reading.pattern_file import Found, Pattern
from nesting.reading.scale import size_text

__all__ = ["Row", "headline", "list_pieces"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One piece: lengths in mm, area in mm² without cut-outs.

    `grain`: the end that is up lies there, if `up_known`.
    `quantity`: "1 right, 1 left", or "" if the file doesn't say. `faults`,
    `notes`: what was found about it.
    """

    name: str
    quantity: str
    material: str
    size: str
    length: float
    width: float
    area: float
    grain: float
    up_known: bool
    sewn: bool
    opened: bool
    holes: int
    notches: int
    drills: int
    lines: int
    texts: int
    faults: tuple[str, ...]
    notes: tuple[str, ...]


def list_pieces(pattern: Pattern) -> tuple[Row, ...]:
    """Return a row for every piece, in the file's order."""
    return tuple(_row(found, pattern) for found in pattern.found)


def headline(pattern: Pattern) -> str:
    """Return one sentence: what kind of file, how many pieces, how large, in which unit and why."""
    count = len(pattern.found)
    scale = pattern.scale
    size = f", size {pattern.size}" if pattern.size else ""
    return (
        f"{pattern.kind}, {count} piece{'s' if count != 1 else ''}{size}, the largest "
        f"{size_text(pattern.largest)}; unit: {scale.unit} ({scale.why})"
    )


def _row(found: Found, pattern: Pattern) -> Row:
    piece = found.piece
    kinds = [mark.kind for mark in piece.marks]
    about = [finding for finding in pattern.findings if piece.name in finding.parts]
    length, width = found.extent
    return Row(
        name=piece.name,
        quantity="" if found.right is None else f"{found.right} right, {found.left or 0} left",
        material=found.material,
        size=found.size,
        length=length,
        width=width,
        area=area(piece.cut) - sum(area(hole) for hole in piece.holes),
        grain=piece.grain,
        up_known=found.up_known,
        sewn=piece.sew is not None,
        opened=found.opened,
        holes=len(piece.holes),
        notches=kinds.count(MarkKind.NOTCH),
        drills=kinds.count(MarkKind.DRILL),
        lines=kinds.count(MarkKind.LINE) + kinds.count(MarkKind.OUTLINE),
        texts=kinds.count(MarkKind.TEXT),
        faults=tuple(f.text for f in about if f.severity is Severity.FAULT),
        notes=tuple(f.text for f in about if f.severity is Severity.NOTE),
    )
