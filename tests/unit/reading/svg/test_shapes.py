"""Shapes, transforms and style sheets of SVG."""

from __future__ import annotations

import math

import pytest

from nesting.errors import PatternError
from nesting.pattern.measure import area, bounds
from nesting.pattern.path import Arc, Bezier
from tests.unit.reading.svg.drawn import RECT, only, size


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
