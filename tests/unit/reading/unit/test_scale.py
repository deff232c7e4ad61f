from __future__ import annotations

from dataclasses import replace

import pytest

from nesting.errors import PatternError
from nesting.reading.read import read_pattern
from nesting.reading.unit.scale import Claim, decide_scale, fingerprint, size_text, unit_factor

INCH = Claim(factor=25.4, unit="in", why="the header says so")
MM = Claim(factor=1.0, unit="mm", why="the text says so")


@pytest.mark.parametrize(
    ("ratio", "name"),
    [
        # 1 in = 25.4 mm = 96 px = 72 pt (CSS Values and Units 4, section 6.2)
        (25.4, "inches taken for mm"),
        (0.0393701, "inches taken for mm"),
        (12166.6 / 479, "inches taken for mm"),  # a panel of 479 mm that opens as 12,166.6
        (132.292 / 500, "px (1/96 in) taken for mm"),  # 500 mm that becomes 132.292
        (3.779528, "px (1/96 in) taken for mm"),
        (2.834646, "points (1/72 in) taken for mm"),
        (0.352778, "points (1/72 in) taken for mm"),
        (1.25, "90 and 72 units per inch mixed up"),
        (0.8, "90 and 72 units per inch mixed up"),
        (1.066667, "96 and 90 units per inch mixed up"),
        (0.9375, "96 and 90 units per inch mixed up"),
        (4 / 3, "96 and 72 units per inch mixed up"),
        (0.75, "96 and 72 units per inch mixed up"),
        (10, "cm and mm mixed up"),
        (0.001, "m and mm mixed up"),
        (2.54, "inches taken for cm"),
        (0.96, "shrunk to fit a page, as printers do"),
        (1 / 0.94, "enlarged from a page that was shrunk to fit"),
        (1.02, None),
        (5.0, None),
        (float("nan"), None),
        (0.0, None),
    ],
)
def test_fingerprints(ratio, name):
    assert fingerprint(ratio) == name


def test_the_user_outweighs_the_file():
    scale, findings = decide_scale((420, 310), unit="mm", claims=[INCH])
    assert (scale.unit, scale.factor, scale.why) == ("mm", 1.0, "as the user says")
    (finding,) = findings
    assert "10.7 × 7.87 m instead of 420 × 310 mm" in finding.text
    assert "inches taken for mm" in finding.text


def test_without_a_word_it_is_refused_with_the_size_in_every_unit():
    with pytest.raises(PatternError) as told:
        decide_scale((420, 310))
    assert "420 × 310 mm in mm, 4.2 × 3.1 m in cm, 10.7 × 7.87 m in inches" in str(told.value)


def test_a_file_whose_word_gives_an_odd_size_is_refused():
    with pytest.raises(PatternError, match=r"10.7 × 7.87 m in in .* 420 × 310 mm in mm"):
        decide_scale((420, 310), claims=[INCH])
    with pytest.raises(PatternError, match=r"4.200 × 3.100 mm in mm .* 42.0 × 31.0 mm in cm"):
        decide_scale((4.2, 3.1), claims=[MM])


def test_the_users_word_is_taken_even_for_an_odd_size_and_told():
    scale, findings = decide_scale((420, 310), unit="in")
    assert scale.factor == 25.4
    assert [finding.kind for finding in findings] == ["size"]


def test_claims_that_contradict_each_other_are_told():
    scale, findings = decide_scale((420, 310), claims=[MM, INCH])
    assert scale.unit == "mm"
    assert findings[0].amount == pytest.approx(25.4)


def test_a_reference_outweighs_everything():
    scale, findings = decide_scale((400, 300), reference=(96.0, 100.0), claims=[MM], unit="mm")
    assert scale.factor == pytest.approx(100 / 96)
    assert len(findings) == 2
    assert all("shrunk to fit a page" in finding.text for finding in findings)


def test_a_reference_that_fits_a_unit_gives_it_exactly():
    scale, _ = decide_scale((16, 12), reference=(3.9370078740, 100.0))
    assert (scale.unit, scale.factor) == ("in", 25.4)


@pytest.mark.parametrize("bad", [(0.0, 100.0), (100.0, 0.0), (float("nan"), 1.0)])
def test_a_reference_without_length(bad):
    with pytest.raises(PatternError, match="no length"):
        decide_scale((400, 300), reference=bad)


@pytest.mark.parametrize(
    ("said", "name", "factor"),
    [
        ("mm", "mm", 1.0),
        ("Inches", "in", 25.4),
        ("inch", "in", 25.4),
        ("cm", "cm", 10.0),
        ("Millimetres", "mm", 1.0),
        ("feet", "ft", 304.8),
        ("px", "px", 25.4 / 96),
        ("1/90 in", "1/90 in", 25.4 / 90),
        ('"', "in", 25.4),
    ],
)
def test_names_of_units(said, name, factor):
    assert unit_factor(said) == (name, pytest.approx(factor))


@pytest.mark.parametrize("said", ["", "furlong", "m m"])
def test_unknown_units(said):
    with pytest.raises(PatternError, match="unknown unit"):
        unit_factor(said)


@pytest.mark.parametrize(
    ("size", "text"),
    [
        ((420.2, 309.9), "420 × 310 mm"),
        ((10668, 7874), "10.7 × 7.87 m"),
        ((16.53, 12.2), "16.5 × 12.2 mm"),
        ((1.0, 0.5), "1.000 × 0.500 mm"),
    ],
)
def test_sizes_as_people_say_them(size, text):
    assert size_text(size) == text


def test_a_file_without_a_unit(dxf, saved):
    path = saved(dxf.file({"A": [dxf.poly(1, dxf.SQUARE)]}, units=None))
    with pytest.raises(PatternError, match=r"400 × 300 mm in mm, .* 10.2 × 7.62 m in inches"):
        read_pattern(path)
    assert read_pattern(path, unit="mm").largest == pytest.approx((400, 300))


def test_english_means_inches(dxf, saved):
    ring = [(0, 0), (16, 0), (16, 12), (0, 12)]
    notch = dxf.point(4, 8, 0, 30, 0.25)
    pattern = read_pattern(saved(dxf.file({"A": [dxf.poly(1, ring), notch]}, units="ENGLISH")))
    assert pattern.scale.unit == "in"
    assert pattern.largest == pytest.approx((406.4, 304.8))
    assert pattern.pieces[0].marks[0].size == pytest.approx(6.35)


def test_metric_that_means_cm_is_not_believed(dxf, saved):
    ring = [(0, 0), (2.4, 0), (2.4, 1.2), (0, 1.2)]
    with pytest.raises(PatternError, match=r"24.0 × 12.0 mm in cm"):
        read_pattern(saved(dxf.file({"A": [dxf.poly(1, ring)]})))


def test_metric_text_outweighs_a_header_that_was_left_at_inches(dxf, saved):
    text = dxf.file({"A": [dxf.poly(1, dxf.SQUARE)]}, header=[9, "$INSUNITS", 70, 1])
    pattern = read_pattern(saved(text))
    assert pattern.scale.unit == "mm"
    assert any(f.kind == "scale" and "inches taken for mm" in f.text for f in pattern.findings)


def test_inches_in_the_header_of_a_file_in_mm_are_refused(dxf, saved):
    text = dxf.file({"A": [dxf.poly(1, dxf.SQUARE)]}, header=[9, "$INSUNITS", 70, 1], units=None)
    with pytest.raises(PatternError, match=r"10.2 × 7.62 m in in .*INSUNITS = 1.* 400 × 300 mm"):
        read_pattern(saved(text))


def test_measurement_is_the_last_word(dxf, saved):
    text = dxf.file({"A": [dxf.poly(1, dxf.SQUARE)]}, header=[9, "$MEASUREMENT", 70, 1], units=None)
    assert read_pattern(saved(text)).scale.why == "the file's header says $MEASUREMENT = 1"


def test_the_files_own_reference_line(dxf, saved):
    ring = [(x / 4, y / 4) for x, y in dxf.SQUARE]
    rule = dxf.line("Scale bar 100 mm", 0, -50, 25, -50)
    text = dxf.file({}, [dxf.poly("front", ring), rule], units=None)
    pattern = read_pattern(saved(text))
    assert pattern.largest == pytest.approx((400, 300))
    assert "'Scale bar 100 mm' is drawn 25 units long" in pattern.scale.why


@pytest.mark.parametrize(
    ("longest", "kinds"),
    [
        (59, None),
        (80, None),
        (130, ["size"]),
        (250, []),
        (2100, ["size"]),
        (3810, ["size"]),
        (4100, None),
    ],
)
def test_sizes_that_are_odd_for_a_bag(longest, kinds):
    claim = Claim(factor=1.0, unit="mm", why="the text says METRIC")
    if kinds is None:
        with pytest.raises(PatternError, match="say the unit if that is right"):
            decide_scale((longest, 20), claims=[claim])
    else:
        _, findings = decide_scale((longest, 20), claims=[claim])
        assert [finding.kind for finding in findings] == kinds


@pytest.mark.parametrize(
    ("longest", "unit", "other"),
    # 150 mm drawn under inches; 80 cm under METRIC
    [(150, "in", r"150 × 100 mm in mm"), (80, "mm", r"800 × .* mm in cm")],
)
def test_a_unit_that_makes_no_bag_where_another_does_is_asked_about(longest, unit, other):
    claim = Claim(factor=25.4 if unit == "in" else 1.0, unit=unit, why="the header says so")
    with pytest.raises(PatternError, match=other) as caught:
        decide_scale((longest, longest / 1.5), claims=[claim])
    assert "--unit" in str(caught.value)
    square = Claim(factor=claim.factor, unit=unit, why="a check square", firm=True)
    decide_scale((longest, longest / 1.5), claims=[square, claim])


def test_a_firm_word_is_believed_for_small_pieces():
    claim = Claim(factor=1.0, unit="mm", why="width 40mm", firm=True)
    _, findings = decide_scale((26, 20), claims=[claim])
    assert [finding.kind for finding in findings] == ["size"]
    _, (finding,) = decide_scale((40, 20), claims=[claim])  # or a table cloth of 40 in
    assert "1016 × 508 mm in inches" in finding.text
    assert decide_scale((40, 20), claims=[replace(claim, drawn=True)])[1] == ()
