"""Blocks of sewn-product DXF, inserted or not, and what lies outside of them."""

from __future__ import annotations

import pytest

from nesting.pattern.measure import bounds, signed_area
from nesting.pattern.piece import MarkKind
from nesting.reading.read import read_pattern
from tests.unit.reading.dxf.found import GRAIN, kinds, marks, only


@pytest.mark.parametrize("scale", [2.0, 0.5])
def test_blocks_inserted_with_scale_are_scaled(dxf, saved, scale):
    content = [dxf.poly(1, dxf.SQUARE), dxf.point(4, 200, 0, 30, 5.0)]
    place = dxf.insert("A", 41, scale, 42, scale)
    pattern = read_pattern(saved(dxf.file({"A": content}, [place], insert=False)))
    piece = only(pattern).piece
    assert pattern.largest == pytest.approx((400 * scale, 300 * scale))
    assert marks(piece, MarkKind.NOTCH)[0].size == pytest.approx(5.0 * scale)
    assert any(f.kind == "scale" and f"scale {scale:g}" in f.text for f in pattern.findings)


def test_a_block_inserted_turned_keeps_its_grain(dxf, saved):
    content = [dxf.poly(1, dxf.SQUARE), dxf.line(*GRAIN)]
    place = dxf.insert("A", 50, 90.0)
    piece = only(read_pattern(saved(dxf.file({"A": content}, [place], insert=False)))).piece
    assert piece.grain == pytest.approx(90.0)
    assert bounds(piece.cut) == pytest.approx((-300, 0, 0, 400))


def test_a_block_inserted_mirrored_is_taken_as_drawn(dxf, saved):
    ring = [(0, 0), (400, 0), (100, 300)]
    place = dxf.insert("A", 41, -1.0)
    pattern = read_pattern(saved(dxf.file({"A": [dxf.poly(1, ring)]}, [place], insert=False)))
    turned = only(pattern).piece.cut
    assert signed_area(turned) > 0
    assert "mirrored" in kinds(pattern)


def test_blocks_that_are_never_inserted(dxf, saved):
    text = dxf.file({"A": [dxf.poly(1, dxf.SQUARE)]}, insert=False)
    assert only(read_pattern(saved(text))).piece.name == "A"


def test_pieces_in_modelspace_without_blocks(dxf, saved):
    other = [(500 + x, y) for x, y in dxf.SQUARE]
    entities = [
        dxf.poly(1, dxf.SQUARE),
        dxf.poly(1, other),
        dxf.line(7, 50, 150, 350, 150),
        dxf.line(7, 700, 50, 700, 250),
        dxf.text("Left", 100, 100, layer=15),
        dxf.text("Right", 600, 100, layer=15),
    ]
    pattern = read_pattern(saved(dxf.file({}, entities)))
    assert [(p.name, p.grain) for p in pattern.pieces] == [("Left", 0.0), ("Right", 90.0)]


def test_pieces_without_blocks_have_their_own_names_and_quantities(dxf, saved):
    entities = [
        dxf.poly(1, dxf.SQUARE),
        dxf.poly(1, [(500 + x, y) for x, y in dxf.SQUARE]),
        dxf.line(7, 50, 150, 350, 150),
        dxf.text("Piece Name: Back", 600, 100),
        dxf.text("Quantity: 1,1", 600, -90),
        dxf.text("Piece Name: Front", 100, 100),
        dxf.text("Quantity: 2,0", 100, -90),
    ]
    pattern = read_pattern(saved(dxf.file({}, entities)))
    told = [(f.piece.name, f.right, f.left) for f in pattern.found]
    assert told == [("Front", 2, 0), ("Back", 1, 1)]


@pytest.mark.parametrize("layer", [1, 8, 15])
def test_a_name_inside_counts_and_a_title_beside_does_not(dxf, saved, layer):
    title = dxf.text("MARKET TOTE", 900, 700, layer=layer)
    entities = [
        dxf.poly(1, dxf.SQUARE),
        dxf.poly(1, [(500 + x, y) for x, y in dxf.SQUARE]),
        dxf.line(7, 50, 150, 350, 150),
        dxf.text("Left", 100, 100, layer=layer),
        title,
    ]
    pattern = read_pattern(saved(dxf.file({}, entities)))
    assert [piece.name for piece in pattern.pieces] == ["Left", "piece"]
    assert any("beside the pieces" in f.text and "MARKET TOTE" in f.text for f in pattern.findings)


@pytest.mark.parametrize("named", [True, False])
def test_quantities_without_blocks_go_to_the_piece_they_stand_in(dxf, saved, named):
    entities = [dxf.line(7, 50, 20, 50, 200)]
    for x, name, said in ((0, "Left", "1,0"), (500, "Right", "0,1")):
        words = f"Piece Name: {name}" if named else name
        entities += [
            dxf.poly(1, [(x + px, py) for px, py in dxf.SQUARE]),
            dxf.text(words, x + 20, 60),
            dxf.text(f"Quantity: {said}", x + 20, 40),
        ]
    pattern = read_pattern(saved(dxf.file({}, entities)))
    told = {f.piece.name: (f.right, f.left) for f in pattern.found}
    assert told == {"Left": (1, 0), "Right": (0, 1)}


@pytest.mark.parametrize("layer", [1, "front", "0"])
def test_a_title_beside_the_only_piece_does_not_name_it(dxf, saved, layer):
    title = dxf.text("A bag of summer", 100, -230, layer="0", height=20)
    entities = [dxf.poly(layer, dxf.SQUARE), dxf.line(7, 50, 20, 50, 200), title]
    pattern = read_pattern(saved(dxf.file({}, entities, units=None)), unit="mm")
    assert only(pattern).piece.name == ("front" if layer == "front" else "piece")
    assert any("left out: 'A bag of summer'" in f.text for f in pattern.findings)


def test_a_block_inserted_four_times_is_cut_four_times(dxf, saved):
    places = [[0, "INSERT", 8, 1, 2, "A", 10, 500 * i, 20, 0] for i in range(4)]
    text = dxf.file({"A": [dxf.poly(1, dxf.SQUARE)]}, places, insert=False)
    found = only(read_pattern(saved(text)))
    assert (found.right, found.left) == (4, 0)


def test_piece_text_in_modelspace_goes_to_the_piece_under_it(dxf, saved):
    places = [dxf.insert("A"), [0, "INSERT", 8, 1, 2, "B", 10, 1000, 20, 0]]
    texts = [
        dxf.text("Piece Name: Back", 1100, 100),
        dxf.text("Quantity: 2,0", 1100, 90),
        dxf.text("Piece Name: Front", 100, 100),
        dxf.text("Quantity: 1,1", 100, 90),
    ]
    blocks = {"A": [dxf.poly(1, dxf.SQUARE)], "B": [dxf.poly(1, dxf.SQUARE)]}
    pattern = read_pattern(saved(dxf.file(blocks, [*places, *texts], insert=False)))
    told = {f.piece.name: (f.right, f.left) for f in pattern.found}
    assert told == {"Front": (1, 1), "Back": (2, 0)}
    assert kinds(pattern).count("text") == 2
