"""How long pattern files take to read.

Run ``python -m benchmarks.reading [pieces [vertices]]``. The pattern is invented: pieces
of one wavy outline with a sewing line, a curve point for every vertex, notches, grain
and text, written as sewn-product DXF, and as SVG. For comparison the time that ezdxf
takes to load the same DXF, which reads no pieces from it yet.
"""

from __future__ import annotations

import argparse
import math
import tempfile
from collections.abc import Callable
from pathlib import Path as FilePath
from time import perf_counter, process_time

from ezdxf.filemanagement import readfile

from nesting.pattern.path import Path
from nesting.pattern.piece import Mark, MarkKind, Piece
from nesting.reading.read import read_pattern
from nesting.writing.handout.pieces_svg import pieces_svg
from nesting.writing.handout.sewn_dxf import sewn_dxf


def invented(pieces: int, vertices: int) -> list[Piece]:
    """Return pieces with so many vertices each."""

    def ring(share: float) -> list[tuple[float, float]]:
        turns = (math.tau * k / vertices for k in range(vertices))
        return [
            (share * (200 * math.cos(t) + 8 * math.cos(7 * t)), share * 150 * math.sin(t))
            for t in turns
        ]

    cut, sew = (Path.polyline(ring(share), closed=True) for share in (1.0, 0.93))
    notches = tuple(
        Mark(kind=MarkKind.NOTCH, at=segment.start, size=4.0)
        for segment in cut.segments[:: max(1, vertices // 8)]
    )
    return [
        Piece(name=f"Piece {i}", cut=cut, sew=sew, marks=notches, grain=90.0)
        for i in range(1, pieces + 1)
    ]


def _blocks(path: FilePath) -> int:
    return sum(not block.name.startswith("*") for block in readfile(path).blocks)


def main() -> None:
    """Print a line for each format."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("pieces", type=int, nargs="?", default=500, help="(500)")
    asked.add_argument("vertices", type=int, nargs="?", default=60, help="of each piece (60)")
    how = asked.parse_args()
    pieces, vertices = how.pieces, how.vertices
    pattern = invented(pieces, vertices)
    with tempfile.TemporaryDirectory() as folder:
        dxf, svg = FilePath(folder) / "pattern.dxf", FilePath(folder) / "pattern.svg"
        dxf.write_text(sewn_dxf(pattern), encoding="ascii")
        svg.write_text(pieces_svg(pattern), encoding="utf-8")
        jobs: list[tuple[str, FilePath, Callable[[], int]]] = [
            ("sewn-product DXF", dxf, lambda: len(read_pattern(dxf).pieces)),
            ("SVG", svg, lambda: len(read_pattern(svg).pieces)),
            ("ezdxf alone", dxf, lambda: _blocks(dxf)),
        ]
        print(f"{pieces} pieces of {vertices} vertices")
        for name, path, job in jobs:
            wall, cpu = perf_counter(), process_time()
            count = job()
            wall, cpu = perf_counter() - wall, process_time() - cpu
            size = path.stat().st_size / 1e6
            print(f"{name:>18}: {count} pieces, {size:.1f} MB, {wall:.2f} s ({cpu:.2f} s CPU)")


if __name__ == "__main__":
    main()
