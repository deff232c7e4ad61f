"""Hides drawn on the page: in the job's unit, changed and taken out; pictures kept or refused."""

from __future__ import annotations

import io
from pathlib import Path

import pytest
from PIL import Image
from thriftlay.page.app import ANSWERS, Page
from thriftlay.page.job_file import JobFile
from thriftlay.page.making import edited, making
from thriftlay.page.seen.kept import picture_taken

from nesting import read_job
from nesting.errors import JobError, PatternError
from nesting.pattern.affine import Affine
from nesting.pattern.measure import bounds
from nesting.pattern.polygon import polygon

JOB = """[job]
name = "Purse"
unit = "{}"
[[leather]]
name = "calf"
[[leather.hide]]
name = "old one"       # from the shelf
outline = "M 0,0 L 500,0 L 500,400 L 0,400 Z"
[[piece]]
name = "flap"
rectangle = ["80 mm", "50 mm"]
[[cut]]
piece = "flap"
material = "calf"
"""
SQUARE = [[0, 0], [100, 0], [100, -100], [0, -100]]
OUTLINE = {"kind": "outline", "points": SQUARE}
HIDE = {"what": "hide", "of": "calf", "name": "calf 4", "shapes": [OUTLINE]}


@pytest.fixture(params=["mm", "cm", "in"])
def file(request: pytest.FixtureRequest, tmp_path: Path) -> JobFile:
    path = tmp_path / "purse.toml"
    path.write_text(JOB.format(request.param))
    return JobFile(path)


def hides(file: JobFile) -> list[dict[str, object]]:
    return list(making(file)["goods"][0]["hides"])


def test_a_hide_is_as_large_as_it_was_drawn_whatever_the_unit(file: JobFile) -> None:
    scale = {"points": [[0, 0], [0, 50]], "length": "20 cm"}  # 4 mm a pixel
    zone = {"kind": "zone", "grade": "B", "tight": "12,5", "points": SQUARE}
    flaw = {"kind": "flaw", "name": "scar", "points": [[10, -10], [20, -10], [20, -20]]}
    edited(file, {**HIDE, "shapes": [OUTLINE, flaw, zone], "scale": scale})
    old, new = read_job(file.path).materials[0].hides  # type: ignore[union-attr]
    assert bounds(new.outline) == pytest.approx((0.0, 0.0, 400.0, 400.0), abs=0.001)
    assert bounds(new.flaws[0]) == pytest.approx((40.0, 40.0, 80.0, 80.0), abs=0.001)
    assert [(z.grade, z.tight) for z in new.zones] == [("B", 12.5)]
    assert bounds(old.outline) == pytest.approx((0.0, 0.0, 500.0, 400.0))
    assert "# from the shelf" in file.text
    # As it is shown it is sent back, and nothing is another.
    first, second = hides(file)
    (outline,) = first["shapes"]  # type: ignore[misc]
    assert outline["points"] == [[0, 0], [500, 0], [500, -400], [0, -400]]
    before = read_job(file.path)
    edited(file, {**HIDE, "at": second["at"], "shapes": second["shapes"]})
    assert read_job(file.path) == before
    edited(file, {"what": "unhide", "of": "calf", "at": 1})
    assert [h["name"] for h in hides(file)] == ["old one"]


@pytest.mark.parametrize(
    "spoilt",
    [
        {"name": " "},
        {"of": "cork"},
        {"shapes": []},
        {"shapes": [{"kind": "flaw", "points": SQUARE}]},
        {"shapes": [{"kind": "outline", "points": SQUARE[:2]}]},
        {"scale": {"points": [[0, 0], [0, 50]], "length": ""}},
        {"scale": {"points": [[0, 0], [0, 50]], "length": "far"}},
        {"scale": {"points": [[0, 0], [0, 1]], "length": "20 cm"}},
        {"shapes": [OUTLINE, {"kind": "zone", "grade": "Z", "points": SQUARE}]},
        {"name": "old one"},
    ],
)
def test_what_is_no_hide_is_refused_and_nothing_changed(
    file: JobFile, spoilt: dict[str, object]
) -> None:
    before = file.path.read_bytes()
    with pytest.raises((JobError, PatternError)):
        edited(file, {**HIDE, **spoilt})
    assert file.path.read_bytes() == before


def test_pictures_are_kept_once_and_what_is_none_is_refused(tmp_path: Path) -> None:
    held = io.BytesIO()
    Image.new("RGB", (300, 200), "peru").save(held, "PNG")
    told = picture_taken(tmp_path, "../../hide 4.png", held.getvalue())
    assert (told["wide"], told["high"]) == (300, 200)
    assert picture_taken(tmp_path, "again.png", held.getvalue()) == told
    assert [path.name for path in tmp_path.iterdir()] == [told["picture"]]
    for data in (b"", b"<svg/>", b"GIF89a", held.getvalue()[:200]):
        with pytest.raises(PatternError):
            picture_taken(tmp_path, "odd.jpg", data)
    assert [path.name for path in tmp_path.iterdir()] == [told["picture"]]


def test_the_picture_that_was_drawn_upon_is_named_and_lies_under_what_was_drawn(
    file: JobFile,
) -> None:
    """A hide of 100 by 100 pixels, 50 from the left and 200 from the foot of one of 600 by 400."""
    held = io.BytesIO()
    Image.new("RGB", (600, 400), "peru").save(held, "PNG")
    told = picture_taken(file.path.parent, "hide.png", held.getvalue())
    square = [[50, 200], [150, 200], [150, 100], [50, 100]]
    body = {
        **HIDE,
        "shapes": [{"kind": "outline", "points": square}],
        "scale": {"points": [[0, 0], [100, 0]], "length": "20 cm"},  # 2 mm a pixel
    }
    edited(file, {**body, "picture": told["picture"]})
    _, new = read_job(file.path).materials[0].hides  # type: ignore[union-attr]
    assert new.picture is not None
    assert new.picture.size == pytest.approx((1200.0, 800.0), abs=0.01)
    assert new.picture.at == pytest.approx((-100.0, -400.0), abs=0.01)
    # It is shown when she changes it again, where the job can't be read yet, too.
    _, shown = hides(file)
    assert shown["picture"]["file"] == told["picture"]  # type: ignore[index]
    assert shown["picture"]["box"] == pytest.approx([-100, -400, 1200, 800])  # type: ignore[index]
    assert shown["shapes"][0]["points"][0] == pytest.approx([0, 0])  # type: ignore[index]
    # Without a scale the corners are of the hide, and its picture goes with it.
    moved = [[x + 10, y] for x, y in shown["shapes"][0]["points"]]  # type: ignore[index]
    edited(file, {**HIDE, "at": 1, "shapes": [{"kind": "outline", "points": moved}]})
    _, new = read_job(file.path).materials[0].hides  # type: ignore[union-attr]
    assert new.picture.at == pytest.approx((-110.0, -400.0), abs=0.01)
    before = file.path.read_bytes()
    for name in ("../purse.toml", "purse.toml", "none.jpg"):
        with pytest.raises(JobError, match="no such picture"):
            edited(file, {**body, "picture": name})
    assert file.path.read_bytes() == before


def test_how_far_from_its_tightness_a_part_may_turn_stays(file: JobFile) -> None:
    zone = {"kind": "zone", "grade": "B", "tight": "12", "slack": 7, "points": SQUARE}
    edited(file, {**HIDE, "shapes": [OUTLINE, zone]})
    edited(file, {**HIDE, "at": 1, "shapes": hides(file)[1]["shapes"]})
    _, new = read_job(file.path).materials[0].hides  # type: ignore[union-attr]
    assert [z.slack for z in new.zones] == [7.0]


@pytest.mark.parametrize("name", ["../purse.toml", "purse.toml", "/etc/passwd", "", "link.jpg"])
def test_no_other_file_is_shown(file: JobFile, name: str) -> None:
    page = Page(file.path.parent)
    page.making = file
    (file.path.parent / "link.jpg").symlink_to(file.path)
    _, shown = ANSWERS["/making/picture"]
    with pytest.raises(JobError, match="no such picture"):
        shown(page, {"name": name})


PATHS = """
[[leather.hide]]
name = "by path"       # the good one
outline = "M 10,0 C 200,-60 400,-60 600,0 L 600,500 L 10,500 Z M 100,100 h 20 v 20 h -20 z"
at = ["5 mm", 0]
backbone = 90
guess_zones = "hide"
picture = { file = "hide.png", size = ["700 mm", "600 mm"], at = ["-20 mm", "-50 mm"] }
[[leather.hide.flaw]]
name = "brand"
circle = "40 mm"
at = ["300 mm", "300 mm"]
[[leather.hide]]
name = "from a file"
from = "side.svg"
piece = "side"
file_unit = "mm"
[[leather.hide.zone]]
name = "butt"
grade = "B"
tight = 30
slack = 20
rectangle = ["100 mm", "80 mm"]
at = ["50 mm", "50 mm"]
[[piece]]
"""
SIDE = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="500mm" height="400mm" viewBox="0 0 500 400">'
    '<path id="side" d="M 40 30 h 400 v 300 h -400 z"/></svg>'
)


def test_a_hide_that_was_drawn_otherwise_is_changed_by_hand(file: JobFile) -> None:
    folder = file.path.parent
    Image.new("RGB", (70, 60), "peru").save(folder / "hide.png")
    (folder / "side.svg").write_text(SIDE)
    file.path.write_text(file.text.replace("[[piece]]\n", PATHS, 1))
    file.read()
    assert file.ready, file.trouble
    _, before, filed = read_job(file.path).materials[0].hides  # type: ignore[union-attr]
    _, path, side = hides(file)
    assert [s["kind"] for s in path["shapes"]] == ["outline", "flaw", "flaw"]  # type: ignore[attr-defined]
    assert [s["name"] for s in path["shapes"]] == ["", "", "brand"]  # type: ignore[attr-defined]
    assert path["picture"] == {"file": "hide.png", "box": [-20.0, -550.0, 700.0, 600.0]}
    drawn = {"what": "hide", "of": "calf", "name": "by path", "at": 1, "scale": None}
    edited(file, {**drawn, "shapes": path["shapes"]})
    _, after, _ = read_job(file.path).materials[0].hides  # type: ignore[union-attr]
    # Only the lower left corner is the origin now: all lies as it lay, the picture, too.
    x0, y0, *_ = bounds(before.outline)
    by = Affine.move(-x0, -y0)
    for was, now in zip(before.paths, after.paths, strict=True):
        apart = polygon(was.transformed(by)).symmetric_difference(polygon(now)).area
        assert apart < 0.25 * polygon(was).length
    assert before.picture is not None
    assert after.picture is not None
    at = (before.picture.at[0] - x0, before.picture.at[1] - y0)
    assert after.picture.at == pytest.approx(at, abs=0.25)  # its lowest corner is no lower
    assert (after.backbone, after.guessed) == (90.0, True)
    assert "# the good one" in file.text
    # A corner is moved, a zone is drawn: nothing is guessed any more.
    _, path, side = hides(file)
    shapes = [*path["shapes"], {"kind": "zone", "grade": "A", "points": SQUARE}]  # type: ignore[misc]
    edited(file, {**drawn, "shapes": shapes})
    _, after, _ = read_job(file.path).materials[0].hides  # type: ignore[union-attr]
    assert (after.guessed, len(after.zones)) == (False, 1)
    # One of a file, whose zone keeps its slack.
    outline, zone = side["shapes"]  # type: ignore[misc]
    corners = outline["points"]
    corners[corners.index(min(corners, key=lambda at: at[0] - at[1]))] = [-10.0, 10.0]
    edited(file, {**drawn, "name": "from a file", "at": 2, "shapes": [outline, zone]})
    *_, side = read_job(file.path).materials[0].hides  # type: ignore[union-attr, assignment]
    assert bounds(filed.outline) == pytest.approx((0.0, 0.0, 400.0, 300.0))
    assert bounds(side.outline) == pytest.approx((0.0, 0.0, 410.0, 310.0), abs=0.01)  # type: ignore[attr-defined]
    (butt,) = side.zones  # type: ignore[attr-defined]
    assert bounds(butt.outline) == pytest.approx((60.0, 60.0, 160.0, 140.0), abs=0.01)
    assert (butt.name, butt.tight, butt.slack) == ("butt", 30.0, 20.0)
    assert "side.svg" not in file.text
