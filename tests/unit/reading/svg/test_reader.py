from __future__ import annotations

import math

import pytest

from nesting.errors import PatternError, Severity
from nesting.pattern.measure import area, bounds
from nesting.pattern.path import Arc, Bezier
from nesting.pattern.piece import MarkKind, NotchStyle
from nesting.reading.read import Reference, read_pattern

MM = 'width="1000mm" height="800mm" viewBox="0 0 1000 800"'
RECT = '<rect x="100" y="100" width="300" height="200"/>'


@pytest.fixture
def svg(saved):
    def read(body: str, head: str = MM, **options):
        text = f'<svg xmlns="http://www.w3.org/2000/svg" {head}>{body}</svg>'
        return read_pattern(saved(text, "pattern.svg"), **options)

    return read


def only(pattern):
    assert len(pattern.pieces) == 1
    return pattern.pieces[0]


def size(pattern) -> tuple[float, float]:
    return pattern.largest


@pytest.mark.parametrize(
    ("shape", "expected"),
    [
        ('<rect width="300" height="200"/>', 60_000),
        ('<rect width="300" height="200" rx="40"/>', 60_000 - (4 - math.pi) * 1600),
        ('<rect width="300" height="200" rx="40" ry="20"/>', 60_000 - (4 - math.pi) * 800),
        ('<rect width="300" height="200" rx="900"/>', math.pi * 150 * 100),
        ('<rect width="50%" height="25%"/>', 500 * 200),
        ('<circle cx="200" cy="200" r="100"/>', math.pi * 10_000),
        ('<ellipse cx="200" cy="200" rx="100" ry="40"/>', math.pi * 4000),
        ('<polygon points="0,0 300,0 300,200"/>', 30_000),
        ('<polygon points="0 0, 300 0 300-200"/>', 30_000),
        ('<polyline points="0,0 300,0 300,200 0,0"/>', 30_000),
        ('<path d="M0 0h300v200H0z"/>', 60_000),
        ('<path d="M100 0a100 100 0 1 0 0.0001 0z"/>', math.pi * 10_000),
        ('<path d="M0 0q150 200 300 0z"/>', 2 / 3 * 300 * 100),
        ('<path d="m 0,0 300,0 0,200 z"/>', 30_000),
    ],
)
def test_basic_shapes(svg, shape, expected):
    assert area(only(svg(shape)).cut) == pytest.approx(expected, rel=1e-6)


def test_y_runs_upwards_afterwards(svg):
    piece = only(svg('<path d="M100 100h300v200z"/>'))
    assert bounds(piece.cut) == pytest.approx((100, -300, 400, -100))


def test_arcs_and_curves_stay_what_they_are(svg):
    d = "M0 0 h200 a50 50 0 0 1 50 50 c0 60 -40 100 -100 100 h-150 z"
    piece = only(svg(f'<path d="{d}"/>'))
    found = {type(segment) for segment in piece.cut.segments}
    assert {Arc, Bezier} <= found


@pytest.mark.parametrize(
    ("transform", "box"),
    [
        ("translate(50 20)", (150, -320, 450, -120)),
        ("translate(50)", (150, -300, 450, -100)),
        ("scale(2)", (200, -600, 800, -200)),
        ("scale(2 1)", (200, -300, 800, -100)),
        ("rotate(90)", (-300, -400, -100, -100)),
        ("rotate(90 100 100)", (-100, -400, 100, -100)),
        ("matrix(0 1 -1 0 10 20)", (-290, -420, -90, -120)),
        ("translate(10,0) scale(2)", (210, -600, 810, -200)),
        ("scale(2), translate(10 0)", (220, -600, 820, -200)),
        ("skewX(45)", (200, -300, 700, -100)),
        ("skewY(45)", (100, -700, 400, -200)),
        ("none", (100, -300, 400, -100)),
    ],
)
def test_transforms(svg, transform, box):
    """Worked by hand from SVG 2, 8.5: the first of a list is done last."""
    pattern = svg(f'<g transform="{transform}">{RECT}</g>')
    assert bounds(only(pattern).cut) == pytest.approx(box)


def test_a_transform_in_the_style_attribute(svg):
    piece = only(svg(f'<g style="transform: translate(50px, 20px) rotate(90deg)">{RECT}</g>'))
    assert bounds(piece.cut) == pytest.approx((-250, -420, -50, -120))


@pytest.mark.parametrize(
    ("sheet", "attributes"),
    [
        (".a { display: none }", 'class="a b"'),
        ("g > .b, rect#x { visibility: hidden }", 'id="x"'),
        ("@media print, speech { rect.a { opacity: 0 } }", 'class="a"'),
        (".a { display: none !important }", 'class="a" style="display: inline"'),
        ("svg|rect.a { display: none }", 'class="a" display="inline"'),
    ],
)
def test_style_sheets_hide(svg, sheet, attributes):
    """CSS Cascading 4, 6: sheets outweigh attributes, important declarations the style."""
    pattern = svg(f'<style>{sheet}</style>{RECT}<rect width="900" height="700" {attributes}/>')
    assert size(pattern) == pytest.approx((300, 200))
    assert [f.text for f in pattern.findings if f.kind == "unread"] == [
        "not read: 1 hidden element(s)"
    ]


@pytest.mark.parametrize(
    ("sheet", "shape", "expected"),
    [
        ("circle { r: 50px }", '<circle cx="200" cy="200" r="100"/>', math.pi * 2500),
        ("rect { width: 40px } #q { width: 50px }", '<rect id="q" width="9" height="20"/>', 1000),
        (".a { d: path('M0 0h30v20h-30z') }", '<path class="a" d="M0 0h9v9z"/>', 600),
        (".a { transform: scale(2) }", '<rect class="a" width="30" height="20"/>', 2400),
        (".a:hover { display: none }", '<rect class="a" width="30" height="20"/>', 600),
    ],
)
def test_style_sheets_reshape(svg, sheet, shape, expected):
    """SVG 2, 7.2: places and sizes are properties of CSS, and so is the path itself."""
    assert area(only(svg(f"<style>{sheet}</style>{shape}")).cut) == pytest.approx(expected)


@pytest.mark.parametrize(
    "sheet",
    [
        "rect:nth-child(2) { display: none }",
        "rect ~ rect { display: none }",
        "@import 'other.css';",
        "@supports (display: grid) { rect { display: none } }",
        "rect { rotate: 45deg }",
    ],
)
def test_a_rule_that_is_not_read_is_refused_if_it_matters(svg, sheet):
    with pytest.raises(PatternError, match=r"not read"):
        svg(f"<style>{sheet}</style>{RECT}")


def test_a_transform_about_an_origin(svg):
    style = "transform: rotate(90deg); transform-origin: 100px 0"
    body = f'<rect width="100" height="50" style="{style}"/>'
    assert bounds(only(svg(body)).cut) == pytest.approx((50, 0, 100, 100))


CLIP = '<clipPath id="c"><rect width="{}" height="800"/></clipPath>'


def test_a_clip_that_cuts_nothing_off_changes_nothing(svg):
    pattern = svg(CLIP.format(1000) + f'<g clip-path="url(#c)">{RECT}</g>')
    assert size(pattern) == pytest.approx((300, 200))


@pytest.mark.parametrize(
    "body",
    [
        CLIP.format(200) + f'<g clip-path="url(#c)">{RECT}</g>',
        CLIP.format(200) + f"<g style=\"clip-path: url('#c')\">{RECT}</g>",
        "<style>rect { clip-path: circle(40px) }</style>" + RECT,
        CLIP.format(50).replace('id="c"', 'id="c" transform="translate(150 0)"')
        + f'<g clip-path="url(#c)">{RECT}</g>',
        f'<mask id="m"><rect width="80" height="9"/></mask><g mask="url(#m)">{RECT}</g>',
        f'<svg width="200" height="200">{RECT}</svg>',
        "<style>.c { clip-path: url(#c) }</style>" + CLIP.format(200) + f'<g class="c">{RECT}</g>',
    ],
)
def test_what_cuts_off_a_part_is_refused(svg, body):
    """Nobody knows whether what is hidden is to be cut."""
    with pytest.raises(PatternError, match=r"cuts off a part|hides a part|is not read"):
        svg(body)


def test_what_a_clip_hides_whole_is_not_read(svg):
    beyond = '<rect x="600" width="250" height="250"/>'
    pattern = svg(CLIP.format(500) + f'<g clip-path="url(#c)">{RECT}{beyond}</g>')
    assert size(pattern) == pytest.approx((300, 200))
    assert any("outside of a clip-path" in f.text for f in pattern.findings)


@pytest.mark.parametrize(
    "first",
    [
        '<rect width="900" height="700" requiredExtensions="http://example.com/x"/>',
        '<g systemLanguage="de, fr"><rect width="900" height="700"/></g>',
        "<!-- none -->",
    ],
)
def test_a_switch_shows_one_child(svg, first):
    """SVG 2, 5.9.3: the first direct child whose conditions hold."""
    second = '<rect x="500" width="90" height="50"/>'
    pattern = svg(f"<switch>{first}<g>{RECT}</g>{second}</switch>")
    assert size(only_of(pattern)) == pytest.approx((300, 200))


def only_of(pattern):
    only(pattern)
    return pattern


def test_visible_things_in_a_hidden_group_and_nothing_of_no_opacity(svg):
    body = (
        f'<g visibility="hidden"><rect width="800" height="9"/>'
        f'<g visibility="visible">{RECT}</g></g>'
        '<rect width="800" height="700" opacity="0"/>'
        '<g style="opacity:0%"><rect width="850" height="9"/></g>'
    )
    assert size(only_of(svg(body))) == pytest.approx((300, 200))


@pytest.mark.parametrize(
    ("attributes", "seen"),
    [
        ('fill="none" stroke="none"', False),
        ('style="fill:none;stroke:none"', False),
        ('fill="transparent" stroke-width="0"', False),
        ('fill-opacity="0" stroke-opacity="0.0"', False),
        ('fill="none"', True),  # no stroke is said: left out by whoever wrote it by hand
        ('fill="none" stroke="red"', True),
        ('stroke="none"', True),
    ],
)
@pytest.mark.parametrize("around", [False, True])
def test_what_is_said_to_have_no_paint_is_no_piece(svg, attributes, seen, around):
    frame = '<rect width="900" height="700"{}/>'
    frame = f"<g {attributes}>{frame.format('')}</g>" if around else frame.format(f" {attributes}")
    pattern = svg(f"{frame}{RECT}")
    assert pattern.largest == ((900.0, 700.0) if seen else (300.0, 200.0))
    assert any("hidden" in f.text for f in pattern.findings) != seen


def test_paint_in_a_group_without_is_seen(svg):
    assert len(svg(f'<g fill="none" stroke="none"><g stroke="red">{RECT}</g></g>').pieces) == 1


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


def test_nested_transforms(svg):
    body = f'<g transform="scale(2)"><g transform="translate(10 0)">{RECT}</g></g>'
    assert bounds(only(svg(body)).cut) == pytest.approx((220, -600, 820, -200))


@pytest.mark.parametrize("bad", ["turn(3)", "scale()", "rotate(1 2)", "matrix(1)", "scale(a)"])
def test_bad_transforms(svg, bad):
    with pytest.raises(PatternError, match="is not a transform"):
        svg(f'<g transform="{bad}">{RECT}</g>')


@pytest.mark.parametrize(
    ("side", "mm"),
    [
        # 1 in = 2.54 cm = 96 px = 72 pt = 6 pc; 1 Q = 1/40 cm (CSS Values and Units 4, 6.2)
        ("400mm", 400),
        ("40cm", 400),
        ("1600Q", 400),
        ("20in", 508),
        ("1440pt", 508),
        ("120pc", 508),
        ("1920px", 508),
        ("1920", 508),
    ],
)
def test_units_of_width_and_height(svg, side, mm):
    pattern = svg(
        '<rect width="100%" height="100%"/>', f'width="{side}" height="{side}" viewBox="0 0 7 7"'
    )
    assert size(pattern) == pytest.approx((mm, mm))
    assert any("px only" in f.text for f in pattern.findings) == side.startswith("1920")


def test_lengths_inside_count_in_user_units(svg):
    """Without a viewBox a user unit is 1 px, so that 100 mm inside are 100 mm (SVG 2, 8.9)."""
    pattern = svg('<rect width="100mm" height="4in"/>', 'width="300mm" height="300mm"')
    assert size(pattern) == pytest.approx((100, 101.6))


@pytest.mark.parametrize("head", ["", 'viewBox="0 0 600 600"', 'width="100%" height="100%"'])
def test_without_a_size_it_is_refused(svg, head):
    with pytest.raises(PatternError) as told:
        svg(RECT, head)
    for part in ("300 × 200 mm in mm", "79.4 × 52.9 mm in px", "106 × 71 mm in pt", "in 1/90 in"):
        assert part in str(told.value)
    assert size(svg(RECT, head, unit="mm")) == pytest.approx((300, 200))


@pytest.mark.parametrize(("unit", "width"), [("px", 79.375), ("pt", 105.8333), ("in", 7620)])
def test_the_user_says_the_unit(svg, unit, width):
    assert size(svg(RECT, "", unit=unit))[0] == pytest.approx(width, rel=1e-6)


def test_a_drawing_of_90_units_to_the_inch_says_so(svg):
    pattern = svg(RECT, 'width="25.4in" height="25.4in" viewBox="0 0 2286 2286"')
    assert pattern.scale.unit == "1/90 in"
    assert size(pattern)[0] == pytest.approx(300 * 25.4 / 90)


@pytest.mark.parametrize(
    ("aspect", "factor"),
    [("", 1.0), ("xMinYMin meet", 1.0), ("xMidYMid slice", 2.0), ("xMaxYMax", 1.0)],
)
def test_preserve_aspect_ratio_of_the_root(svg, aspect, factor):
    head = f'width="600mm" height="1200mm" viewBox="0 0 600 600" preserveAspectRatio="{aspect}"'
    assert size(svg(RECT, head)) == pytest.approx((300 * factor, 200 * factor))


def test_a_stretched_drawing_is_told(svg):
    head = 'width="600mm" height="1200mm" viewBox="0 0 600 600" preserveAspectRatio="none"'
    pattern = svg(RECT, head)
    assert size(pattern) == pytest.approx((300, 400))
    assert any(f.kind == "stretched" for f in pattern.findings)


@pytest.mark.parametrize(
    ("aspect", "box"),
    [
        ("xMidYMid", (150, -250, 250, -150)),
        ("xMinYMin", (100, -250, 200, -150)),
        ("xMaxYMax", (200, -250, 300, -150)),
        ("none", (100, -250, 300, -150)),
    ],
)
def test_a_nested_svg_with_its_own_viewbox(svg, aspect, box):
    """A square of 10 in a window of 200 × 100 at (100, 150): SVG 2, 8.2 and 8.6."""
    inner = (
        '<svg x="100" y="150" width="200" height="100" viewBox="0 0 10 10" '
        f'preserveAspectRatio="{aspect}"><rect width="10" height="10"/></svg>'
    )
    assert bounds(only(svg(inner)).cut) == pytest.approx(box)


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
        '<text x="20" y="180" font-size="7mm" transform="rotate(-90 20 180)">cut 2</text></g>'
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
    assert (text.text, text.angle) == ("cut 2", pytest.approx(90))
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


def test_what_is_not_shown_is_not_read(svg):
    hidden = (
        '<g display="none"><rect width="900" height="700"/></g>'
        '<rect style="display:none" width="900" height="700"/>'
        '<rect visibility="hidden" width="900" height="700"/>'
        '<clipPath id="c"><rect width="900" height="700"/></clipPath>'
        '<image href="https://example.com/a.png" width="9" height="9"/>'
        '<q:rect xmlns:q="urn:other" width="900" height="700"/>'
    )
    pattern = svg(hidden + RECT)
    assert size(pattern) == pytest.approx((300, 200))
    assert {f.text for f in pattern.findings if f.kind == "unread"} == {
        "not read: 3 hidden element(s)",
        "not read: 1 image",
    }


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


def test_a_reference_square_that_was_shrunk_to_fit(svg):
    body = RECT + '<rect class="reference" x="500" width="95" height="95"/>'
    pattern = svg(body, reference=Reference(length=100.0))
    assert size(pattern)[0] == pytest.approx(300 / 0.95)
    assert any("shrunk to fit a page" in f.text for f in pattern.findings)


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


PX = 'width="2000" height="2000" viewBox="0 0 2000 2000"'


@pytest.mark.parametrize(
    ("side", "text", "factor"),
    [
        (72, "1 inch", 25.4 / 72),
        (90, '1"', 25.4 / 90),
        (96, '1" x 1"', 25.4 / 96),
        (72, "test square: 1 in", 25.4 / 72),
        (180, "2 inches", 25.4 / 90),
        (1000, "this square should measure 10 cm", 0.1),
        (144, "5.08 cm", 25.4 / 72),
        (72, "1 in / 2.54 cm test square", 25.4 / 72),
    ],
)
@pytest.mark.parametrize("where", ["inside", "below"])
def test_a_square_that_says_how_large_it_is_settles_the_unit(svg, side, text, factor, where):
    """72, 90 and 96 to the inch: fingerprints of drawing programs; 1 in = 96 px in CSS."""
    y = side / 2 if where == "inside" else 1.2 * side
    body = (
        f'{RECT}<g id="sq" transform="translate(900,900)"><path d="M0 0h{side}v{side}h-{side}z"/>'
        f'<text x="{side / 4}" y="{y}" font-size="9">{text}</text></g>'
    )
    pattern = svg(body, PX)
    assert size(only_of(pattern)) == pytest.approx((300 * factor, 200 * factor))


def test_a_square_that_says_nothing_of_itself_stays_a_piece(svg):
    body = RECT + '<rect x="700" width="200" height="200"/><text x="750" y="100">Patch 4 in</text>'
    assert len(svg(body).pieces) == 2


@pytest.mark.parametrize("side", [72, 90])
def test_a_square_of_an_older_inch_makes_px_doubtful(svg, side):
    body = f'{RECT}<rect x="900" width="{side}" height="{side}"/>'
    with pytest.raises(PatternError, match="does not say its unit"):
        svg(body, PX)
    pattern = svg(body, PX, unit="px")
    assert any(f"a square of {side} is drawn" in f.text for f in pattern.findings)
