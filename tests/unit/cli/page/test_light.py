"""The page is light: what only searches need is not loaded for it, and no outline is kept twice."""

from __future__ import annotations

import subprocess
import sys

from nesting import Lay, Marker, Part, Piece, Placement, Strip, Turns
from nesting.marker.figures import figures
from nesting.pattern.path import _points
from nesting.pattern.shapes import circle


def test_what_searches_orders_and_drawings_need_is_not_loaded_with_the_page() -> None:
    """Together they take as much memory again as all else."""
    code = "import sys, thriftlay.page.app; print(*sorted({n.split('.')[0] for n in sys.modules}))"
    told = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    loaded = set(told.stdout.split())
    assert "shapely" in loaded
    assert loaded.isdisjoint({"numba", "llvmlite", "highspy", "ortools", "pandas", "cv2", "ezdxf"})


def test_figures_of_many_parts_keep_no_outline_of_each() -> None:
    coin = Piece(name="coin", cut=circle(40, centre=(20, 20)))
    parts = tuple(Part(name=f"coin {i}", piece=coin, turns=Turns()) for i in range(50))
    places = tuple(Placement(part=i, x=41.5 * i, y=0.25) for i in range(50))
    lay = Lay(name="coins", parts=parts, stock=Strip(width=60))
    before = _points.cache_info().currsize
    assert figures(Marker(lay=lay, placements=places)).length == 41.5 * 49 + 40
    assert _points.cache_info().currsize <= before + 1
