"""Sewn-product DXF: layers, notches, mirror lines, fields, sizes."""

from __future__ import annotations

import pytest

from nesting.errors import PatternError, Severity
from nesting.pattern.measure import area, bounds, signed_area
from nesting.pattern.piece import MarkKind, NotchStyle
from nesting.reading.read import read_pattern
from tests.unit.reading.dxf.found import GRAIN, kinds, marks, only


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
