"""Which unit is meant: by what is drawn, where the file's word can't be trusted."""

from __future__ import annotations

import pytest

from nesting.amounts import Amounts
from nesting.errors import PatternError
from nesting.reading.read import Reference, read_pattern
from nesting.reading.unit.scale import Claim, decide_scale


def box(w: float, h: float, *, x: float = 0.0, y: float = 0.0):
    return [(x, y), (x + w, y), (x + w, y + h), (x, y + h)]


def header(name: str, code: int):
    return [9, name, 70, code]


def sewn(dxf, *more, size=(150, 140), **options):
    return dxf.file({"A": [dxf.poly(1, box(*size)), *more]}, **options)


@pytest.fixture
def seam(dxf):
    return lambda by, size=(150, 140): dxf.poly(
        14, box(size[0] - 2 * by, size[1] - 2 * by, x=by, y=by)
    )


def test_metric_alone_may_be_cm(dxf, saved):
    """150 cm drawn under METRIC: mm and cm both make something that people sew."""
    with pytest.raises(PatternError, match=r"150 × 140 mm in mm .*1500 × 1400 mm in cm.*--unit"):
        read_pattern(saved(sewn(dxf)))
    plain = dxf.file({}, [dxf.poly("A", box(150, 140))], units=None)
    with pytest.raises(PatternError, match="does not say its unit"):
        read_pattern(saved(plain))
    plain = dxf.file(
        {}, [dxf.poly("A", box(150, 140))], units=None, header=header("$MEASUREMENT", 1)
    )
    with pytest.raises(PatternError, match=r"1500 × 1400 mm in cm"):
        read_pattern(saved(plain))


@pytest.mark.parametrize("allowance", [2.0, 3.0, 10.0, 25.0])
def test_a_seam_allowance_of_some_mm_proves_mm(dxf, saved, seam, allowance):
    pattern = read_pattern(saved(sewn(dxf, seam(allowance))))
    assert pattern.largest == (150, 140)
    assert not [f for f in pattern.findings if f.kind in ("size", "scale")]


@pytest.mark.parametrize("size", [(70, 50), (40, 30)])
def test_a_small_piece_with_usual_allowances_is_not_asked_about(dxf, saved, seam, size):
    pattern = read_pattern(saved(sewn(dxf, seam(8.0, size), size=size)))
    assert pattern.largest == size


@pytest.mark.parametrize("word", ["METRIC", "MM"])
@pytest.mark.parametrize("size", [(150, 140), (90, 60)])
def test_a_seam_allowance_of_a_millimetre_is_one_of_a_centimetre(dxf, saved, seam, size, word):
    with pytest.raises(PatternError, match="its seam allowances are 1 mm"):
        read_pattern(saved(sewn(dxf, seam(1.0, size), size=size, units=word)))


@pytest.mark.parametrize(("depth", "right"), [(4.0, True), (0.5, False)])
def test_notches_tell_as_well(dxf, saved, depth, right):
    path = saved(sewn(dxf, dxf.point(4, 75, 0, 30, depth)))
    if right:
        assert read_pattern(path).largest == (150, 140)
    else:
        with pytest.raises(PatternError, match=r"its notches are 0\.5 mm"):
            read_pattern(path)


@pytest.mark.parametrize(("code", "unit"), [(4, "mm"), (5, "cm")])
def test_a_header_that_is_plain_settles_what_metric_means(dxf, saved, code, unit):
    pattern = read_pattern(saved(sewn(dxf, header=header("$INSUNITS", code))))
    assert pattern.scale.unit == unit
    assert "METRIC" in pattern.scale.why
    assert f"$INSUNITS = {code}" in pattern.scale.why
    assert [f.kind for f in pattern.findings if f.kind in ("size", "scale")] == ["size"]


def test_a_plain_header_of_a_small_piece_is_believed_and_told(dxf, saved):
    text = dxf.file({}, [dxf.poly("A", box(150, 140))], units=None, header=header("$INSUNITS", 4))
    pattern = read_pattern(saved(text))
    assert pattern.largest == (150, 140)
    assert any("it would be 1500 × 1400 mm in cm" in f.text for f in pattern.findings)


@pytest.mark.parametrize("longest", [201, 250, 600, 1900])
def test_pieces_that_only_mm_make_usual_are_not_doubted(longest):
    claim = Claim(factor=1.0, unit="mm", why="METRIC", also=("cm",))
    assert decide_scale((longest, 50), claims=[claim])[1] == ()


@pytest.mark.parametrize("units", ["METRIC", "MM", None])
def test_a_curtain_in_inches_said_to_be_mm_is_asked_about(dxf, saved, units):
    more = {} if units else {"header": header("$INSUNITS", 4)}
    with pytest.raises(PatternError, match=r"64.0 × 30.0 mm in mm .*1626 × 762 mm in inches"):
        read_pattern(saved(sewn(dxf, size=(64, 30), units=units, **more)))


def test_a_curtain_in_inches_whose_svg_says_mm_is_told(saved):
    text = (
        '<svg xmlns="http://www.w3.org/2000/svg" width="64mm" height="30mm" viewBox="0 0 64 30">'
        '<rect width="64" height="30"/></svg>'
    )
    pattern = read_pattern(saved(text, "p.svg"))
    assert any("1626 × 762 mm in inches" in f.text for f in pattern.findings)


@pytest.mark.parametrize("beside", [False, True])
@pytest.mark.parametrize("layer", [1, "0", "cut"])
@pytest.mark.parametrize(("side", "text", "factor"), [(5, "5 cm", 10.0), (50, "5 cm", 1.0)])
def test_a_check_square_settles_it_and_is_no_piece(dxf, saved, side, text, factor, layer, beside):
    at = (200, -1.2 * side / 3) if beside else (200 + side / 4, side / 4)
    square = [dxf.poly(layer, box(side, side, x=200)), dxf.text(text, *at, layer=layer)]
    outline = dxf.poly(layer, box(150, 140))
    for parts in ({"A": [outline], "T": square}, {"A": [outline, *square]}):
        pattern = read_pattern(saved(dxf.file(parts)))
        assert [f.piece.name for f in pattern.found] == ["A"]
        assert pattern.largest == pytest.approx((150 * factor, 140 * factor))
        (told,) = [f.text for f in pattern.findings if f.kind == "check"]
        assert told == "the check square '5 cm' is 5 cm, so the scale is right; it is no piece"
        assert not pattern.pieces[0].marks
    loose = read_pattern(saved(dxf.file({}, [outline, *square])))
    assert [f.extent for f in loose.found] == [pytest.approx((150 * factor, 140 * factor))]


def test_a_check_square_that_the_unit_contradicts_is_told(dxf, saved):
    square = [dxf.poly(1, box(50, 50, x=200)), dxf.text("5 cm", 210, 10, layer=1)]
    pattern = read_pattern(saved(dxf.file({"A": [dxf.poly(1, box(30, 20)), *square]})), unit="cm")
    assert any("is 50 cm, so the scale is not what it says" in f.text for f in pattern.findings)


def test_a_block_named_for_its_square(dxf, saved):
    blocks = {
        "A": [dxf.poly("cut", box(15, 14))],
        "Test square 2 inches": [dxf.poly("0", box(2, 2, x=30))],
    }
    pattern = read_pattern(saved(dxf.file(blocks, units=None)))
    assert [f.extent for f in pattern.found] == [pytest.approx((381.0, 355.6))]


@pytest.mark.parametrize("text", ["Print check", "1 inch", "THIS ONE"])
@pytest.mark.parametrize("kind", ["svg", "plain", "sewn"])
def test_a_reference_is_called_by_the_text_in_it(dxf, saved, kind, text):
    if kind == "svg":
        body = (
            '<rect width="1000" height="700"/><rect x="1200" width="90" height="90"/>'
            f'<text x="1210" y="50">{text}</text>'
        )
        path = saved(f'<svg xmlns="http://www.w3.org/2000/svg">{body}</svg>', "p.svg")
    else:
        layer = 1 if kind == "sewn" else "cut"
        content = [dxf.poly(layer, box(1000, 700)), dxf.poly(layer, box(90, 90, x=1200))]
        words = dxf.text(text, 1210, 40, layer=15 if kind == "sewn" else layer)
        path = saved(dxf.file({"A": [*content, words]}, units=None))
    pattern = read_pattern(path, reference=Reference(name=text.lower(), length=25.4))
    assert [f.extent for f in pattern.found] == [pytest.approx((282.22, 197.56), abs=0.01)]


def test_a_reference_is_called_by_the_text_beside_a_line(dxf, saved):
    entities = [
        dxf.poly("cut", box(1000, 700)),
        dxf.line("cut", 0, -100, 200, -100),
        dxf.text("two inches", 10, -110, layer="0"),
    ]
    path = saved(dxf.file({}, entities, units=None))
    pattern = read_pattern(path, reference=Reference(name="two inches", length=50.8))
    assert [f.extent for f in pattern.found] == [pytest.approx((254.0, 177.8))]


def test_a_reference_that_is_not_there_says_what_is(dxf, saved):
    entities = [dxf.poly("cut", box(100, 70)), dxf.text("1 inch", 10, -110, layer="0")]
    path = saved(dxf.file({}, entities, units=None))
    with pytest.raises(PatternError, match=r"text 'ruler' in it \(it has cut, 1 inch\)"):
        read_pattern(path, reference=Reference(name="ruler", length=25.4))


def test_a_refusal_speaks_in_the_jobs_unit(dxf, saved):
    with pytest.raises(PatternError, match=r"5 7/8 × 5 1/2 in in mm .* 59 × 55 1/8 in in cm"):
        read_pattern(saved(sewn(dxf)), amounts=Amounts("in"))


@pytest.mark.parametrize("kind", ["plain", "sewn"])
def test_a_role_for_a_layer_that_is_not_there_is_refused(dxf, saved, kind):
    content = [dxf.poly(1 if kind == "sewn" else "front", dxf.SQUARE)]
    path = saved(dxf.file({"A": content}))
    with pytest.raises(PatternError, match=r"has the layer[a-z ]* 'RED' \(it has .*(1|front)"):
        read_pattern(path, unit="mm", roles={"RED": "cut"})


def test_a_role_for_one_layer_keeps_the_layer_plan_of_the_others(dxf, saved):
    lines = [dxf.line("STITCH9", 20, 20, 200, 20), dxf.line(7, 50, 50, 50, 200)]
    drawn = dxf.file({"A": [dxf.poly(1, dxf.SQUARE), *lines]})
    pattern = read_pattern(saved(drawn), roles={"stitch9": "line"})
    assert pattern.kind == "sewn-product DXF"
    assert (pattern.pieces[0].grain, len(pattern.pieces[0].marks)) == (pytest.approx(90.0), 1)


@pytest.mark.parametrize(
    ("amounts", "told"),
    [(None, "10 mm inside another"), (Amounts("in"), "0.39 in inside another")],
)
def test_a_refusal_tells_places_as_they_are_drawn(saved, amounts, told):
    """In px of a drawing whose y runs downwards, not in mm upwards."""
    text = (
        '<svg xmlns="http://www.w3.org/2000/svg"><g class="cut"><rect x="100" y="200" width="960" '
        'height="480"/><rect x="137.795" y="237.795" width="884.41" height="404.41"/></g></svg>'
    )
    with pytest.raises(PatternError, match=rf"\(137\.795, 237\.795\) in the drawing is {told}"):
        read_pattern(saved(text, "p.svg"), unit="px", amounts=amounts)


def test_gaps_of_a_drawing_in_inches_are_told_in_inches(saved):
    text = (
        '<svg xmlns="http://www.w3.org/2000/svg" width="20in" height="20in" viewBox="0 0 20 20">'
        '<path d="M1 1H9V7H1V1.0315"/></svg>'
    )
    pattern = read_pattern(saved(text, "p.svg"))
    assert any("was open by 0.031 in and" in f.text for f in pattern.findings)
