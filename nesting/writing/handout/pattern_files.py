"""The pattern itself, for those who cut by machine: as sewn-product DXF and as SVG."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path as FilePath

from nesting.job.job import Job
from nesting.names import another_name, listed
from nesting.pattern.piece import Piece
from nesting.writing.handout.pattern_pieces import CutPiece, cut_pieces
from nesting.writing.handout.pieces_svg import pieces_svg
from nesting.writing.handout.sewn_dxf import sewn_dxf

__all__ = ["write_pattern_dxf", "write_pattern_svg"]


def write_pattern_dxf(job: Job, path: FilePath) -> None:
    """Write the pieces as sewn-product DXF, in the job's system of units."""
    named = _named(cut_pieces(job))
    text = sewn_dxf(
        [piece for piece, _ in named],
        style=job.name,
        quantities={piece.name: shape.quantity for piece, shape in named},
        materials={piece.name: _materials(shape) for piece, shape in named},
        inches=job.amounts.inches,
    )
    path.write_text(text, encoding="ascii")


def write_pattern_svg(job: Job, path: FilePath) -> None:
    """Write the pieces as SVG at true size, a group for each."""
    named = _named(cut_pieces(job))
    quantities = {piece.name: shape.quantity for piece, shape in named}
    text = pieces_svg([piece for piece, _ in named], quantities=quantities)
    path.write_text(text, encoding="utf-8")


def _named(shapes: Sequence[CutPiece]) -> list[tuple[Piece, CutPiece]]:
    """Return the pieces under their titles, which are made different where they are not."""
    taken: set[str] = set()
    found = []
    for shape in shapes:
        name = another_name(shape.title, taken)
        taken.add(name)
        found.append((replace(shape.piece, name=name), shape))
    return found


def _materials(shape: CutPiece) -> str:
    return listed(list(dict.fromkeys(cut.material for cut in shape.cuts)))
