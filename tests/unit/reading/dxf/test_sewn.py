from __future__ import annotations

import math

import pytest

from nesting.errors import PatternError, Severity
from nesting.pattern.measure import area, bounds, signed_area
from nesting.pattern.piece import MarkKind, NotchStyle
from nesting.reading.read import read_pattern

GRAIN = (7, 50.0, 150.0, 350.0, 150.0)


def kinds(pattern) -> list[str]:
    return [finding.kind for finding in pattern.findings]


def only(pattern):
    assert len(pattern.found) == 1
    return pattern.found[0]


def marks(piece, kind: MarkKind):
    return [mark for mark in piece.marks if mark.kind is kind]


def test_a_block_is_a_piece_with_everything_the_layers_say(dxf, saved):
    hole = [(180, 100), (220, 100), (220, 140), (180, 140)]
    inner = [(10, 10), (390, 10), (390, 290), (10, 290)]
    content = [
        dxf.poly(1, dxf.SQUARE),
        dxf.poly(14, inner),
        dxf.poly(11, hole),
        dxf.line(*GRAIN),
        dxf.line(8, 50, 50, 90, 80),
        dxf.poly(8, [(300, 50), (340, 50), (320, 80)]),
        dxf.point(13, 100, 200, 30, 4.0),
        dxf.text("1", 100, 200, layer=13),
        dxf.text("sew first", 60, 250, layer=15, height=3.5),
        *(dxf.point(2, x, y) for x, y in dxf.SQUARE),
        dxf.point(3, 200, 300),
        dxf.text("Piece Name: Front"),
        dxf.text("Quantity: 1,1"),
        dxf.text("Material: shell"),
    ]
    pattern = read_pattern(saved(dxf.file({"FRONT": content})))
    found = only(pattern)
    piece = found.piece
    assert pattern.kind == "sewn-product DXF"
    assert (piece.name, found.right, found.left, found.material) == ("Front", 1, 1, "shell")
    assert pattern.scale.unit == "mm"
    assert "METRIC" in pattern.scale.why
    assert area(piece.cut) == pytest.approx(400 * 300)
    assert signed_area(piece.cut) > 0
    assert piece.sew is not None
    assert area(piece.sew) == pytest.approx(380 * 280)
    assert [signed_area(h) for h in piece.holes] == [pytest.approx(-1600)]
    assert piece.grain == 0.0
    (drill,) = marks(piece, MarkKind.DRILL)
    assert (drill.at, drill.size, drill.name) == ((100, 200), 4.0, "1")
    (text,) = marks(piece, MarkKind.TEXT)
    assert (text.text, text.size) == ("sew first", 3.5)
    # it begins at (60, 250); a mark's place is the middle of its capitals
    assert text.at == pytest.approx((60 + 0.5 * 3.5 / 0.729 * 3.725, 250 + 0.5 * 3.5), abs=0.2)
    assert len(marks(piece, MarkKind.LINE)) == 1
    assert len(marks(piece, MarkKind.OUTLINE)) == 1
    assert len(found.turns) == 4
    assert found.curves == ((200.0, 300.0),)
    assert {f.kind for f in pattern.findings} <= {"up"}


@pytest.mark.parametrize(
    ("layer", "width", "style"),
    [
        (4, None, NotchStyle.SLIT),
        (4, 6.0, NotchStyle.V),
        (80, 3.0, NotchStyle.T),
        (81, 4.0, NotchStyle.CASTLE),
        (82, 4.0, NotchStyle.CHECK),
        (83, 5.0, NotchStyle.U),
    ],
)
def test_a_notch_has_type_depth_width_and_angle(dxf, saved, layer, width, style):
    more = [30, 7.0, 50, 100.0] + ([39, width] if width else [])
    content = [dxf.poly(1, dxf.SQUARE), dxf.line(*GRAIN), dxf.point(layer, 200, 0, *more)]
    piece = only(read_pattern(saved(dxf.file({"A": content})))).piece
    (notch,) = marks(piece, MarkKind.NOTCH)
    assert (notch.at, notch.size, notch.width) == ((200, 0), 7.0, width or 0.0)
    assert (notch.angle, notch.style) == (100.0, style)


def test_a_notch_that_points_out_is_turned_round(dxf, saved):
    content = [dxf.poly(1, dxf.SQUARE), dxf.point(4, 200, 0, 30, 7.0, 50, 270.0)]
    pattern = read_pattern(saved(dxf.file({"A": content})))
    (notch,) = marks(only(pattern).piece, MarkKind.NOTCH)
    assert notch.angle == 90.0
    assert any("pointed out" in f.text for f in pattern.findings)


def test_a_notch_on_the_sewing_line_goes_out_to_the_edge(dxf, saved):
    inner = [(10, 10), (390, 10), (390, 290), (10, 290)]
    content = [dxf.poly(1, dxf.SQUARE), dxf.poly(14, inner), dxf.point(4, 200, 10, 30, 5.0)]
    pattern = read_pattern(saved(dxf.file({"A": content})))
    (notch,) = marks(only(pattern).piece, MarkKind.NOTCH)
    assert notch.at == pytest.approx((200, 0))
    assert any("sewing line" in f.text for f in pattern.findings)


def test_a_notch_in_the_middle_is_left_out_and_told(dxf, saved):
    content = [dxf.poly(1, dxf.SQUARE), dxf.line(*GRAIN), dxf.point(4, 200, 100, 30, 5.0)]
    pattern = read_pattern(saved(dxf.file({"A": content})))
    assert marks(only(pattern).piece, MarkKind.NOTCH) == []
    (fault,) = (f for f in pattern.findings if f.kind != "up")
    assert fault.severity is Severity.FAULT
    assert "10 cm off the edge" in fault.text


@pytest.mark.parametrize("layer", [4, 8])
def test_notches_drawn_as_short_lines(dxf, saved, layer):
    content = [dxf.poly(1, dxf.SQUARE), dxf.line(layer, 120, 6, 120, 0)]
    (notch,) = marks(only(read_pattern(saved(dxf.file({"A": content})))).piece, MarkKind.NOTCH)
    assert notch.at == (120, 0)
    assert notch.size == pytest.approx(6.0)
    assert notch.angle == pytest.approx(90.0)


def test_a_v_drawn_with_two_lines_at_once(dxf, saved):
    v = dxf.poly(4, [(117, 0), (120, 5), (123, 0)], closed=False)
    content = [dxf.poly(1, dxf.SQUARE), v]
    (notch,) = marks(only(read_pattern(saved(dxf.file({"A": content})))).piece, MarkKind.NOTCH)
    assert (notch.at, notch.style) == ((120, 0), NotchStyle.V)
    assert (notch.size, notch.width) == pytest.approx((5.0, 6.0))


def test_a_long_line_from_the_edge_is_no_notch(dxf, saved):
    content = [dxf.poly(1, dxf.SQUARE), dxf.line(8, 120, 0, 120, 60)]
    piece = only(read_pattern(saved(dxf.file({"A": content})))).piece
    assert [mark.kind for mark in piece.marks] == [MarkKind.LINE]


def test_a_half_piece_is_opened_with_its_marks(dxf, saved):
    content = [
        dxf.poly(1, dxf.SQUARE),
        dxf.line(6, 0, 0, 0, 300),
        dxf.point(4, 200, 0, 30, 5.0),
        dxf.text("NM", 0, 0),
        dxf.point(13, 300, 200, 30, 3.0),
        dxf.point(13, 300, 100, 30, 3.0),
    ]
    found = only(read_pattern(saved(dxf.file({"A": content}))))
    assert found.opened
    assert bounds(found.piece.cut) == pytest.approx((-400, 0, 400, 300))
    assert found.piece.fold is not None
    assert len(marks(found.piece, MarkKind.NOTCH)) == 2
    drills = sorted(mark.at for mark in marks(found.piece, MarkKind.DRILL))
    assert drills == [(-300, 100), (300, 100), (300, 200)]


def test_a_half_piece_without_its_fold_edge_is_closed_by_the_mirror_line(dxf, saved):
    open_ring = [(0, 300), (400, 300), (400, 0), (0, 0)]
    content = [dxf.poly(1, open_ring, closed=False), dxf.line(6, 0, 0, 0, 300)]
    found = only(read_pattern(saved(dxf.file({"A": content}))))
    assert found.opened
    assert area(found.piece.cut) == pytest.approx(800 * 300)


def test_a_mirror_line_that_the_file_rounded_lies_on_the_edge(dxf, saved):
    content = [dxf.poly(1, dxf.SQUARE), dxf.line(6, 0.2, -5, 0.1, 310)]
    found = only(read_pattern(saved(dxf.file({"A": content}))))
    assert found.opened
    assert area(found.piece.cut) == pytest.approx(800 * 300)


def test_a_mirror_line_across_a_whole_piece(dxf, saved):
    content = [dxf.poly(1, dxf.SQUARE), dxf.line(6, 200, 0, 200, 300)]
    found = only(read_pattern(saved(dxf.file({"A": content}))))
    assert not found.opened
    assert area(found.piece.cut) == pytest.approx(400 * 300)
    assert found.piece.fold == ((200, 0), (200, 300))
    skew = [dxf.poly(1, [(0, 0), (400, 0), (400, 300), (50, 300)]), content[1]]
    pattern = read_pattern(saved(dxf.file({"A": skew})))
    assert only(pattern).piece.fold is None
    assert any(f.severity is Severity.FAULT and "not symmetric" in f.text for f in pattern.findings)


def test_stripe_and_plaid_lines_give_the_motif(dxf, saved):
    content = [
        dxf.poly(1, dxf.SQUARE),
        dxf.line(9, 0, 120, 400, 120),
        dxf.line(10, 250, 0, 250, 300),
    ]
    piece = only(read_pattern(saved(dxf.file({"A": content})))).piece
    assert piece.motif == pytest.approx((250, 120))
    assert [mark.name for mark in piece.marks] == ["stripe line", "plaid line"]


def test_layers_84_to_87_are_never_geometry(dxf, saved):
    content = [dxf.poly(1, dxf.SQUARE), dxf.line(*GRAIN)]
    content += [dxf.poly(layer, dxf.SQUARE) for layer in (84, 85, 86, 87)]
    pattern = read_pattern(saved(dxf.file({"A": content})))
    piece = only(pattern).piece
    assert (piece.holes, piece.marks) == ((), ())
    assert {f.kind for f in pattern.findings} <= {"up"}


def test_a_check_curve_that_differs_is_told(dxf, saved):
    wide = [(0, -3), (400, -3), (400, 300), (0, 300)]
    content = [dxf.poly(1, dxf.SQUARE), dxf.line(*GRAIN), dxf.poly(84, wide)]
    pattern = read_pattern(saved(dxf.file({"A": content})))
    (finding,) = (f for f in pattern.findings if f.kind != "up")
    assert finding.kind == "curve"
    assert finding.amount == pytest.approx(3.0)


@pytest.mark.parametrize(
    ("said", "right", "left"),
    [("1,1", 1, 1), ("2,0", 2, 0), ("1,0", 1, 0), ("0 , 3", 0, 3), ("2", 2, 0), ("1.0", 1, 0)],
)
def test_quantity_is_right_and_left_not_a_decimal(dxf, saved, said, right, left):
    content = [dxf.poly(1, dxf.SQUARE), dxf.text(f"QUANTITY:{said}")]
    found = only(read_pattern(saved(dxf.file({"A": content}))))
    assert (found.right, found.left) == (right, left)


def test_a_quantity_that_is_neither_is_told(dxf, saved):
    content = [dxf.poly(1, dxf.SQUARE), dxf.text("Quantity: 1.5")]
    pattern = read_pattern(saved(dxf.file({"A": content})))
    assert only(pattern).right is None
    assert "quantity" in kinds(pattern)


@pytest.mark.parametrize("key", ["PIECE NAME", "piece name", "Piecename", "Piece_Name", "PIECE"])
def test_fields_in_any_spelling(dxf, saved, key):
    content = [dxf.poly(1, dxf.SQUARE), dxf.text(f"{key}:  Back yoke ")]
    assert only(read_pattern(saved(dxf.file({"B1": content})))).piece.name == "Back yoke"


def test_a_piece_without_a_name_is_called_like_its_block(dxf, saved):
    assert only(read_pattern(saved(dxf.file({"B1": [dxf.poly(1, dxf.SQUARE)]})))).piece.name == "B1"


def sizes_file(dxf) -> str:
    def block(size: str, width: float, *more):
        ring = [(0, 0), (width, 0), (width, 300), (0, 300)]
        fields = [dxf.text("Piece Name: Front"), dxf.text(f"SIZE: {size}")]
        return [dxf.poly(1, ring), *fields, *more]

    notch = dxf.point(4, 100, 0, 30, 5)
    every = [dxf.poly(1, [(0, 0), (60, 0), (60, 40), (0, 40)]), dxf.text("Piece Name: Tab")]
    blocks = {"F-S": block("S", 380), "F-M": block("M", 400, notch), "F-L": block("L", 420)}
    sample = dxf.text("Sample Size: M", -100, -120)
    return dxf.file({**blocks, "TAB": every}, [sample])


def test_one_of_several_sizes_has_to_be_chosen(dxf, saved):
    path = saved(sizes_file(dxf))
    with pytest.raises(PatternError, match=r"several sizes: S, M, L .*sample size is M"):
        read_pattern(path)
    pattern = read_pattern(path, size="l")
    assert (pattern.size, pattern.sizes) == ("L", ("S", "M", "L"))
    assert [piece.name for piece in pattern.pieces] == ["Front", "Tab"]
    assert pattern.largest == pytest.approx((420, 300))
    assert any("no notches" in f.text for f in pattern.findings)
    with pytest.raises(PatternError, match=r"no size 'XL' in it \(it has S, M, L\)"):
        read_pattern(path, size="XL")


def test_grade_rules_are_told_not_applied(dxf, saved):
    content = [dxf.poly(1, dxf.SQUARE), dxf.point(2, 0, 0), dxf.text("# 3", 0, 0, layer=2)]
    pattern = read_pattern(saved(dxf.file({"A": content})))
    assert any(f.kind == "grading" and "1 grade rule" in f.text for f in pattern.findings)


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


def test_layers_that_are_not_in_the_plan_are_told(dxf, saved):
    content = [dxf.poly(1, dxf.SQUARE), dxf.line(19, 0, 0, 10, 10), dxf.line("NOTES", 0, 0, 9, 9)]
    pattern = read_pattern(saved(dxf.file({"A": content})))
    text = next(f.text for f in pattern.findings if f.kind == "layer")
    assert "19 (1)" in text
    assert "NOTES (1)" in text


def test_the_same_name_twice(dxf, saved):
    content = [dxf.poly(1, dxf.SQUARE), dxf.text("Piece Name: Tab")]
    pattern = read_pattern(saved(dxf.file({"A": content, "B": content})))
    assert [piece.name for piece in pattern.pieces] == ["Tab", "Tab 2"]


def test_names_that_files_cannot_have_are_made_fit(dxf, saved):
    content = [dxf.poly(1, dxf.SQUARE), dxf.text("Piece Name: front/left: upper?")]
    piece = only(read_pattern(saved(dxf.file({"A": content})))).piece
    assert piece.name == "front-left- upper-"


@pytest.mark.parametrize("encoding", ["utf-8", "cp1252"])
def test_text_in_a_code_page(dxf, saved, encoding):
    content = [dxf.poly(1, dxf.SQUARE), dxf.text("Piece Name: Träger für Gurt")]
    text = dxf.file({"A": content})
    pattern = read_pattern(saved(text.encode(encoding)))
    assert only(pattern).piece.name == "Träger für Gurt"
    assert ("text" in kinds(pattern)) == (encoding == "cp1252")


def test_text_in_the_code_page_that_the_header_names(dxf, saved):
    content = [dxf.poly(1, dxf.SQUARE), dxf.text("Piece Name: Карман")]
    text = dxf.file({"A": content}, header=[9, "$DWGCODEPAGE", 3, "ANSI_1251"])
    assert only(read_pattern(saved(text.encode("cp1251")))).piece.name == "Карман"


def test_text_in_dxf_escapes(dxf, saved):
    content = [dxf.poly(1, dxf.SQUARE), dxf.text("Piece Name: Tr\\U+00E4ger")]
    assert only(read_pattern(saved(dxf.file({"A": content})))).piece.name == "Träger"


@pytest.mark.parametrize("end", ["\r\n", "\r", "\n"])
def test_any_line_end(dxf, saved, end):
    text = dxf.file({"A": [dxf.poly(1, dxf.SQUARE)]}).replace("\n", end)
    assert only(read_pattern(saved(text.encode()))).piece.name == "A"


@pytest.mark.parametrize("drawn_up", [True, False])
@pytest.mark.parametrize(
    ("heads", "known"),
    [(["top"], True), (["bottom"], True), ([], False), (["top", "bottom"], False)],
)
def test_one_arrowhead_says_which_end_is_up(dxf, saved, drawn_up, heads, known):
    ends = (100, 50, 100, 250) if drawn_up else (100, 250, 100, 50)
    lines = [dxf.line(7, *ends)]
    for head in heads:
        tip, back = (250, 240) if head == "top" else (50, 60)
        lines += [dxf.line(7, 100, tip, 95, back), dxf.line(7, 105, back, 100, tip)]
    pattern = read_pattern(saved(dxf.file({"A": [dxf.poly(1, dxf.SQUARE), *lines]})))
    found = only(pattern)
    assert found.up_known is known
    assert any(f.kind == "up" for f in pattern.findings) is not known
    assert not any("several" in f.text for f in pattern.findings)
    if known:
        assert found.piece.grain == pytest.approx(90.0 if heads == ["top"] else -90.0)


def test_several_grain_lines_the_longest_counts(dxf, saved):
    content = [dxf.poly(1, dxf.SQUARE), dxf.line(7, 0, 0, 10, 0), dxf.line(7, 50, 50, 50, 250)]
    pattern = read_pattern(saved(dxf.file({"A": content})))
    assert only(pattern).piece.grain == pytest.approx(90.0)
    assert "grain" in kinds(pattern)


def test_without_a_grain_line_it_is_told(dxf, saved):
    pattern = read_pattern(saved(dxf.file({"A": [dxf.poly(1, dxf.SQUARE)]})))
    assert only(pattern).piece.grain == 0.0
    assert [f.text for f in pattern.findings] == ["A: no grain line; the grain is taken along x"]


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
