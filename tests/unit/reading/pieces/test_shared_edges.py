"""Pieces that share an edge are two or refused, and no stroke is lost in closing an outline."""

from __future__ import annotations

import random

import pytest

from nesting.errors import PatternError
from nesting.pattern.measure import area
from nesting.pattern.path import Bezier
from nesting.reading.read import read_pattern

LEFT = ["M0 0H200", "M200 300H0", "M0 300V0"]
RIGHT = ["M200 0H400", "M400 0V300", "M400 300H200"]
EDGE = ["M200 0V300"]
HEAD = 'width="1000mm" height="800mm" viewBox="0 0 1000 800"'


@pytest.fixture
def svg(saved):
    def read(strokes, *, role="", **options):
        drawn = "".join(f'<path d="{d}"/>' for d in strokes)
        body = f'<g class="{role}">{drawn}</g>'
        text = f'<svg xmlns="http://www.w3.org/2000/svg" {HEAD}>{body}</svg>'
        return read_pattern(saved(text, "p.svg"), **options)

    return read


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("edge", [EDGE, ["M200 300V0"], ["M200 0Q260 150 200 300"]])
def test_lines_to_cut_give_two_pieces(svg, edge, seed):
    strokes = [*LEFT, *RIGHT, *edge]
    random.Random(seed).shuffle(strokes)
    pattern = svg(strokes, role="cut")
    sizes = sorted(area(piece.cut) for piece in pattern.pieces)
    curved = "Q" in edge[0]
    assert sizes == pytest.approx([54_000, 66_000] if curved else [60_000, 60_000])
    assert [f.kind for f in pattern.findings].count("shared") == 1
    beziers = [any(isinstance(s, Bezier) for s in piece.cut.segments) for piece in pattern.pieces]
    assert beziers == [curved, curved]


def test_lines_of_no_role_are_asked_about(svg):
    with pytest.raises(PatternError, match="two pieces share, or a line to draw"):
        svg([*LEFT, *RIGHT, *EDGE])


def test_a_dxf_layer_of_no_role_is_asked_about_until_its_role_is_said(dxf, saved):
    ends = [(0, 0, 200, 0), (200, 0, 200, 300), (200, 300, 0, 300), (0, 300, 0, 0)]
    ends += [(200, 0, 400, 0), (400, 0, 400, 300), (400, 300, 200, 300)]
    path = saved(dxf.file({}, [dxf.line("thin", *four) for four in ends], units=None))
    with pytest.raises(PatternError, match="two pieces share"):
        read_pattern(path, unit="mm")
    pattern = read_pattern(path, unit="mm", roles={"thin": "cut"})
    assert sorted(area(piece.cut) for piece in pattern.pieces) == pytest.approx([60_000] * 2)


@pytest.mark.parametrize("role", ["", "cut"])
@pytest.mark.parametrize(
    "strokes",
    [
        ["M0 0H200V300H0z", "M200 0H400V300H200"],
        ["M0 0H200V300H0z", "M200 50H400V250H200"],
        [*LEFT, *EDGE, "M200 50H400V250H200"],
        [*LEFT, *EDGE, "M200.5 0H400V300H200.5"],
        # a point on a rectangle, its strokes 2 mm off: without it 24,000 of 28,000 mm² are left
        ["M0 0V120H200V0", "M0 0H200", "M0 -2L100 -40", "M100 -40L200 -2"],
    ],
    ids=["closed", "part", "loose", "gap", "point"],
)
def test_the_rest_of_a_piece_beside_an_outline_is_asked_about(svg, strokes, role):
    with pytest.raises(PatternError, match="of one that shares an edge"):
        svg(strokes, role=role)


@pytest.mark.parametrize(
    "line",
    ["M200 300L100 150", "M0 150H200", "M0 -3H200", "M200 0L500 0"],
    ids=["from a corner", "across", "beside", "leading away"],
)
def test_a_line_to_draw_is_no_edge(svg, line):
    pattern = svg(["M0 0H200V300H0z", line])
    assert [area(piece.cut) for piece in pattern.pieces] == pytest.approx([60_000])


def test_two_pieces_that_touch_at_a_corner_share_nothing(svg):
    other = ["M200 300H400", "M400 300V500", "M400 500H200", "M200 500V300"]
    pattern = svg([*LEFT, *EDGE, *other])
    assert sorted(area(piece.cut) for piece in pattern.pieces) == pytest.approx([40_000, 60_000])
    assert "shared" not in [f.kind for f in pattern.findings]


@pytest.mark.parametrize("seed", range(6))
def test_strokes_that_do_not_quite_meet_lose_no_area(svg, seed):
    """A house of 28,000 mm²: every stroke up to 0.5 mm short or long at either end."""
    rng = random.Random(seed)
    corners = [(0, 140), (0, 260), (200, 260), (200, 140), (100, 100)]
    strokes = []
    for (x0, y0), (x1, y1) in zip(corners, [*corners[1:], corners[0]], strict=True):
        long = ((x1 - x0) ** 2 + (y1 - y0) ** 2) ** 0.5
        a, b = (rng.uniform(-0.5, 0.5) / long for _ in range(2))
        dx, dy = x1 - x0, y1 - y0
        strokes.append(f"M{x0 + a * dx} {y0 + a * dy}L{x1 - b * dx} {y1 - b * dy}")
    rng.shuffle(strokes)
    (piece,) = svg(strokes).pieces
    assert area(piece.cut) == pytest.approx(28_000, abs=0.5)


def test_wide_gaps_that_are_to_be_closed_keep_their_corners(svg):
    strokes = ["M30 0H170", "M200 30V110", "M170 140H30", "M0 110V30"]
    with pytest.raises(PatternError, match="an outline is open by"):
        svg(strokes, role="cut")
    pattern = svg(strokes, close=50)
    assert [area(piece.cut) for piece in pattern.pieces] == pytest.approx([28_000])
    assert sum("closed where its sides meet" in f.text for f in pattern.findings) == 4


def test_an_outline_that_is_nearly_closed_is_said_to_be_open(svg):
    with pytest.raises(PatternError, match=r"open by 3 mm .*--close"):
        svg(["M0 0H200V100H0V3"])
