"""Scans as pattern files on the page: what is seen is shown at their scale, then it is taken."""

from __future__ import annotations

import io
from pathlib import Path

import pytest
from PIL import Image, ImageDraw
from thriftlay.page.app import Page
from thriftlay.page.job_file import JobFile
from thriftlay.page.making import dropped, making

from nesting.errors import JobError
from nesting.reading.job_file import drawn_pieces

DPI = 100.0


def drawn(kind: str = "PNG") -> bytes:
    """Return a scan at 100 dpi of a drawn piece of 150 by 100 mm and a square of 5 cm."""
    image = Image.new("RGB", (1000, 800), "white")
    draw = ImageDraw.Draw(image)
    for x, y, wide, high in ((100, 100, 150.0, 100.0), (100, 550, 50.0, 50.0)):
        right, low = (round(side / 25.4 * DPI) for side in (wide, high))
        draw.rectangle((x, y, x + right, y + low), outline="black", width=3)
    held = io.BytesIO()
    image.save(held, kind, resolution=DPI)
    return held.getvalue()


@pytest.fixture(params=["scan.png", "scan.pdf"])
def page(request: pytest.FixtureRequest, tmp_path: Path) -> tuple[Page, str]:
    job = tmp_path / "bag.toml"
    job.write_text('[job]\nname = "Bag"\nunit = "cm"\n')
    page = Page(tmp_path)
    page.making = JobFile(job)
    return page, request.param


def test_a_scan_is_looked_at_before_its_pieces_are_taken(page: tuple[Page, str]) -> None:
    server, name = page
    file = server.made()
    told = server.drop(name, drawn("PDF" if name.endswith("pdf") else "PNG"))["read"]
    assert (told["asks"], told["trouble"]) == ("scale", "")
    assert making(file)["pieces"] == []
    path, before = file.path.parent / told["file"], file.path.read_bytes()
    how = {"file_reference": "5 cm square"}
    seen = dropped(file, path, how=how, asked={"pictured": True})
    assert seen["trouble"] == ""
    ((piece, size, off),) = seen["found"]["rows"]
    assert size in ("15 × 10 cm", "15.1 × 10.1 cm", "15 × 10.1 cm", "15.1 × 10 cm")
    assert off.endswith(" mm")
    assert seen["found"]["shown"].startswith("data:image/jpeg;base64,")
    assert file.path.read_bytes() == before
    taken = dropped(file, path, how=how, asked={"pictured": True, "take": True})
    assert taken["seen"] == file.mark
    (row,) = making(file)["pieces"]
    assert (row["name"], row["from"]) == (piece, told["file"])
    (read,) = making(file)["files"]
    assert (read["asks"], read["pictured"]) == ("scale", True)
    assert 'file_reference = "5 cm square"' in file.text
    assert drawn_pieces(file.path)
    file.back(taken["was"], seen=taken["seen"])
    assert making(file)["pieces"] == []


@pytest.mark.parametrize("how", [{"file_reference": "?"}, {"file_reference": "A4"}])
def test_what_gives_no_scale_is_refused_in_a_sentence(
    page: tuple[Page, str], how: dict[str, str]
) -> None:
    server, name = page
    file = server.made()
    told = server.drop(name, drawn("PDF" if name.endswith("pdf") else "PNG"))["read"]
    before = file.path.read_bytes()
    asked = {"pictured": True, "take": True}
    said = dropped(file, file.path.parent / told["file"], how=how, asked=asked)
    assert said["asks"] == "scale"
    assert "\n" not in said["trouble"]
    assert "(" in said["trouble"]  # what to do
    assert file.path.read_bytes() == before


def test_what_is_no_picture_is_not_taken_for_one(page: tuple[Page, str]) -> None:
    server, _ = page
    with pytest.raises(JobError, match=r"odd\.png is no picture"):
        server.drop("odd.png", b"<svg/>")
    assert not (server.made().path.parent / "odd.png").exists()
    spoilt = server.made().path.parent / "spoilt.png"  # by hand, or on its way
    spoilt.write_bytes(b"<svg/>")
    said = dropped(server.made(), spoilt, how={"file_reference": "A4"}, asked={"take": True})
    assert said["trouble"]
    with pytest.raises(JobError, match="empty"):
        server.drop("none.jpg", b"")
