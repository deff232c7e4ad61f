"""What a pattern file holds, as rows to print."""

from __future__ import annotations

from dataclasses import dataclass

from shapely import LinearRing
from shapely import Point as ShapelyPoint

from nesting.amounts import METRIC, Amounts
from nesting.errors import Severity
from nesting.pattern.measure import area
from nesting.pattern.path import Path
from nesting.pattern.piece import MarkKind
from nesting.reading.pattern_file import Found, Pattern
from nesting.reading.unit.scale import size_text
from nesting.tolerance import TOLERANCE

__all__ = ["Row", "headline", "list_pieces"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One piece: lengths in mm, area in mm² without cut-outs.

    `grain`: the end that is up lies there, if `up_known`. `allowance`: the least and the
    greatest, if the sewing line is drawn inside the cutting line.
    `quantity`: "1 right, 1 left", or "" if the file doesn't say. `uncertainty`: how far (mm) the
    outline may be off anywhere, if the file is a picture. `faults`,
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
    allowance: tuple[float, float] | None
    opened: bool
    holes: int
    notches: int
    drills: int
    lines: int
    texts: int
    uncertainty: float | None
    faults: tuple[str, ...]
    notes: tuple[str, ...]


def list_pieces(pattern: Pattern) -> tuple[Row, ...]:
    """Return a row for every piece, in the file's order."""
    return tuple(_row(found, pattern) for found in pattern.found)


def headline(pattern: Pattern, amounts: Amounts = METRIC) -> str:
    """Return one sentence: what kind of file, how many pieces, how large, in which unit and why."""
    count = len(pattern.found)
    scale = pattern.scale
    size = f", size {pattern.size}" if pattern.size else ""
    return (
        f"{pattern.kind}, {count} piece{'s' if count != 1 else ''}{size}, the largest "
        f"{size_text(pattern.largest, amounts)}; unit: {scale.unit} ({scale.why})"
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
        allowance=None if piece.sew is None else _allowance(piece.cut, piece.sew),
        opened=found.opened,
        holes=len(piece.holes),
        notches=kinds.count(MarkKind.NOTCH),
        drills=kinds.count(MarkKind.DRILL),
        lines=kinds.count(MarkKind.LINE) + kinds.count(MarkKind.OUTLINE),
        texts=kinds.count(MarkKind.TEXT),
        uncertainty=found.uncertainty,
        faults=tuple(f.text for f in about if f.severity is Severity.FAULT),
        notes=tuple(f.text for f in about if f.severity is Severity.NOTE),
    )


def _allowance(cut: Path, sew: Path) -> tuple[float, float]:
    """Return the least and the greatest distance of a sewing line from the cutting line."""
    edge = LinearRing(cut.points(TOLERANCE.chord))
    places = [at for segment in sew.segments for at in (segment.start, segment.at(0.5))]
    apart = [round(edge.distance(ShapelyPoint(at)), 3) for at in places]
    return min(apart), max(apart)
