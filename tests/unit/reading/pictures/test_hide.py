"""A hide on a floor, photographed through a pinhole camera: OpenCV's own projection is the truth.

The scenes are invented. What is found lies turned and moved against them, as a sheet of paper may
lie anyhow, so outlines are laid upon each other first.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from functools import cache

import cv2
import numpy as np
import pytest
import shapely
import shapely.affinity

from benchmarks.photographed.camera import Camera, photograph
from benchmarks.photographed.fit import laid_upon
from benchmarks.photographed.hides import Scene, floor_of, outline
from nesting.errors import PatternError
from nesting.reading.pictures.flat import Flat, flatten
from nesting.reading.pictures.hides.backbone import guessed_backbone
from nesting.reading.pictures.hides.chalk import parse_ink
from nesting.reading.pictures.hides.hide import FoundHide, measure_hide
from nesting.reading.pictures.picture import Picture
from nesting.reading.pictures.references.reference import parse_reference

RING = outline(900.0, 640.0, at=(950.0, 720.0), turn=7.0)
TURN = 7.0  # degrees: the line of chalk below lies so
SPINE = [(650.0, 683.2), (1250.0, 756.8)]
SCENE = Scene(
    size=(2000.0, 1500.0),
    hide=RING,
    sheets=[(330.0, 330.0, 9.0, 297.0, 210.0), (1560.0, 1130.0, -75.0, 297.0, 210.0)],
    rings=[(1050.0, 850.0, 30.0)],
    stickers=[(800.0, 850.0)],
    spine=SPINE,
    mm=1.0,
)
CAMERA = Camera(
    size=(1280, 960), at=(950.0, 720.0), height=1500.0, back=150.0, roll=3.0, bend=(-0.02, 0.003)
)


def flat_of(scene: Scene) -> Flat:
    pixels = photograph(CAMERA, floor_of(scene), noise=3.0, shade=0.2)
    return flatten(Picture(pixels=pixels), [parse_reference("A4")])


@pytest.fixture(scope="module")
def flat() -> Flat:
    return flat_of(SCENE)


@pytest.fixture(scope="module")
def measured(flat: Flat) -> Callable[..., FoundHide]:
    """Return what measures that hide, each way once."""

    @cache
    def found(*inks: str) -> FoundHide:
        return measure_hide(flat, inks=[parse_ink(ink) for ink in inks])

    return found


def test_its_outline_lies_inside_the_edge_and_off_by_no_more_than_is_told(
    measured: Callable[..., FoundHide],
) -> None:
    found = measured()
    truth = shapely.Polygon(RING)
    laid = laid_upon(found.outline, truth)
    off = shapely.distance(truth.exterior, shapely.points(shapely.get_coordinates(laid)))
    assert off.max() < found.off < 5.0
    assert shapely.hausdorff_distance(laid.exterior, truth.exterior, densify=0.01) < 5.0
    assert laid.difference(truth).area < 0.001 * truth.area
    assert len(shapely.get_coordinates(found.outline)) < 250


def test_sheets_tell_how_well_they_agree_and_one_alone_asks_for_another(
    flat: Flat, measured: Callable[..., FoundHide]
) -> None:
    (said,) = [one.text for one in flat.findings if one.kind == "agree"]
    found = re.fullmatch(r"the 2 references agree to within (\d\.\d) mm", said)
    assert found
    assert 0.0 < float(found[1]) < 1.5  # a pixel of the picture is 1.5 mm
    assert not [one for one in measured().findings if one.kind == "hide-off"]
    alone = replace(flat, modes=10.0 * flat.modes, references=flat.references[:1])
    (asked,) = [one.text for one in measure_hide(alone).findings if one.kind == "hide-off"]
    assert asked.startswith("one sheet tells the scale near it only, and the outline may be off")
    assert "lay a second one at the hide's other end" in asked


def test_rings_and_stickers_are_flaws_of_their_size(measured: Callable[..., FoundHide]) -> None:
    found = measured("chalk", "red stickers")
    ring, dot = found.flaws
    # The outer edge of a line of 5 mm about a circle of 60 mm; a sticker of 24 mm.
    for flaw, across in ((ring, 65.0), (dot, 24.0)):
        assert 0.0 < np.sqrt(4.0 * flaw.area / np.pi) - across < 5.0
    assert shapely.distance(ring.centroid, dot.centroid) == pytest.approx(250.0, abs=3.0)


def test_patches_that_nothing_is_said_of_are_asked_about(
    measured: Callable[..., FoundHide],
) -> None:
    kinds = {finding.kind: finding.text for finding in measured("chalk").findings}
    assert "1 patch of another colour stands out" in kinds["hide-patches"]
    (sticker,) = measured("chalk").unsaid
    assert np.sqrt(4.0 * sticker.area / np.pi) == pytest.approx(24.0, abs=3.0)
    both = measured("chalk", "red stickers")
    assert both.unsaid == ()
    (ring,) = measured("red stickers").unsaid
    assert np.sqrt(4.0 * ring.area / np.pi) == pytest.approx(65.0, abs=4.0)


def test_a_long_line_is_the_backbone(flat: Flat) -> None:
    found = measure_hide(flat, inks=[parse_ink("white chalk")])
    assert not found.backbone.guess
    (ring,) = found.flaws
    # The flat picture lies along the sheet, which is turned by 9°.
    assert found.backbone.angle == pytest.approx(TURN - SCENE.sheets[0][2], abs=1.5)
    assert found.outline.contains(ring)


def test_a_backbone_is_guessed_from_the_outline_and_says_so(flat: Flat) -> None:
    found = measure_hide(flat, inks=[parse_ink("chalk")], guess=True)
    assert found.backbone.guess
    assert "guess" in found.backbone.why
    assert found.backbone.angle == pytest.approx(TURN - SCENE.sheets[0][2], abs=4.0)


def test_a_side_is_guessed_to_be_cut_along_its_longest_straight_edge() -> None:
    whole = shapely.Polygon(outline(2000.0, 1500.0, at=(0.0, 0.0)))
    side = whole.intersection(shapely.box(-2000.0, 60.0, 2000.0, 2000.0))
    turned = shapely.affinity.rotate(side, 25.0)
    guess = guessed_backbone(turned)
    assert guess.angle == pytest.approx(25.0, abs=0.5)
    assert "edge" in guess.why


def test_marks_that_are_not_there_are_told(flat: Flat) -> None:
    found = measure_hide(flat, inks=[parse_ink("blue stickers")])
    assert not found.flaws
    assert any("no flaw is marked with blue stickers" in one.text for one in found.findings)


def test_joints_of_tiles_are_no_edges() -> None:
    """A busy floor: the sheets' corners are given, as they are not always found there."""
    scene = Scene(size=SCENE.size, hide=RING, floor="tiles", mm=1.0)
    pixels = photograph(CAMERA, floor_of(scene), noise=3.0, shade=0.2)
    corners = CAMERA.seen(np.array([[450.0, 350], [1450, 350], [1450, 1100], [450, 1100]]))
    said = "1000 x 750 mm at " + " ".join(f"{x:.2f},{y:.2f}" for x, y in corners)
    found = measure_hide(flatten(Picture(pixels=pixels), [parse_reference(said)]))
    truth = shapely.Polygon(RING)
    laid = laid_upon(found.outline, truth)
    assert shapely.hausdorff_distance(laid.exterior, truth.exterior, densify=0.01) < found.off


def test_a_floor_that_has_the_hides_colour_in_places_is_refused() -> None:
    scene = Scene(size=SCENE.size, hide=RING, floor="boards", mm=1.0)
    pixels = photograph(CAMERA, floor_of(scene), noise=3.0, shade=0.2)
    corners = CAMERA.seen(np.array([[450.0, 350], [1450, 350], [1450, 1100], [450, 1100]]))
    said = "1000 x 750 mm at " + " ".join(f"{x:.2f},{y:.2f}" for x, y in corners)
    with pytest.raises(PatternError, match="have the hide's colour"):
        measure_hide(flatten(Picture(pixels=pixels), [parse_reference(said)]))


def test_a_floor_without_a_hide_is_refused() -> None:
    flat = flat_of(
        Scene(
            size=SCENE.size, hide=outline(9.0, 7.0, at=(900.0, 700.0)), sheets=SCENE.sheets, mm=2.0
        )
    )
    with pytest.raises(PatternError, match="no hide is seen"):
        measure_hide(flat)


def test_a_hide_that_runs_off_the_picture_is_refused() -> None:
    far = RING + np.array([0.0, 420.0])
    sheets = [(330.0, 330.0, 9.0, 297.0, 210.0), (1300.0, 300.0, 15.0, 297.0, 210.0)]
    flat = flat_of(Scene(size=SCENE.size, hide=far, sheets=sheets, mm=1.0))
    with pytest.raises(PatternError, match="off the picture"):
        measure_hide(flat)


@pytest.mark.parametrize("said", ["purple chalk", "red paint stickers", "stones"])
def test_what_nothing_is_marked_with_is_refused(said: str) -> None:
    with pytest.raises(PatternError, match="nothing that flaws are marked with"):
        parse_ink(said)


def test_chalk_is_white_unless_its_colour_is_said() -> None:
    assert (parse_ink("chalk").colour, parse_ink("yellow chalk").colour) == ("white", "yellow")


def test_where_things_are_seen_is_what_opencv_says() -> None:
    """The camera of these renders against `cv2.projectPoints`, both ways."""
    places = np.array([[300.0, 250.0], [1500.0, 1200.0], [950.0, 720.0]])
    pixels = CAMERA.seen(places)
    assert CAMERA.floor(pixels) == pytest.approx(places, abs=0.01)
    axes, shift = CAMERA.pose
    there = np.column_stack([places, np.zeros(3)]) @ axes.T + shift
    straight = there[:, :2] / there[:, 2:] * CAMERA.matrix[0, 0] + CAMERA.matrix[:2, 2]
    undone = cv2.undistortPoints(
        pixels.reshape(-1, 1, 2), CAMERA.matrix, CAMERA.lens, P=CAMERA.matrix
    )
    assert undone.reshape(-1, 2) == pytest.approx(straight, abs=0.01)
