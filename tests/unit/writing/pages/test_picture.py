from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from nesting.marker.lay import Lay, Part, Strip
from nesting.marker.marker import Marker
from nesting.marker.measure import piece_area
from nesting.planning.plan import Plan
from nesting.writing.neutral.draw import draw, draw_grounds
from nesting.writing.neutral.keys import job_keys
from nesting.writing.neutral.look import piece_colour
from nesting.writing.pages.picture import write_picture
from nesting.writing.pages.picture_grid import GAP_Y
from nesting.writing.pages.picture_grid import views as views_of
from nesting.writing.pages.view import in_rows, rows_for, screen_svg


def pixels_of(image: np.ndarray, colour: str) -> int:
    rgb = [int(colour[i : i + 2], 16) for i in (1, 3, 5)]
    return int(np.all(image == rgb, axis=-1).sum())


def test_each_piece_has_its_colour_on_its_area(hand_laid_plan: Plan, tmp_path: Path) -> None:
    entry, names = hand_laid_plan.entries[0], job_keys(hand_laid_plan.job)
    write_picture(entry, tmp_path / "m.png", keys=names)
    image = np.asarray(Image.open(tmp_path / "m.png").convert("RGB"))
    area: dict[str, float] = {}
    for part in entry.marker.lay.parts:
        area[part.piece.name] = area.get(part.piece.name, 0.0) + piece_area(part.piece)
    found = {name: pixels_of(image, piece_colour(names.place(name))) for name in area}
    scale = found["Front panel"] / area["Front panel"]
    for name in ("Front panel", "Flap", "Base", "Side"):
        # Names, arrows and edges cover a little of each.
        assert found[name] == pytest.approx(scale * area[name], rel=0.06), name
    assert all(found.values())


def test_a_picture_is_replaced_only_when_asked(hand_laid_plan: Plan, tmp_path: Path) -> None:
    (tmp_path / "m.png").write_bytes(b"mine")
    with pytest.raises(OSError, match="exists already"):
        write_picture(hand_laid_plan.entries[2], tmp_path / "m.png")
    assert (tmp_path / "m.png").read_bytes() == b"mine"


def test_a_long_lay_is_broken_into_rows() -> None:
    grid, views = views_of([(0.0, 0.0, 7000.0, 1100.0)])
    assert grid.rows == len(views) > 1
    assert views[0][1][0] == 0.0
    assert views[-1][1][2] == pytest.approx(7000.0)
    assert all(a[1][2] == b[1][0] for a, b in pairwise(views))
    square, whole = views_of([(0.0, 0.0, 1000.0, 1100.0)])
    assert (square.rows, len(whole)) == (1, 1)


def test_many_sheets_stand_in_a_grid() -> None:
    grid, views = views_of([(0.0, 0.0, 600.0, 400.0)] * 12)
    assert len(views) == 12
    assert grid.columns > 1
    assert grid.rows > 1
    corners = {grid.corner(i) for i in range(12)}
    assert len(corners) == 12


def test_a_smaller_sheet_takes_no_more_room_than_its_own() -> None:
    """A wide one above a high one: the wide one's row is no higher than itself."""
    grid, _ = views_of([(0.0, 0.0, 2000.0, 500.0), (0.0, 0.0, 800.0, 1000.0)])
    low, high = grid.corner(1)[1], grid.corner(0)[1]
    assert grid.columns == 1
    assert high - low == pytest.approx(1000.0 * grid.scale + GAP_Y)
    assert grid.size[1] == pytest.approx(1500.0 * grid.scale + GAP_Y)


def test_rows_of_a_report_lose_nothing(hand_laid_marker: Marker) -> None:
    drawing = draw(hand_laid_marker)
    rows = in_rows(drawing, 3)
    assert {label for row in rows for label in row.labels} == set(drawing.labels)
    assert {stroke for row in rows for stroke in row.strokes} == set(drawing.strokes)
    assert in_rows(drawing, 1) == (drawing,)
    assert sum(screen_svg(row).count("<title>") for row in rows) >= len(hand_laid_marker.placements)


def test_a_square_marker_stays_whole(hand_laid_plan: Plan) -> None:
    (ground,) = draw_grounds(hand_laid_plan.entries[0])
    assert rows_for(ground, across=180.0, high=165.0) == 1


def test_an_empty_marker_has_a_drawing_of_nothing(hand_laid_plan: Plan) -> None:
    parts: tuple[Part, ...] = hand_laid_plan.entries[0].marker.lay.parts
    empty = Marker(lay=Lay(name="x", parts=parts, stock=Strip(width=500.0)), placements=())
    drawing = draw(empty)
    assert (drawing.length, drawing.strokes, drawing.labels) == (0.0, (), ())
    assert screen_svg(drawing).startswith("<svg")
