"""Groups, names, roles and texts of SVG become pieces."""

from __future__ import annotations

import pytest

from nesting.errors import PatternError, Severity
from nesting.pattern.measure import area, bounds
from nesting.pattern.piece import MarkKind, NotchStyle
from nesting.reading.read import Reference, read_pattern
from tests.unit.reading.svg.drawn import MM, RECT, only, size


def test_the_name_of_a_use_outweighs_that_of_what_it_uses(svg):
    body = (
        '<defs><symbol id="s"><rect width="90" height="50"/></symbol>'
        '<g id="panel"><rect width="40" height="50"/></g></defs>'
        '<use id="Front" href="#s"/><use href="#s" y="100"/><use id="Side" href="#panel" y="200"/>'
    )
    assert [piece.name for piece in svg(body).pieces] == ["Front", "s", "Side"]


@pytest.mark.parametrize("layer", ["Seam_lines", "Stitch", "sewing_line", "Stitching lines 2"])
@pytest.mark.parametrize("more", ["", '<rect id="Tab" x="700" width="90" height="50"/>'])
def test_a_sewing_layer_beside_the_pieces_groups_goes_to_the_piece_it_lies_in(svg, layer, more):
    body = (
        f'<g id="Front">{RECT}</g><g id="Back"><rect y="400" width="300" height="200"/></g>{more}'
        f'<g id="{layer}"><rect x="110" y="110" width="280" height="180"/>'
        '<path d="M10 410h280v180h-280z"/></g>'
    )
    pattern = svg(body)
    assert {p.name: p.sew is not None for p in pattern.pieces if p.name != "Tab"} == {
        "Front": True,
        "Back": True,
    }
    assert not [f for f in pattern.findings if f.kind in ("stray", "mark")]


def test_a_contour_on_a_layer_of_no_name_that_lies_in_a_piece_is_no_second_piece(svg):
    body = f'<g id="Front">{RECT}</g><g><path d="M110 110h280v180h-280z"/></g>'
    assert only(svg(body)).sew is not None


@pytest.mark.parametrize(
    ("sheet", "role"),
    [(".s{stroke:#f00}", "#FF0000"), (".s{stroke:red}", "rgb(255, 0, 0)"), ("", "s")],
)
def test_a_role_for_a_colour_that_a_class_gives(svg, sheet, role):
    body = f'<style>{sheet}</style>{RECT}<rect class="s" x="150" y="120" width="60" height="60"/>'
    assert [m.kind for m in only(svg(body, roles={role: "line"})).marks] == [MarkKind.OUTLINE]


def test_a_role_for_what_is_not_there_is_refused(svg):
    with pytest.raises(PatternError, match=r"'Sewing' \(it has front, #ff0000\)"):
        svg(f'<g id="front" stroke="#ff0000">{RECT}</g>', roles={"Sewing": "sew"})


def test_a_piece_may_be_called_label_or_edge(svg):
    body = "".join(f'<g id="{name}">{RECT}</g>' for name in ("label", "edge", "frame", "inner"))
    assert [p.name for p in svg(body).pieces] == ["label", "edge", "frame", "inner"]


def test_use_of_shapes_groups_and_symbols(svg):
    body = (
        '<defs><rect id="r" width="100" height="50"/>'
        '<symbol id="s" viewBox="0 0 10 10"><circle cx="5" cy="5" r="5"/></symbol></defs>'
        '<use href="#r" x="10" y="20"/>'
        '<use xlink:href="#r" transform="translate(300 0) scale(2)"/>'
        '<use href="#s" x="600" width="80" height="80"/>'
    )
    pattern = svg(body, MM + ' xmlns:xlink="http://www.w3.org/1999/xlink"')
    boxes = [bounds(piece.cut) for piece in pattern.pieces]
    assert boxes[0] == pytest.approx((10, -70, 110, -20))
    assert boxes[1] == pytest.approx((300, -100, 500, 0))
    assert boxes[2] == pytest.approx((600, -80, 680, 0))


def test_groups_with_a_name_are_pieces(svg):
    body = (
        f'<g id="front">{RECT}</g>'
        '<g id="g17"><title>Back panel</title><rect width="90" height="50"/></g>'
        '<g xmlns:d="urn:drawing" d:label="Strap" id="layer3">'
        '<rect width="200" height="20"/></g>'
        '<g aria-label="Tab"><rect width="40" height="20"/></g>'
    )
    assert [p.name for p in svg(body).pieces] == ["front", "Back panel", "Strap", "Tab"]


def test_outlines_in_one_layer_are_named_by_themselves_or_by_text(svg):
    body = (
        '<g id="layer1"><rect id="yoke" width="90" height="50"/>'
        '<rect id="rect42" x="200" width="90" height="50"/>'
        '<text x="220" y="25" font-size="8">Gusset</text>'
        '<path d="M400 0h50v50z"/></g>'
    )
    assert [piece.name for piece in svg(body).pieces] == ["yoke", "Gusset", "piece"]


@pytest.mark.parametrize("second", ["", '<rect x="500" y="100" width="300" height="200"/>'])
def test_a_title_beside_the_pieces_names_none_of_them(svg, second):
    pattern = svg(f'{RECT}{second}<text x="120" y="530" font-size="30">A bag of summer</text>')
    assert {piece.name for piece in pattern.pieces} <= {"piece", "piece 2"}
    assert any("left out: 'A bag of summer'" in f.text for f in pattern.findings)


def test_what_things_are_for(svg):
    body = (
        '<g id="Front"><path class="cut" d="M0 0h300v200h-300z"/>'
        '<path id="Front.sew" d="M10 10h280v180h-280z"/>'
        '<line id="grain" x1="50" y1="150" x2="50" y2="50"/>'
        '<path aria-label="hole" d="M100 100h20v20h-20z"/>'
        '<g id="marks"><path d="M150 60h60v60h-60z"/></g>'
        '<circle class="drill" cx="30" cy="30" r="2"/>'
        '<line class="notch v" data-width="5" x1="150" y1="0" x2="150" y2="6"/>'
        '<path class="guide" d="M-50 -50h900v700h-900z"/>'
        '<text x="20" y="180" font-size="7mm" transform="rotate(-90 20 180)">this way up</text></g>'
    )
    pattern = svg(body)
    piece = only(pattern)
    assert (piece.name, piece.grain) == ("Front", pytest.approx(90))
    assert piece.sew is not None
    assert len(piece.holes) == 1
    by_kind = {mark.kind: mark for mark in piece.marks}
    assert sorted(by_kind) == ["drill", "notch", "outline", "text"]
    assert by_kind[MarkKind.DRILL].size == 4.0
    notch = by_kind[MarkKind.NOTCH]
    assert (notch.at, notch.size, notch.width) == ((150, 0), 6.0, 5.0)
    assert notch.style is NotchStyle.V
    text = by_kind[MarkKind.TEXT]
    assert (text.text, text.angle) == ("this way up", pytest.approx(90))
    assert not [f for f in pattern.findings if f.severity is Severity.FAULT]


def test_the_user_says_what_stroke_colours_are_for(svg):
    body = (
        '<rect width="300" height="200" stroke="#ff0000"/>'
        '<rect x="50" y="50" width="50" height="50" style="stroke:#00f;fill:none"/>'
    )
    roles = {"#FF0000": "cut", "#00f": "line"}
    piece = only(svg(body, roles=roles))
    assert piece.holes == ()
    assert [mark.kind for mark in piece.marks] == [MarkKind.OUTLINE]


def test_subpaths_inside_are_cut_outs(svg):
    piece = only(svg('<path d="M0 0h300v200h-300z M50 50h20v20h-20z M100 50h20v20h-20z"/>'))
    assert len(piece.holes) == 2


def test_loose_lines_are_joined(svg):
    body = (
        '<line x1="0" y1="0" x2="300" y2="0"/><path d="M300 0 C 350 50 350 150 300 200"/>'
        '<polyline points="300,200 0,200 0,0.3"/>'
    )
    pattern = svg(body)
    assert len(only(pattern).cut.segments) == 4
    assert [f.amount for f in pattern.findings if f.kind == "gap"] == [pytest.approx(0.3)]


def test_open_lines_are_for_drawing(svg):
    pattern = svg(RECT + '<path d="M120 150h100l20 20"/>')
    assert [mark.kind for mark in only(pattern).marks] == [MarkKind.LINE]


def test_quantity_in_a_text(svg):
    body = f'<g id="side">{RECT}<text x="150" y="150">Quantity: 1,1</text></g>'
    (found,) = svg(body).found
    assert (found.right, found.left) == (1, 1)


def test_a_half_piece_with_a_fold_line(svg):
    body = f'<g id="back">{RECT}<line class="fold" x1="100" y1="100" x2="100" y2="300"/></g>'
    (found,) = svg(body).found
    assert found.opened
    assert area(found.piece.cut) == pytest.approx(2 * 60_000)


def test_a_reference_line_by_its_id(svg):
    body = RECT + '<line id="ruler" x1="0" y1="0" x2="94.488189" y2="0" class="line"/>'
    pattern = svg(body, "", reference=Reference(length=25.0, name="ruler"))
    assert size(pattern)[0] == pytest.approx(300 * 25.4 / 96)
    assert pattern.scale.unit == "px"


def test_a_reference_outside_of_every_piece(svg):
    """Pieces in groups of their own, the check bar beside them at the top."""
    body = f'<g id="front">{RECT}</g><line id="reference" x1="0" y1="900" x2="50" y2="900"/>'
    pattern = svg(body, "", reference=Reference(length=100.0))
    assert pattern.scale.factor == pytest.approx(2.0)
    assert not [f for f in pattern.findings if f.kind == "stray"]
    assert all(not piece.marks for piece in pattern.pieces)


def test_what_belongs_to_no_piece_is_told(svg):
    body = f'<g id="front">{RECT}</g><line x1="0" y1="900" x2="50" y2="900"/>'
    pattern = svg(body)
    assert [f.text for f in pattern.findings if f.kind == "stray"] == [
        "left out, for they belong to no piece: 1 line(s)"
    ]


def test_utf_16_and_namespace_prefixes(saved):
    text = (
        '<?xml version="1.0" encoding="UTF-16"?><s:svg xmlns:s="http://www.w3.org/2000/svg" '
        f'{MM}><s:rect id="vorn" width="300" height="200"/></s:svg>'
    )
    pattern = read_pattern(saved(text.encode("utf-16"), "a.svg"))
    assert only(pattern).name == "vorn"


def test_an_old_document_type_and_short_constants(saved):
    text = (
        '<!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN" '
        '"http://www.w3.org/Graphics/SVG/1.1/DTD/svg11.dtd" '
        '[<!ENTITY ns_svg "http://www.w3.org/2000/svg">]>'
        f'<svg xmlns="&ns_svg;" {MM}>{RECT}</svg>'
    )
    assert size(read_pattern(saved(text, "a.svg"))) == pytest.approx((300, 200))


def test_bad_path_data_says_where(svg):
    with pytest.raises(PatternError, match=r"pattern.svg: flap: path data: .* character 9"):
        svg('<path id="flap" d="M 0 0 L q"/>')


@pytest.mark.parametrize(
    "bad",
    [
        '<rect width="3zz" height="20"/>',
        '<rect width="nan" height="20"/>',
        '<circle r="1e400"/>',
        '<polygon points="0,0 x,3 4,4"/>',
        '<polygon points="0,0 1e300,3 4,4"/>',
        '<svg viewBox="0 0 a 3"><rect width="3" height="3"/></svg>',
    ],
)
def test_numbers_that_are_none(svg, bad):
    with pytest.raises(PatternError):
        svg(bad + RECT)


def test_nothing_to_cut(svg):
    with pytest.raises(PatternError, match="no outline in the file"):
        svg('<text x="3" y="4">empty</text>')
