"""Outlines in sewn-product DXF: of lines, open, doubled, crossed, shared."""

from __future__ import annotations

import math

import pytest

from nesting.errors import PatternError, Severity
from nesting.pattern.measure import area
from nesting.reading.read import read_pattern
from tests.unit.reading.dxf.found import kinds, only


def test_lines_and_arcs_instead_of_a_polyline(dxf, saved):
    arc = [0, "ARC", 8, 1, 10, 400, 20, 150, 40, 150, 50, 270, 51, 90]
    content = [
        dxf.line(1, 0, 0, 400, 0),
        dxf.line(1, 0, 300, 0, 0),
        arc,
        dxf.line(1, 0, 300, 400, 300),
    ]
    piece = only(read_pattern(saved(dxf.file({"A": content})))).piece
    assert area(piece.cut) == pytest.approx(400 * 300 + math.pi * 150**2 / 2, rel=1e-9)


@pytest.mark.parametrize(("gap", "told"), [(0.01, False), (0.4, True)])
def test_an_open_outline_is_closed_within_the_tolerance(dxf, saved, gap, told):
    ring = [*dxf.SQUARE, (0, gap)]
    pattern = read_pattern(saved(dxf.file({"A": [dxf.poly(1, ring, closed=False)]})))
    assert area(only(pattern).piece.cut) == pytest.approx(400 * 300, rel=1e-4)
    gaps = [f for f in pattern.findings if f.kind == "gap"]
    assert len(gaps) == told
    if told:
        assert gaps[0].amount == pytest.approx(gap)
        assert gaps[0].severity is Severity.NOTE


def test_an_outline_open_too_far_is_a_fault(dxf, saved):
    ring = [*dxf.SQUARE, (0, 20)]
    blocks = {"A": [dxf.poly(1, ring, closed=False)], "B": [dxf.poly(1, dxf.SQUARE)]}
    pattern = read_pattern(saved(dxf.file(blocks)))
    assert only(pattern).piece.name == "B"
    fault = next(f for f in pattern.findings if f.severity is Severity.FAULT)
    assert "open by 20 mm" in fault.text
    with pytest.raises(PatternError, match="open by 20 mm"):
        pattern.piece("A")
    with pytest.raises(PatternError, match="open by 20 mm"):
        read_pattern(saved(dxf.file({"A": [dxf.poly(1, ring, closed=False)]})))


@pytest.mark.parametrize("double", ["poly", "reversed", "soup"])
def test_doubled_lines_count_once(dxf, saved, double):
    again = {
        "poly": dxf.poly(1, dxf.SQUARE),
        "reversed": dxf.poly(1, dxf.SQUARE[::-1]),
        "soup": dxf.soup(1, dxf.SQUARE),
    }[double]
    pattern = read_pattern(saved(dxf.file({"A": [dxf.poly(1, dxf.SQUARE), again]})))
    assert only(pattern).piece.holes == ()
    assert "doubled" in kinds(pattern)


def test_a_vertex_given_twice_and_a_closing_vertex_are_nothing(dxf, saved):
    ring = [(0, 0), (0, 0), (400, 0), (400, 300), (400, 300), (0, 300), (0, 0)]
    piece = only(read_pattern(saved(dxf.file({"A": [dxf.poly(1, ring)]})))).piece
    assert len(piece.cut.segments) == 4


SEAM = [(10, 10), (390, 10), (390, 290), (10, 290)]


def test_two_parallel_contours_to_cut_are_asked_about(dxf, saved):
    """A seam line on the layer of outlines would make a hoop of the piece."""
    content = [dxf.poly(1, dxf.SQUARE), dxf.poly(1, SEAM)]
    with pytest.raises(PatternError, match="a sewing line or a cut-out"):
        read_pattern(saved(dxf.file({"A": content})))
    for layer, told in ((11, (1, False)), (14, (0, True))):
        piece = only(
            read_pattern(saved(dxf.file({"A": [content[0], dxf.poly(layer, SEAM)]})))
        ).piece
        assert (len(piece.holes), piece.sew is not None) == told


@pytest.mark.parametrize(
    ("outline", "layer"),
    [(1, 14), *((o, s) for o in (1, "front") for s in ("Seam_lines", "Stitch", "sewing_line"))],
)
@pytest.mark.parametrize("inside", [True, False])
def test_a_seam_line_belongs_to_the_block_it_lies_on(dxf, saved, outline, layer, inside):
    seam = dxf.poly(layer, SEAM)
    outer = dxf.poly(outline, dxf.SQUARE)
    blocks, loose = ({"A": [outer, seam]}, []) if inside else ({"A": [outer]}, [seam])
    pattern = read_pattern(saved(dxf.file(blocks, loose)), unit="mm")
    assert only(pattern).piece.sew is not None
    assert not any(f.kind in ("stray", "layer") for f in pattern.findings)


def test_what_lies_on_no_block_is_told(dxf, saved):
    far = dxf.poly(14, [(x + 900, y) for x, y in SEAM])
    pattern = read_pattern(saved(dxf.file({"A": [dxf.poly(1, dxf.SQUARE)]}, [far])))
    assert any("belong to no piece: 1 line(s)" in f.text for f in pattern.findings)


def test_an_edge_that_two_pieces_share_is_an_edge_of_both(dxf, saved):
    ends = [(0, 0, 200, 0), (200, 0, 200, 300), (200, 300, 0, 300), (0, 300, 0, 0)]
    ends += [(200, 0, 400, 0), (400, 0, 400, 300), (400, 300, 200, 300)]
    names = [dxf.text("Left", 50, 50, layer=15), dxf.text("Right", 250, 50, layer=15)]
    grain = dxf.line(7, 50, 20, 50, 200)
    entities = [*(dxf.line(1, *four) for four in ends), *names, grain]
    pattern = read_pattern(saved(dxf.file({}, entities)))
    assert {f.piece.name: f.extent for f in pattern.found} == {
        "Left": (200, 300),
        "Right": (200, 300),
    }
    assert kinds(pattern).count("shared") == 1


def test_an_outline_that_crosses_itself_is_left_out(dxf, saved):
    bow = [(0, 0), (400, 300), (400, 0), (0, 310)]
    blocks = {"A": [dxf.poly(1, bow)], "B": [dxf.poly(1, dxf.SQUARE)]}
    pattern = read_pattern(saved(dxf.file(blocks)))
    assert only(pattern).piece.name == "B"
    assert any("crosses" in f.text and f.parts == ("A",) for f in pattern.findings)


def test_a_cut_out_outside_is_a_fault(dxf, saved):
    away = [(600, 0), (640, 0), (640, 40), (600, 40)]
    content = [dxf.poly(1, dxf.SQUARE), dxf.poly(11, away)]
    pattern = read_pattern(saved(dxf.file({"A": content})))
    assert only(pattern).piece.holes == ()
    assert any(f.severity is Severity.FAULT and f.kind == "cut-out" for f in pattern.findings)
