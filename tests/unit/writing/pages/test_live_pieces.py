"""A piece for the page, as it was drawn: its grain where it is, with one head where up is known."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from nesting.pattern.affine import Affine
from nesting.pattern.piece import Piece
from nesting.pattern.shapes import rectangle
from nesting.pattern.svg_path import parse_path
from nesting.writing.pages.live.pieces import live_piece


@pytest.mark.parametrize("grain", [0.0, 30.0, 90.0, 225.0])
def test_a_piece_is_drawn_as_it_was_read(grain: float) -> None:
    piece = Piece(name="flap", cut=rectangle(200, 80, radius=10), grain=grain)
    drawn: Any = live_piece(piece)
    assert drawn["box"] == pytest.approx([0.0, -80.0, 200.0, 80.0])
    (outline,) = parse_path(drawn["lines"][0]["d"])
    back = outline.transformed(Affine.mirror())
    there, here = (sum(path.points(0.1), ()) for path in (back, piece.cut))
    assert there == pytest.approx(here, abs=1e-6)
    arrows = [line for line in drawn["lines"] if line["is"] == "grain"]
    unsure: Any = live_piece(replace(piece, up_known=False))
    assert arrows
    assert [line for line in unsure["lines"] if line["is"] == "grain"] != arrows
