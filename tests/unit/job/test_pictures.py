"""Pictures of goods that a job names, and prints that an included file has measured."""

from __future__ import annotations

import struct
import zlib
from pathlib import Path

import pytest

from nesting import JobError, make_plan, read_job
from nesting.material.material import Nap
from nesting.planning.plan_file import plan_from_text, plan_text


def png(wide: int = 4, high: int = 2) -> bytes:
    """Return a PNG by its specification (ISO/IEC 15948): red on the left, blue on the right."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return (
            struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
        )

    row = b"\0" + b"\xff\0\0" * (wide // 2) + b"\0\0\xff" * (wide - wide // 2)
    head = struct.pack(">IIBBBBB", wide, high, 8, 2, 0, 0, 0)
    body = chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(row * high)) + chunk(b"IEND", b"")
    return b"\x89PNG\r\n\x1a\n" + body


JOB = """
include = "found.toml"
[job]
name = "Case"
[[piece]]
name = "panel"
rectangle = [200, 100]
MATERIAL
[[cut]]
piece = "panel"
material = "goods"
"""
LEATHER = '[[leather]]\nname = "goods"'
CLOTH = '[[cloth]]\nname = "goods"\nwidth = "60 cm"'
HIDE = """
[[hide]]
name = "side 17"
material = "goods"
rectangle = [800, 500]
picture = { file = "goods.png", size = [820, 510], at = [-10, -5] }
"""
PRINT = """
[[print]]
material = "goods"
along = 64
across = 32
drop = 0.5
origin = [10, 20]
picture = { file = "goods.png", size = [64, 32] }
"""


def job_of(folder: Path, material: str, found: str):
    (folder / "goods.png").write_bytes(png())
    (folder / "found.toml").write_text(found, encoding="utf-8")
    (folder / "job.toml").write_text(JOB.replace("MATERIAL", material), encoding="utf-8")
    return read_job(folder / "job.toml")


def refused(folder: Path, material: str, found: str) -> str:
    with pytest.raises(JobError) as trouble:
        job_of(folder, material, found)
    said = str(trouble.value)
    assert "\n" not in said
    assert "found.toml" in said
    return said


def test_a_hide_carries_its_picture_into_the_plan_and_back(tmp_path: Path) -> None:
    job = job_of(tmp_path, LEATHER, HIDE)
    picture = job.material("goods").hides[0].picture
    assert picture is not None
    assert (picture.kind, picture.size, picture.at) == ("png", (820, 510), (-10, -5))
    plan = make_plan(job, rounds=1, workers=1)
    (tmp_path / "goods.png").unlink()  # a stored plan needs no other file
    assert plan_from_text(plan_text(plan)) == plan


def test_a_picture_of_a_print_lies_about_its_motif(tmp_path: Path) -> None:
    goods = job_of(tmp_path, CLOTH, PRINT).material("goods")
    assert goods.print is not None
    assert goods.print.picture is not None
    assert (goods.print.along, goods.print.across, goods.print.drop) == (64, 32, 0.5)
    assert goods.print.picture.at == (-32, -16)
    assert goods.nap is Nap.ONE_WAY


def test_a_print_that_is_the_same_upside_down_leaves_the_nap_to_the_cloth(tmp_path: Path) -> None:
    both = PRINT.replace("along = 64", 'nap = "none"\nalong = 64')
    assert job_of(tmp_path, CLOTH, both).material("goods").nap is Nap.NONE
    velvet = CLOTH + '\nnap = "one-way"'
    assert job_of(tmp_path, velvet, both).material("goods").nap is Nap.ONE_WAY


@pytest.mark.parametrize(
    ("found", "says"),
    [
        (HIDE.replace("goods.png", "none.png"), "there is no such file"),
        (HIDE.replace("goods.png", "found.toml"), "no picture in PNG or JPEG"),
        (HIDE.replace("[820, 510]", "[0, 510]"), "a picture of no size"),
        (HIDE.replace("goods.png", "huge.png"), "90000 × 90000 pixels"),
        (HIDE.replace("goods.png", "."), "this is a folder"),
    ],
)
def test_a_picture_that_is_none_is_refused(tmp_path: Path, found: str, says: str) -> None:
    (tmp_path / "huge.png").write_bytes(
        b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR" + struct.pack(">II", 90_000, 90_000) + bytes(20)
    )
    assert says in refused(tmp_path, LEATHER, found)


@pytest.mark.parametrize(
    ("material", "says"),
    [
        (CLOTH + "\nprint = { along = 30 }", "has a print already"),
        (LEATHER + '\n[[leather.hide]]\nname = "a"\ncircle = 900', "is no cloth"),
        (CLOTH + '\nfold = "folded"', "its print can't be seen"),
        (CLOTH.replace("60 cm", "4 cm"), "is larger than the usable cloth"),
    ],
)
def test_a_print_that_does_not_fit_its_goods_is_refused(
    tmp_path: Path, material: str, says: str
) -> None:
    assert says in refused(tmp_path, material, PRINT)


def test_parts_are_centred_on_a_print_that_was_measured(tmp_path: Path) -> None:
    (tmp_path / "goods.png").write_bytes(png())
    (tmp_path / "found.toml").write_text(PRINT, encoding="utf-8")
    job = JOB.replace("MATERIAL", CLOTH) + "centred = true\n"
    (tmp_path / "job.toml").write_text(job, encoding="utf-8")
    plan = make_plan(read_job(tmp_path / "job.toml"), rounds=1, workers=1)
    (placement,) = plan.entries[0].marker.placements
    x, y = placement.affine((100.0, 50.0))  # the middle of the panel
    row = round((y - 20) / 32)
    assert y == pytest.approx(20 + 32 * row, abs=0.01)
    assert (x - 10 - 32 * (row % 2)) / 64 == pytest.approx(
        round((x - 10 - 32 * (row % 2)) / 64), abs=1e-3
    )
