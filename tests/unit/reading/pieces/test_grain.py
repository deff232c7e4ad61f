from __future__ import annotations

import math

import pytest

from nesting.pattern.path import Affine, Arc, Path
from nesting.reading.pieces.grain import grain_line
from nesting.reading.read import read_pattern

SHAFT = [(0.0, 0.0), (0.0, 100.0)]


def lines(*strokes) -> list[Path]:
    return [Path.polyline(stroke, closed=False) for stroke in strokes]


def turned(paths: list[Path], degrees: float) -> list[Path]:
    return [path.transformed(Affine.turn(degrees)) for path in paths]


TRIANGLE = Path.polyline([(-5, 100), (5, 100), (0, 112)], closed=True)
DOT = Path((Arc((0, 100), (4, 0), (0, 4), 0.0, math.tau),))
DIAMOND = Path.polyline([(0, 106), (-4, 100), (0, 94), (4, 100)], closed=True)


@pytest.mark.parametrize("turn", [0.0, 45.0, 90.0, 200.0])
@pytest.mark.parametrize("backwards", [False, True])
@pytest.mark.parametrize(
    ("more", "heads"),
    [
        ([], 0),
        (lines([(-5, 90), (0, 100), (5, 90)]), 1),
        (lines([(0, 100), (5, 90)]), 1),
        (lines([(-5, 90), (0, 100)], [(5, 10), (0, 0), (-5, 10)]), 2),
        ([TRIANGLE], 1),
        ([DOT], 0),
        ([DIAMOND], 0),
        ([TRIANGLE, *lines([(-4, 4), (4, -4)])], 1),
        (lines([(-5, 100), (5, 100)]), 0),
        (lines([(-5, 90), (0, 100), (5, 90)], [(-4, -8), (0, 0), (4, -8)]), 1),
    ],
    ids=["bare", "v", "half", "both", "beyond", "dot", "diamond", "tick", "bar", "feathers"],
)
def test_heads_of_a_grain_line(more, heads, turn, backwards):
    shaft = lines(SHAFT[::-1] if backwards else SHAFT)
    line = grain_line(turned([*shaft, *more], turn))
    assert (line.heads, line.up_known, line.several) == (heads, heads == 1, False)
    off = (line.direction - 90.0 - turn) % (180.0 if heads != 1 else 360.0)
    assert min(off, 360.0 - off) == pytest.approx(0.0, abs=1e-9)


def test_a_shaft_drawn_in_steps_counts_as_one():
    steps = [(0, 25 * i) for i in range(5)]
    (arrow,) = lines([*steps, (-5, 90), (0, 100), (5, 90)])
    line = grain_line([arrow])
    assert line.direction == pytest.approx(90.0, abs=1e-9)
    assert line.up_known


@pytest.mark.parametrize("layer", [7, "grain"])
def test_an_arrow_in_one_polyline_in_any_dxf(dxf, saved, layer):
    arrow = [(50, 50), (150, 150), (150, 135), (150, 150), (135, 150)]
    outline = dxf.poly(1 if layer == 7 else "cut", dxf.SQUARE)
    content = [outline, dxf.poly(layer, arrow, closed=False)]
    (found,) = read_pattern(saved(dxf.file({"A": content})), unit="mm").found
    assert found.piece.grain == pytest.approx(45.0, abs=1e-9)
    assert found.up_known


@pytest.mark.parametrize("layer", [7, "grain"])
@pytest.mark.parametrize("corners", [3, 4])
def test_a_filled_arrowhead_of_a_dxf(dxf, saved, layer, corners):
    """The second corner of the last two stands first, as DXF's SOLID has it."""
    head = [0, "SOLID", 8, layer, 10, 95, 20, 180, 11, 105, 21, 180, 12, 100, 22, 200]
    head += [13, 100, 23, 200] if corners == 4 else []
    content = [dxf.poly(1 if layer == 7 else "cut", dxf.SQUARE), dxf.line(layer, 100, 50, 100, 180)]
    other = [0, "SOLID", 8, "0", 10, 0, 20, 0, 11, 50, 21, 0, 12, 0, 22, 50]
    pattern = read_pattern(saved(dxf.file({"A": [*content, head, other]})), unit="mm")
    (found,) = pattern.found
    assert (found.piece.grain, found.up_known) == (pytest.approx(90.0), True)
    assert any(f.text == "not read: 1 SOLID" for f in pattern.findings)


HEAD = '<path d="M0,0 L0,6 L9,3 z"/>'


@pytest.mark.parametrize(
    ("attributes", "marker", "grain", "known"),
    [
        ('marker-end="url(#a)"', f'orient="auto" refX="0" refY="3">{HEAD}', 90.0, True),
        ('marker-end="url(#a)"', f'orient="auto" refX="9" refY="3">{HEAD}', 90.0, True),
        ('style="marker-end: url(#a)"', f'orient="auto" refY="3"><g>{HEAD}</g>', 90.0, True),
        ('class="arrow"', f'orient="auto" refY="3">{HEAD}', 90.0, True),
        (
            'marker-start="url(#a)"',
            f'orient="auto-start-reverse" refX="9" refY="3">{HEAD}',
            -90.0,
            True,
        ),
        # at the start it points along the line, into it: both ends say the same
        ('marker-start="url(#a)"', f'orient="auto" refX="9" refY="3">{HEAD}', 90.0, False),
        ('style="marker: url(#a)"', f'orient="auto-start-reverse" refY="3">{HEAD}', 90.0, False),
        ('marker-end="url(#a)"', 'orient="auto"><circle r="4"/>', 90.0, False),
        ('marker-end="url(#a)"', 'orient="auto">', 90.0, False),
        ('marker-end="url(#b)"', f'orient="auto" refY="3">{HEAD}', 90.0, False),
        ('marker-end="none"', f'orient="auto" refY="3">{HEAD}', 90.0, False),
    ],
)
def test_arrowheads_that_svg_draws_at_the_ends_of_a_line(saved, attributes, marker, grain, known):
    text = (
        '<svg xmlns="http://www.w3.org/2000/svg" width="900mm" height="900mm" '
        'viewBox="0 0 900 900"><style>.arrow { marker-end: url(#a) }</style>'
        f'<defs><marker id="a" {marker}</marker></defs>'
        '<g id="front"><rect x="100" y="100" width="300" height="200"/>'
        f'<g id="grain"><line x1="200" y1="250" x2="200" y2="150" {attributes}/></g></g></svg>'
    )
    (found,) = read_pattern(saved(text, "p.svg")).found
    assert (found.piece.grain, found.up_known) == (pytest.approx(grain), known)


def test_a_marker_of_a_group_holds_for_the_line_in_it(saved):
    text = (
        '<svg xmlns="http://www.w3.org/2000/svg" width="900mm" height="900mm" '
        'viewBox="0 0 900 900"><marker id="a" orient="auto" refX="9" refY="3">'
        f'{HEAD}</marker><g id="front"><rect x="100" y="100" width="300" height="200"/>'
        '<g class="grain" marker-end="url(#a)"><path d="M200 150V250"/></g></g></svg>'
    )
    (found,) = read_pattern(saved(text, "p.svg")).found
    assert (found.piece.grain, found.up_known) == (pytest.approx(-90.0), True)
