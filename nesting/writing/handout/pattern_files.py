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
    """Write the pieces as sewn-product DXF, in the job's system of units, in every size."""
    sized = [(size, cut_pieces(job.in_size(size))) for size in job.sizes or ("",)]
    named = _named([_titled(shape, size) for size, shapes in sized for shape in shapes])
    whose = [(shape.title, size) for size, shapes in sized for shape in shapes]
    text = sewn_dxf(
        [piece for piece, _ in named],
        style=job.name,
        quantities={piece.name: shape.quantity for piece, shape in named},
        materials={piece.name: _materials(shape) for piece, shape in named},
        sizes={piece.name: it for (piece, _), it in zip(named, whose, strict=True)},
        sample=job.size,
        inches=job.amounts.inches,
    )
    path.write_text(text, encoding="ascii")


def write_pattern_svg(job: Job, path: FilePath) -> None:
    """Write the pieces as SVG at true size, a group for each, and for each size that differs."""
    named = _named(_in_sizes(job))
    quantities = {piece.name: shape.quantity for piece, shape in named}
    text = pieces_svg([piece for piece, _ in named], quantities=quantities)
    path.write_text(text, encoding="utf-8")


def _titled(shape: CutPiece, size: str) -> CutPiece:
    return replace(shape, title=f"{shape.title}, size {size}") if size else shape


def _in_sizes(job: Job) -> list[CutPiece]:
    """Return the pieces of all sizes, those that are the same in all of them once."""
    if not job.sizes:
        return [*cut_pieces(job)]
    found: dict[tuple[str, str], list[CutPiece]] = {}
    for size in job.sizes:
        for shape in cut_pieces(job.in_size(size)):
            found.setdefault((shape.bag, shape.title), []).append(_titled(shape, size))
    pieces: list[CutPiece] = []
    for (_, title), those in found.items():
        alike = len({(one.piece.cut, one.piece.sew) for one in those}) == 1
        pieces += [replace(those[0], title=title)] if alike else those
    return pieces


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
