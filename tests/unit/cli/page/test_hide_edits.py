"""Hides drawn on the page: in the job's unit, changed and taken out; pictures kept or refused."""

from __future__ import annotations

import io
from pathlib import Path

import pytest
from PIL import Image
from thriftlay.page.app import ANSWERS, Page
from thriftlay.page.edits.hide_edits import picture_taken
from thriftlay.page.job_file import JobFile
from thriftlay.page.making import edited, making

from nesting import read_job
from nesting.errors import JobError, PatternError
from nesting.pattern.measure import bounds

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
    assert first["shapes"] == []
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


@pytest.mark.parametrize("name", ["../purse.toml", "purse.toml", "/etc/passwd", "", "link.jpg"])
def test_no_other_file_is_shown(file: JobFile, name: str) -> None:
    page = Page(file.path.parent)
    page.making = file
    (file.path.parent / "link.jpg").symlink_to(file.path)
    _, shown = ANSWERS["/hide/shown"]
    with pytest.raises(JobError, match="no such picture"):
        shown(page, {"name": name})
