"""A print of many sheets asks each sheet only for what is on it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from nesting.marker.lay import Lay, Part, Strip
from nesting.marker.marker import Marker, Placement
from nesting.pattern.piece import Piece
from nesting.pattern.shapes import rectangle
from nesting.writing.neutral.draw import draw
from nesting.writing.neutral.drawing import Label
from nesting.writing.paper.print_pdf import print_drawings
from nesting.writing.paper.tiling import Tile


class Counted(tuple[Label, ...]):
    """Labels that count how often they are gone through."""

    times = 0

    def __iter__(self) -> Iterator[Label]:
        Counted.times += 1
        return super().__iter__()


def test_what_a_sheet_takes_does_not_grow_with_the_others(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    named = 0
    plain = Tile.name.fget  # type: ignore[attr-defined]

    def counted(tile: Tile) -> str:
        nonlocal named
        named += 1
        return str(plain(tile))

    piece = Piece(name="panel", cut=rectangle(280.0, 180.0))
    parts = tuple(Part(name=f"{i}", piece=piece, copy=i + 1, copies=20) for i in range(20))
    places = tuple(
        Placement(part=i, x=300.0 * (i % 5), y=200.0 * (i // 5)) for i in range(len(parts))
    )
    lay = Lay(name="Canvas", parts=parts, stock=Strip(width=800.0))
    drawing = draw(Marker(lay=lay, placements=places))
    many = replace(drawing, labels=Counted(drawing.labels))
    monkeypatch.setattr(Tile, "name", property(counted))
    Counted.times = 0
    (tiling,) = print_drawings([many], tmp_path / "print.pdf")
    assert len(tiling.tiles) > 20
    # Names of joins, of the map and of the sheets themselves.
    assert len(tiling.tiles) < named < 20 * len(tiling.tiles)
    assert 0 < Counted.times < 10
