"""A picture of a cloth on the page: its repeat found, or said; kept beside the job, and named."""

from __future__ import annotations

import base64
import io
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from thriftlay.page.job_file import JobFile
from thriftlay.page.making import edited, making
from thriftlay.page.seen.prints import Prints

from benchmarks.photographed.prints import PRINTS, cloth
from nesting import read_job
from nesting.errors import JobError, NestingError, PatternError
from nesting.material.material import Cloth, Nap

JOB = """[job]
name = "Bag"
unit = "{}"
[[cloth]]
name = "canvas"        # the good one
width = "140 cm"
[[piece]]
name = "side"
rectangle = ["30 cm", "20 cm"]
[[cut]]
piece = "side"
material = "canvas"
"""


def scan(name: str) -> bytes:
    """Return a picture of an invented print at 2 pixels to a mm, which is 50.8 dpi."""
    high, wide = 1100, 1000
    y, x = np.mgrid[0:high, 0:wide] * 0.5
    pixels = np.rint(cloth(PRINTS[name], origin=(231.0, 177.0))(x, (high - 1) * 0.5 - y))
    held = io.BytesIO()
    Image.fromarray(pixels.astype(np.uint8)).save(held, "PNG")
    return held.getvalue()


def halves() -> bytes:
    """Return a picture whose upper half is red, and its lower half blue."""
    image = Image.new("RGB", (200, 400), "blue")
    image.paste("red", (0, 0, 200, 200))
    held = io.BytesIO()
    image.save(held, "PNG")
    return held.getvalue()


@pytest.fixture(params=["cm", "in"])
def file(request: pytest.FixtureRequest, tmp_path: Path) -> JobFile:
    path = tmp_path / "bag.toml"
    path.write_text(JOB.format(request.param))
    return JobFile(path)


def canvas(file: JobFile) -> Cloth:
    found = read_job(file.path).material("canvas")
    assert isinstance(found, Cloth)
    return found


def test_a_repeat_is_found_shown_and_taken_as_the_command_writes_it(file: JobFile) -> None:
    prints, before = Prints(), sorted(file.path.parent.iterdir())
    name = "flowers with stalks"
    told = prints.look(scan(name), {"name": "x.png", "reference": "50.8 dpi"}, unit="cm")
    assert any("% sure" in line for line in told["said"])
    assert any("one way up" in line for line in told["said"])
    assert sorted(file.path.parent.iterdir()) == before  # until it is taken nothing is kept
    prints.take(file, {"of": "canvas", "is": told["is"]}, seen=file.mark)
    cloth_, true = canvas(file), PRINTS[name]
    assert cloth_.print is not None
    assert (cloth_.print.along, cloth_.print.across) == pytest.approx(
        (true.along, true.across), rel=0.005
    )
    assert cloth_.nap is Nap.ONE_WAY
    assert cloth_.print.picture is not None
    assert cloth_.print.picture.size == (cloth_.print.along, cloth_.print.across)
    assert base64.b64decode(told["shown"].partition(",")[2]) == base64.b64decode(
        cloth_.print.picture.data
    )
    assert "# the good one" in file.text
    (goods,) = making(file)["goods"]
    assert goods["motif"]["file"] == "x-repeat.jpg"
    edited(file, {"what": "goods", **goods})  # as it was shown it is sent back
    assert canvas(file) == cloth_
    edited(file, {"what": "print without", "of": "canvas"})
    assert canvas(file).print is not None
    assert canvas(file).print.picture is None  # type: ignore[union-attr]


@pytest.mark.parametrize(("up", "low", "high"), [("top", "blue", "red"), ("bottom", "red", "blue")])
def test_one_repeat_lies_with_its_top_along_the_cloth(
    file: JobFile, up: str, low: str, high: str
) -> None:
    """The cloth's beginning is on the picture's left: there lies what was at the foot."""
    prints = Prints()
    told = prints.look(halves(), {"name": "half.png", "reference": "", "up": up}, unit="cm")
    body = {"of": "canvas", "is": told["is"], "along": "8 cm", "across": "4 cm"}
    prints.take(file, body, seen=file.mark)
    motif = canvas(file).print
    assert motif is not None
    assert (motif.along, motif.across) == pytest.approx((80.0, 40.0))
    assert motif.picture is not None
    assert motif.picture.size == pytest.approx((80.0, 40.0))
    image = Image.open(io.BytesIO(base64.b64decode(motif.picture.data))).convert("RGB")
    assert image.size == (400, 200)
    seen = []
    for x in (50, 350):
        red, _, blue = image.getpixel((x, 100))  # type: ignore[misc]
        seen.append("red" if red > blue else "blue")
    assert seen == [low, high]


def test_what_says_nothing_of_size_is_refused_and_nothing_is_kept(file: JobFile) -> None:
    prints, before = Prints(), file.path.read_bytes()
    with pytest.raises(PatternError, match="nothing that gives a picture its scale"):
        prints.look(halves(), {"reference": "?"}, unit="cm")
    held = io.BytesIO()
    Image.new("RGB", (400, 400), "peru").save(held, "PNG")
    with pytest.raises(PatternError, match="plain"):
        prints.look(held.getvalue(), {"reference": "50 dpi"}, unit="cm")
    with pytest.raises(PatternError, match="no picture"):
        prints.look(b"<svg/>", {"reference": ""}, unit="cm")
    told = prints.look(halves(), {"reference": ""}, unit="cm")
    for spoilt in (
        {"along": "8 cm"},
        {"along": "0", "across": "3"},
        {"along": "far", "across": "1"},
    ):
        with pytest.raises(NestingError):
            prints.take(file, {"of": "canvas", "is": told["is"], **spoilt}, seen=file.mark)
    size = {"along": "8 cm", "across": "4 cm"}
    for body in ({"of": "felt", "is": told["is"]}, {"of": "canvas", "is": "ffff"}):
        with pytest.raises(JobError):
            prints.take(file, {**size, **body}, seen=file.mark)
    with pytest.raises(JobError, match="changed elsewhere"):
        prints.take(file, {**size, "of": "canvas", "is": told["is"]}, seen="another")
    assert file.path.read_bytes() == before
    assert [path.name for path in file.path.parent.iterdir()] == ["bag.toml"]


def test_no_more_pictures_are_looked_at_than_there_is_room_for(file: JobFile) -> None:
    prints = Prints()
    told = [prints.look(halves(), {"reference": ""}, unit="cm")["is"] for _ in range(9)]
    size = {"of": "canvas", "along": "8 cm", "across": "4 cm"}
    with pytest.raises(JobError, match="not looked at any more"):
        prints.take(file, {**size, "is": told[0]}, seen=None)
    prints.take(file, {**size, "is": told[-1]}, seen=None)
    assert canvas(file).print is not None
