"""Parts that no width, sheet or hide takes, and what is said of them."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon

from nesting.marker.lay import Lay, Part, Sheet, Sheets, Strip, Turns
from nesting.pattern.path import Path
from nesting.pattern.piece import Piece
from nesting.planning.lay.lays import too_big


def rectangle_lay(
    length: float, width: float, stock: Strip | Sheets, *, turns: Turns | None = None
) -> Lay:
    ring = [(0.0, 0.0), (length, 0.0), (length, width), (0.0, width)]
    piece = Piece(name="p", cut=Path.polyline(ring, closed=True))
    part = Part(name="p", piece=piece, turns=turns or Turns(angles=(0.0, 180.0)))
    return Lay(name="m", parts=(part,), stock=stock)


@pytest.mark.parametrize(
    ("width", "turns", "hint"),
    [
        (100.0, Turns(angles=(0.0, 180.0)), None),
        (100.0 - 1e-9, Turns(angles=(0.0, 180.0)), None),
        (99.9, Turns(angles=(0.0, 180.0)), "across"),
        (99.9, Turns(angles=(0.0, 90.0)), None),
        (99.9, Turns(slack=180.0), None),
        (49.9, Turns(slack=180.0), "pieced"),
        (99.9, Turns(angles=(0.0,), slack=5.0), "across"),
        (99.9, Turns(angles=(0.0,), slack=80.0), None),
    ],
)
def test_too_wide(width: float, turns: Turns, hint: str | None) -> None:
    """50 × 100 mm on a strip."""
    found = too_big(rectangle_lay(50, 100, Strip(width=width), turns=turns))
    if hint is None:
        assert found == ()
    else:
        assert "needs a width" in found[0].why
        assert hint in found[0].hint


def sheet(length: float, width: float, *, margin: float = 0.0) -> Sheets:
    ring = [(0.0, 0.0), (length, 0.0), (length, width), (0.0, width)]
    one = Sheet(name="s", outline=Path.polyline(ring, closed=True), count=1)
    return Sheets(sheets=(one,), margin=margin)


def test_too_big_for_a_sheet() -> None:
    assert too_big(rectangle_lay(100, 50, sheet(100, 50))) == ()
    assert too_big(rectangle_lay(100, 50, sheet(100, 50, margin=1)))
    (big,) = too_big(rectangle_lay(100, 50, sheet(60, 110)))
    assert "turned" in big.hint
    assert too_big(rectangle_lay(100, 50, sheet(60, 110), turns=Turns(slack=180.0))) == ()


def test_no_sheet_at_all() -> None:
    (big,) = too_big(rectangle_lay(100, 50, Sheets(sheets=())))
    assert "none to cut from" in big.why


def test_a_long_part_fits_a_square_along_its_diagonal() -> None:
    """A strip of 1 × L lies in a square of side s at 45° if L + 1 ≤ s·√2."""
    assert too_big(rectangle_lay(140, 1, sheet(100, 100), turns=Turns(slack=180.0))) == ()
    assert too_big(rectangle_lay(142, 1, sheet(100, 100), turns=Turns(slack=180.0)))


points = st.tuples(st.floats(0, 300), st.floats(0, 300))


@settings(deadline=None, max_examples=60)
@given(
    st.lists(points, min_size=4, max_size=9, unique=True),
    st.sampled_from([0.0, 5.0, 40.0, 180.0]),
    st.floats(-180, 180),
)
def test_whatever_is_too_wide_is_so_at_every_turn_tried(
    corners: list[tuple[float, float]], slack: float, angle: float
) -> None:
    """Against brute force over turns: the least width found is the least there is."""
    hull = shapely.MultiPoint(corners).convex_hull
    if not isinstance(hull, Polygon) or hull.area < 10.0:
        return
    ring = list(hull.exterior.coords)[:-1]
    piece = Piece(name="p", cut=Path.polyline([(x, y) for x, y, *_ in ring[::-1]], closed=True))
    turns = Turns(angles=(angle,), slack=slack)
    tried = np.linspace(angle - slack, angle + slack, 721)
    xy = np.asarray(ring)
    widths = [
        np.ptp(xy[:, 0] * math.sin(math.radians(a)) + xy[:, 1] * math.cos(math.radians(a)))
        for a in tried
    ]
    least = float(min(widths))
    lay = Lay(name="m", parts=(Part(name="p", piece=piece, turns=turns),), stock=Strip(width=least))
    assert too_big(lay) == ()
    narrow = Lay(name="m", parts=lay.parts, stock=Strip(width=least * 0.97 - 1.0))
    assert too_big(narrow)
