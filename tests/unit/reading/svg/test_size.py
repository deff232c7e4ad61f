"""How large an SVG drawing is: width, height, viewBox, aspect, squares."""

from __future__ import annotations

import pytest

from nesting.errors import PatternError
from nesting.pattern.measure import bounds
from nesting.reading.read import Reference
from tests.unit.reading.svg.drawn import RECT, only, only_of, size


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


def test_a_reference_square_that_was_shrunk_to_fit(svg):
    body = RECT + '<rect class="reference" x="500" width="95" height="95"/>'
    pattern = svg(body, reference=Reference(length=100.0))
    assert size(pattern)[0] == pytest.approx(300 / 0.95)
    assert any("shrunk to fit a page" in f.text for f in pattern.findings)


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
