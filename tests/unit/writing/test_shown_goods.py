"""The picture of goods under a marker: at true scale, in what is looked at and nothing else."""

from __future__ import annotations

import re
from pathlib import Path

from nesting import make_plan, read_job
from nesting.planning.plan import Plan
from nesting.writing.machines.files import cut_plan
from nesting.writing.machines.machine import read_machine
from nesting.writing.neutral.draw import draw_entry, draw_grounds
from nesting.writing.neutral.shown import shown_pixels
from nesting.writing.pages.view import screen_svg
from nesting.writing.svg import svg
from nesting.writing.write import write_plan
from tests.unit.job.test_pictures import CLOTH, HIDE, JOB, LEATHER, PRINT, png


def plan_of(folder: Path, material: str, found: str, *, pixels: tuple[int, int] = (4, 2)) -> Plan:
    (folder / "goods.png").write_bytes(png(*pixels))
    (folder / "found.toml").write_text(found, encoding="utf-8")
    (folder / "job.toml").write_text(JOB.replace("MATERIAL", material), encoding="utf-8")
    return make_plan(read_job(folder / "job.toml"), rounds=1, workers=1)


def colour_at(plan: Plan, x: float, y: float, box=(-100.0, -100.0, 1000.0, 700.0)) -> str:
    """Return what the picture shows at a place (mm): red, blue or nothing."""
    (drawing,) = draw_grounds(plan.entries[0])
    assert drawing.shown is not None
    pixels = shown_pixels(drawing.shown, box)
    x0, y0, x1, y1 = box
    row = int((y1 - y) / (y1 - y0) * pixels.shape[0])
    red, _, blue, clear = pixels[row, int((x - x0) / (x1 - x0) * pixels.shape[1])]
    return "" if clear == 0 else "red" if red > blue else "blue"


def test_a_hide_is_shown_where_it_lies(tmp_path: Path) -> None:
    """The picture goes from −10 to 810 mm, so red becomes blue at 400."""
    plan = plan_of(tmp_path, LEATHER, HIDE)
    assert [colour_at(plan, x, 250) for x in (2, 397, 403, 798)] == ["red", "red", "blue", "blue"]
    assert colour_at(plan, 820, 250) == "" == colour_at(plan, 400, -20)  # off the hide


def test_it_is_turned_with_its_hide(tmp_path: Path) -> None:
    """With the backbone upwards in the drawing, what lay on the right lies below."""
    plan = plan_of(tmp_path, LEATHER, HIDE + "backbone = 90\n")
    box = (-100.0, -900.0, 700.0, 100.0)
    assert [colour_at(plan, 250, y, box) for y in (-5, -397, -403, -795)] == [
        "red",
        "red",
        "blue",
        "blue",
    ]


def test_only_the_hide_is_shown_and_no_way_to_the_origin(tmp_path: Path) -> None:
    outline = 'outline = "M 200,100 L 1000,100 L 1000,600 L 200,600 Z"'
    hide = HIDE.replace("rectangle = [800, 500]", outline)
    assert hide != HIDE
    (drawing,) = draw_entry(plan_of(tmp_path, LEATHER, hide).entries[0])
    assert drawing.box == (200, 100, 1000, 600)


def test_a_print_is_shown_over_and_over_and_dropped(tmp_path: Path) -> None:
    """A motif's middle is where red becomes blue: at 10, 20, half a repeat on in the next row."""
    plan = plan_of(tmp_path, CLOTH, PRINT)
    for x, y in ((10, 20), (74, 20), (138, 84), (42, 52), (106, 52)):
        assert [colour_at(plan, x + dx, y) for dx in (-3, 3)] == ["red", "blue"], (x, y)


def test_true_size_drawings_have_it_once_under_all_lines(tmp_path: Path) -> None:
    (drawing,) = draw_entry(plan_of(tmp_path, LEATHER, HIDE).entries[0])
    for text in (svg(drawing), str(screen_svg(drawing))):
        assert text.count("<image") == 1
        image = re.search(
            r'<image width="(\S+)" height="(\S+)".*?href="data:image/png;base64,', text
        )
        assert image is not None
        assert (float(image[1]), float(image[2])) == (820, 510)
        assert text.index("<image") < text.index("<path", text.index("</clipPath>"))
        matrix = re.search(r"matrix\((.*?)\)", text)[1].split()
        assert list(map(float, matrix[:4])) == [1, 0, 0, 1]
        assert float(re.search(r'opacity="([\d.]+)"', text)[1]) <= 0.6


def test_a_picture_is_never_in_a_machine_file(tmp_path: Path) -> None:
    plan = plan_of(tmp_path, LEATHER, HIDE)
    for machine in sorted(Path("sample_markers/shops").glob("*.toml")):
        folder = tmp_path / machine.stem
        files = cut_plan(plan, read_machine(machine), folder, sds_read=True).files
        assert files
        for file in files:
            assert b"base64" not in file.read_bytes()
            assert b"<image" not in file.read_bytes()


def test_a_print_is_a_pattern_of_two_rows(tmp_path: Path) -> None:
    (drawing,) = draw_entry(plan_of(tmp_path, CLOTH, PRINT).entries[0])
    found = re.search(r'<pattern .*?width="(\S+)" height="(\S+)"', svg(drawing))
    assert found is not None
    assert (float(found[1]), float(found[2])) == (64, 64)


def test_all_files_of_a_plan_are_written_with_it(tmp_path: Path) -> None:
    plan = plan_of(tmp_path, LEATHER, HIDE)
    names = {file.name for file in write_plan(plan, tmp_path / "out")}
    assert {"goods.svg", "goods.png", "goods.dxf", "report.html"} <= names
    assert "data:image/png" in (tmp_path / "out" / "report.html").read_text(encoding="utf-8")
    assert "base64" not in (tmp_path / "out" / "goods.dxf").read_text(encoding="utf-8")
