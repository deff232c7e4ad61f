"""Odd lays at every size of things: a millimetre to ten metres, needles, spirals, rings.

The pieces are our own. The judge's word is the check, and lengths that follow from how the
pieces were made: cut out of a rectangle, they fill it again without gaps.
"""

import math
import random

import pytest
from shapely.geometry import LineString, Polygon
from shapely.ops import split

from nesting.errors import Severity
from nesting.marker.check import check
from nesting.marker.lay import Lay, Part, Sheet, Sheets, Strip, Turns
from nesting.marker.marker import Marker, Placement
from nesting.pattern.path import Path
from nesting.pattern.piece import Piece
from nesting.search.problem import prepare
from nesting.search.result import Limits, Stopped
from nesting.search.solve import search
from nesting.search.squeezing.squeeze import compact
from nesting.search.warm import warm

SCALES = [1.0, 100.0, 10_000.0]
"""Length of the longest piece, mm."""

CORNERS = [(0.0, 0.0), (1.0, 0.0), (1.0, 0.5), (0.0, 0.5)]
INNER = [(0.31, 0.0), (0.74, 0.5), (0.42, 0.21), (0.88, 0.17), (0.13, 0.33)]
"""A rectangle of 1 by 0.5 cut along lines through these points."""

JIGSAW = [
    [CORNERS[0], INNER[0], INNER[2], INNER[4]],
    [INNER[0], CORNERS[1], INNER[3], INNER[2]],
    [CORNERS[1], CORNERS[2], INNER[1], INNER[3]],
    [INNER[2], INNER[3], INNER[1]],
    [INNER[4], INNER[2], INNER[1], CORNERS[3]],
    [CORNERS[0], INNER[4], CORNERS[3]],
]
SPIRAL = [(0, 0), (7, 0), (7, 7), (0, 7), (0, 2), (5, 2), (5, 5), (2, 5), (2, 4), (4, 4), (4, 3),
          (1, 3), (1, 6), (6, 6), (6, 1), (0, 1)]  # fmt: skip


@pytest.fixture(scope="module", autouse=True)
def _compiled():
    warm()


def piece(ring, name="piece", holes=(), *, scale=1.0):
    paths = [
        Path.polyline([(x * scale, y * scale) for x, y in points], closed=True)
        for points in (ring, *holes)
    ]
    return Piece(name=name, cut=paths[0], holes=tuple(paths[1:]))


def jigsaw(scale, **rules):
    return tuple(
        Part(name=f"bit {n}", piece=piece(ring, f"bit {n}", scale=scale), **rules)
        for n, ring in enumerate(JIGSAW)
    )


def judged(lay, **limits):
    """Search, and return the result if the judge finds no fault and nothing is left out."""
    result = search(lay, limits=Limits(**{"seconds": None, **limits}), workers=1)
    assert [f.text for f in check(result.marker) if f.severity is Severity.FAULT] == []
    assert result.unplaced == ()
    assert len(result.marker.placements) == len(lay.parts)
    return result


def length(result):
    return max(
        placed.affine(point)[0]
        for placed in result.marker.placements
        for point in result.marker.lay.parts[placed.part].piece.cut.points(1e-3)
    )


@pytest.mark.parametrize("scale", SCALES)
def test_pieces_that_touch_exactly_are_good(scale):
    """Laid as they were cut, the bits share all their edges: the search and the judge agree."""
    lay = Lay(name="cut", parts=jigsaw(scale), stock=Strip(width=0.5 * scale))
    marker = Marker(lay=lay, placements=tuple(Placement(part=i, x=0.0, y=0.0) for i in range(6)))
    assert check(marker) == ()
    problem, _ = prepare(lay)
    world = problem.world(problem.boards(1), fine=True)
    layout = world.save()
    for i in range(6):
        shape = int(world.options_of(i, 0)[0])
        centre = world.outlines[world.shapes[shape].outline].centre
        layout.at[i], layout.shape[i], layout.sheet[i] = centre, shape, 0
    assert world.load(layout)
    assert world.overlap() == 0.0
    assert world.used_length(world.save()) == pytest.approx(scale, rel=1e-9)
    assert world.used_length(compact(world)) == pytest.approx(scale, rel=1e-6)


@pytest.mark.parametrize("scale", SCALES)
def test_a_jigsaw_is_put_together(scale):
    """The rectangle it was cut from is 1 long; nothing shorter is true."""
    lay = Lay(name="jigsaw", parts=jigsaw(scale), stock=Strip(width=0.5 * scale))
    result = judged(lay, rounds=60, length=1.0001 * scale)
    assert length(result) >= scale * (1.0 - 1e-6)
    assert length(result) <= scale * 1.02
    assert result.bound.value <= scale * (1.0 + 1e-9)


def cut_up(count, seed):
    """Cut a rectangle of 100 by 60 along random lines through the largest bit's middle."""
    dice = random.Random(seed)
    bits = [Polygon([(0, 0), (100, 0), (100, 60), (0, 60)])]
    while len(bits) < count:
        bits.sort(key=lambda bit: -bit.area)
        largest = bits.pop(0)
        x, y = largest.centroid.coords[0]
        u, v = dice.uniform(-300, 300), dice.uniform(-300, 300)
        bits += split(largest, LineString([(x - u, y - v), (x + u, y + v)])).geoms
    return [list(bit.exterior.coords)[:-1] for bit in bits]


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_a_dozen_random_bits_are_put_together(seed):
    parts = tuple(
        Part(name=f"bit {n}", piece=piece(ring, f"bit {n}"), turns=Turns())
        for n, ring in enumerate(cut_up(12, seed))
    )
    lay = Lay(name="bits", parts=parts, stock=Strip(width=60.0))
    result = judged(lay, rounds=300)
    assert result.stopped is Stopped.OPTIMAL  # as short as the area says


@pytest.mark.parametrize("scale", SCALES)
@pytest.mark.parametrize("spacing", [0.0, 0.01])
def test_a_part_in_the_hole_of_another(scale, spacing):
    """A frame of 1 with a window of 0.7, and a core of 0.65: both take no more than the frame."""
    square = [(0, 0), (1, 0), (1, 1), (0, 1)]
    window = [(0.15, 0.15), (0.15, 0.85), (0.85, 0.85), (0.85, 0.15)]
    core = [(0.0, 0.0), (0.65, 0.0), (0.64, 0.65), (0.01, 0.65)]
    parts = (
        Part(name="frame", piece=piece(square, "frame", [window], scale=scale)),
        Part(name="core", piece=piece(core, "core", scale=scale)),
    )
    lay = Lay(name="hole", parts=parts, stock=Strip(width=scale), spacing=spacing * scale)
    assert length(judged(lay, rounds=10)) == pytest.approx(scale, rel=1e-6)


@pytest.mark.parametrize("scale", SCALES)
@pytest.mark.parametrize("slim", [1e-2, 1e-4])
def test_needles(scale, slim):
    """Ten needles take little more room than their area and one length."""
    ring = [(0.0, 0.0), (1.0, 0.0), (1.0, slim)]
    needle = piece(ring, scale=scale)
    turns = Turns(angles=(0.0, 180.0))
    parts = tuple(Part(name=f"{i}", piece=needle, turns=turns) for i in range(10))
    lay = Lay(name="needles", parts=parts, stock=Strip(width=0.3 * scale))
    assert length(judged(lay, rounds=3)) <= 2.0 * scale


@pytest.mark.parametrize("scale", SCALES)
def test_spirals_and_what_fits_between_their_arms(scale):
    """The gap between the arms is a seventh wide; slips a tenth wide may lie in it."""
    spiral = piece([(x / 7, y / 7) for x, y in SPIRAL], "spiral", scale=scale)
    slip = piece([(0, 0), (0.5, 0), (0.49, 0.1), (0, 0.1)], "slip", scale=scale)
    turns = Turns(angles=(0.0, 90.0, 180.0, 270.0))
    parts = (
        *(Part(name=f"spiral {i}", piece=spiral, turns=turns) for i in range(3)),
        *(Part(name=f"slip {i}", piece=slip, turns=turns) for i in range(6)),
    )
    lay = Lay(name="spirals", parts=parts, stock=Strip(width=1.1 * scale))
    assert length(judged(lay, rounds=10)) <= 3.4 * scale


def test_ten_metres_beside_one_millimetre():
    """The judge's tolerance follows the larger part, the search's the smaller."""
    panel = piece([(0, 0), (10_000, 0), (9_990, 1_400), (5, 1_395)], "panel")
    bit = piece([(0, 0), (1, 0), (1, 0.4), (0.3, 1)], "bit")
    parts = (
        *(Part(name=f"panel {i}", piece=panel) for i in range(2)),
        *(Part(name=f"bit {i}", piece=bit, turns=Turns(slack=180.0)) for i in range(20)),
    )
    lay = Lay(name="mixed", parts=parts, stock=Strip(width=1_500.0), spacing=0.1)
    assert length(judged(lay, rounds=2)) <= 20_100.0


@pytest.mark.parametrize("scale", SCALES)
def test_no_time(scale):
    """With no time at all there is still a marker, as bottom-left lays it: here with waste."""
    lay = Lay(name="now", parts=jigsaw(scale), stock=Strip(width=0.6 * scale))
    result = judged(lay, seconds=0.0)
    assert result.stopped is Stopped.TIME


@pytest.mark.parametrize("stock", [
    Strip(width=100.0),
    Sheets(sheets=(Sheet(name="s", outline=piece([(0, 0), (9, 0), (9, 9), (0, 9)]).cut),)),
    Sheets(sheets=()),
])  # fmt: skip
def test_nothing_to_lay(stock):
    for limits in ({"seconds": 0.0}, {"rounds": 1}):
        result = judged(Lay(name="empty", parts=(), stock=stock), **limits)
        assert result.marker.placements == ()
        assert result.stopped is Stopped.OPTIMAL


@pytest.mark.parametrize("scale", SCALES)
@pytest.mark.parametrize("turns", [Turns(), Turns(angles=(0.0, 90.0)), Turns(slack=180.0)])
def test_a_part_that_fits_in_no_turn_is_named_and_the_rest_laid(scale, turns):
    """A disc of 1 is wider than a strip of 0.9 however it lies; its octagon is 0.92 at least."""
    disc = [(math.cos(a * math.pi / 4) / 2, math.sin(a * math.pi / 4) / 2) for a in range(8)]
    parts = (
        Part(name="disc", piece=piece(disc, "disc", scale=scale), turns=turns),
        *jigsaw(scale, turns=turns),
    )
    lay = Lay(name="disc", parts=parts, stock=Strip(width=0.9 * scale))
    result = search(lay, limits=Limits(seconds=None, rounds=1), workers=1)
    assert [u.part for u in result.unplaced] == [0]
    assert result.stopped is Stopped.INFEASIBLE  # in any turn: the least extent is derived
    faults = [f.kind for f in check(result.marker) if f.severity is Severity.FAULT]
    assert faults == ["missing"]
