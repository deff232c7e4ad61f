"""A picture made flat, against small renders through OpenCV's own camera."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from benchmarks.photographed import renders
from benchmarks.photographed.renders import Camera, Scanner, Thing, box, placed, render, saved
from nesting.errors import PatternError
from nesting.reading.pictures.flat import Flat, flatten
from nesting.reading.pictures.picture import Picture, read_picture
from nesting.reading.pictures.references.find import Finder
from nesting.reading.pictures.references.reference import parse_reference

LENS = (-0.1, 0.04, 0.0004, -0.0003, 0.0)
CAMERA = Camera(size=(1200, 900), focal=1050.0, lens=LENS, tilt=(9, -7, 4), far=800.0)
BOARD = Thing(placed(box(260, 150), 60, 60, -12), (200, 170, 130))
LEFT, RIGHT = renders.sheet(-380, -220, turn=7), renders.sheet(110, -250, turn=-4)


def flat_of(things, *references: str, camera=CAMERA, **light) -> Flat:
    pixels = render(camera, things, **{"light": 0.3, "shadow": 0.3, "noise": 2.0, **light})
    picture = read_picture(saved(pixels, kind="JPEG"))
    return flatten(picture, [parse_reference(text) for text in references])


def sides(corners: np.ndarray) -> np.ndarray:
    return np.hypot(*(np.roll(corners, -1, axis=0) - corners).T)


def test_what_lenses_do_is_no_more_than_lenses_do():
    """Corners that are only said tell nothing of the lens; 3.5 % of a metre is what it may bend."""
    said = parse_reference("1600 x 1200 mm at 0,0 799,0 799,599 0,599")
    flat = flatten(Picture(pixels=np.zeros((600, 800, 3), np.uint8)), [said])
    turn = np.linspace(0.0, 2.0 * np.pi, 60)
    ring = np.column_stack([400.0 + 250.0 * np.cos(turn), 300.0 + 150.0 * np.sin(turn)])
    assert 30.0 < flat.off_of(ring) < 60.0


@pytest.mark.parametrize(
    "lens",
    [
        (0.12, -0.05, 0.0003, -0.0002, 0.01, 0.2, -0.04, 0.01),  # rational
        (-0.28, 0.11, 0.0, 0.0, -0.02),  # nearly a fisheye's
        (-0.02, 0.0, 0.002, -0.0015, 0.0),  # out of square
    ],
)
def test_lenses_of_other_kinds_put_nothing_farther_off_than_is_told(lens):
    """OpenCV's own projection has more terms than the camera that is fitted to what is seen."""
    camera = replace(CAMERA, lens=lens)
    flat = flat_of([LEFT, RIGHT], "A4", camera=camera)
    x, y = np.meshgrid(np.linspace(-300, 300, 9), np.linspace(-200, 200, 7))
    true = np.column_stack([x.ravel(), y.ravel()])
    places = flat.of_picture(camera.seen(true))
    found = flat.to_mm(places)
    a, b = found - found.mean(axis=0), true - true.mean(axis=0)
    turn = np.arctan2(np.sum(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]), np.sum(a * b))
    c, s = np.cos(turn), np.sin(turn)
    off = np.hypot(*(a @ np.array([[c, s], [-s, c]]) - b).T).max()
    assert off < flat.off_of(places) < 5.0


def test_two_sheets_make_the_lens_and_the_slant_known():
    flat = flat_of([LEFT, RIGHT, BOARD], "A4")
    assert "2 of them" in flat.said
    for corners in flat.references:
        assert sorted(sides(flat.to_mm(corners))) == pytest.approx([210, 210, 297, 297], abs=0.15)
    assert flat.off < 2.5
    # what was photographed is seen from straight above: the board's own corners, found anew
    picture = read_picture(saved(flat.pixels))
    board = min(Finder(picture=picture).lying, key=lambda quad: quad.corners[:, 1].mean())
    found = sorted(sides(flat.to_mm(board.corners)))
    assert found == pytest.approx([150, 150, 260, 260], abs=0.4)
    assert flat.off_of(board.corners) < 0.6


@pytest.mark.parametrize("seed", [0, 1, 2])
def test_what_may_be_off_is_more_than_what_is_off(seed):
    """One sheet alone, elsewhere each time: the board's sides and what they are told to be off."""
    where = [(-380, -220, 7), (-100, -260, 2), (-380, 10, -5)][seed]
    flat = flat_of([renders.sheet(where[0], where[1], turn=where[2]), BOARD], "A4", seed=seed)
    lying = Finder(picture=read_picture(saved(flat.pixels))).lying
    board = max(lying, key=lambda quad: quad.corners[:, 0].mean())
    found = np.sort(sides(flat.to_mm(board.corners)))
    assert found == pytest.approx([150, 150, 260, 260], rel=0.02)
    assert np.abs(found - [150, 150, 260, 260]).max() < 2.0 * flat.off_of(board.corners)


def test_a_drawn_square_gives_a_scan_its_scale():
    scanner = Scanner(size=(900, 700), turn=1.2)
    square = renders.stroke(placed(box(50, 50), 80, 20), 0.8)
    pixels = render(scanner, square, ground=(250, 250, 248), noise=2.0)
    flat = flatten(read_picture(saved(pixels)), [parse_reference("5 cm square")])
    assert flat.said == "5 cm square, a flat scan"
    assert 25.4 / flat.mm_per_pixel == pytest.approx(150.0, rel=5e-4)
    assert flat.off < 0.15
    # the square lies straight, though the paper was scanned askew
    corners = flat.to_mm(flat.references[0])
    assert np.abs(corners[1] - corners[0]).min() < 0.05


def test_our_marks_are_found_without_a_word():
    import cv2

    from nesting.reading.pictures.references.marks import DICTIONARY
    from nesting.reading.pictures.references.reference import MARK, MARKS

    things = []
    for number, (x, y) in enumerate([(-330, 150), (250, 170), (240, -230), (-340, -240)][:MARKS]):
        pattern = cv2.aruco.generateImageMarker(
            cv2.aruco.getPredefinedDictionary(DICTIONARY), number, 6
        )
        things.append(Thing(placed(box(MARK + 30, MARK + 30), x - 15, y - 15), (250, 250, 250)))
        cell = MARK / 6
        for row, column in np.argwhere(pattern < 128):
            corner = (x + column * cell, y + (5 - row) * cell)
            things.append(Thing(placed(box(cell + 0.05, cell + 0.05), *corner), (20, 20, 20)))
    flat = flat_of([*things, BOARD], shadow=0.0)
    assert flat.said == "marks, 4 of them"
    for corners in flat.references:
        assert sides(flat.to_mm(corners)) == pytest.approx([MARK] * 4, abs=0.15)


def test_a_rectangle_given_by_its_corners():
    corners = CAMERA.seen(BOARD.outline).round()
    places = " ".join(f"{x:.0f},{y:.0f}" for x, y in corners)
    flat = flat_of([BOARD], f"26 x 15 cm at {places}")
    assert sorted(sides(flat.to_mm(flat.references[0]))) == pytest.approx(
        [150, 150, 260, 260], abs=0.15
    )
    with pytest.raises(PatternError, match="contradicts itself"):
        flat_of([BOARD], f"15 x 26 cm at {places}")


@pytest.mark.parametrize(
    ("things", "references", "told"),
    [
        ([LEFT, BOARD], [], "nothing says how large"),
        ([LEFT, BOARD], ["Letter"], "of the shape of A4"),
        ([BOARD], ["A4"], "no A4 sheet"),
        ([LEFT, BOARD], ["marks"], "none of our printed marks"),
        ([LEFT, BOARD], ["5 cm square"], "no '5 cm square'"),
        ([LEFT, renders.sheet(110, -250, sides=(282, 200))], ["A4"], "two rectangles could be"),
        ([LEFT, BOARD], ["A4", "26.5 x 15.3 cm"], "contradict one another"),
        ([LEFT, BOARD], ["1 x 2 cm at 5000,1 6000,1 6000,800 5000,800"], "outside of the picture"),
    ],
)
def test_no_reference_or_one_that_contradicts_is_refused_with_what_to_do(things, references, told):
    with pytest.raises(PatternError) as refused:
        flat_of(things, *references)
    assert told in str(refused.value)
    assert refused.value.hint
