"""A plan that is laid goes to a cutter and to a printer: what is written, said and refused."""

from __future__ import annotations

import json
from collections import Counter
from dataclasses import replace
from pathlib import Path
from xml.etree import ElementTree

import pypdf
import pytest
from thriftlay.main import main

from nesting import load_plan, save_plan

SAMPLES = Path(__file__).parents[2] / "sample_markers"
PLAN = SAMPLES / "tool_roll" / "laid" / "plan.json"
SHOPS = SAMPLES / "shops"
LETTER = (8.5 * 72.0, 11.0 * 72.0)
SVG = "{http://www.w3.org/2000/svg}"


def said(capsys: pytest.CaptureFixture[str], *words: object, status: int = 0) -> list[str]:
    assert main([*map(str, words)]) == status
    out, err = capsys.readouterr()
    return (err if status == 2 else out).splitlines()


def test_every_marker_becomes_a_file_to_cut_and_a_sheet_to_set_up(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    words = ("cut", PLAN, "--machine", SHOPS / "rotary_table.toml", "--out", tmp_path / "cut")
    told = said(capsys, *words)
    files = [Path(line) for line in told if line.startswith(str(tmp_path))]
    assert {file.name for file in files} == {path.name for path in (tmp_path / "cut").iterdir()}
    for entry in load_plan(PLAN).entries:
        stem = entry.material.name.replace(" ", "-")
        assert any(file.stem.startswith(stem) and file.suffix == ".txt" for file in files)
        assert any(file.stem.startswith(stem) and file.suffix != ".txt" for file in files)
    # Nothing is replaced that nobody asked to replace, and nothing half-written.
    before = {file: file.read_bytes() for file in files}
    (complaint,) = said(capsys, *words, status=2)
    assert "exists already" in complaint
    assert {file: file.read_bytes() for file in files} == before
    assert said(capsys, *words, "--replace") == told


def test_a_laser_cuts_every_part_of_the_material_that_is_asked_for(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    words = ("cut", PLAN, "--machine", SHOPS / "hobby_laser.toml", "--out", tmp_path / "cut")
    told = said(capsys, *words, "--only", "leather", "--format", "svg", "--safety-sheet-read")
    files = [Path(line) for line in told if line.endswith(".svg")]
    assert files
    parts = Counter(
        element.get("data-part")
        for file in files
        for group in ElementTree.parse(file).getroot().iter(f"{SVG}g")
        if group.get("id") == "cut"
        for element in group.iter(f"{SVG}path")
    )
    (entry,) = load_plan(PLAN).wanted(["leather"])
    assert set(parts) == {part.name for part in entry.marker.lay.parts}


def test_what_can_t_be_cut_is_said_and_leaves_nothing(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    words = ("cut", PLAN, "--machine", SHOPS / "pen_plotter.toml", "--out", tmp_path / "cut")
    (complaint,) = said(capsys, *words, "--only", "linning", status=2)
    assert 'no material is named "linning"' in complaint
    assert "lining" in complaint.partition("there are")[2]
    # A marker with a fault is cut by no machine.
    record = json.loads(PLAN.read_text(encoding="utf-8"))
    record["plan"]["entries"][0]["marker"]["placements"][0]["x"] -= 5.0
    (tmp_path / "plan.json").write_text(json.dumps(record), encoding="utf-8")
    (complaint,) = said(capsys, words[0], tmp_path / "plan.json", *words[2:], status=2)
    assert "is not good" in complaint
    assert not (tmp_path / "cut").exists()


def test_markers_are_printed_on_as_many_sheets_as_is_said(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "markers.pdf"
    words = ("print", PLAN, "--out", file, "--paper", "letter", "--only", "leather")
    (line,) = said(capsys, *words)
    drawings, sheets = (int(word) for word in line.split() if word.isdigit())
    pages = pypdf.PdfReader(file).pages
    assert drawings == 1
    assert len(pages) >= sheets + 1  # the check square's, and plans of the sheets
    assert {tuple(map(float, page.mediabox[2:])) for page in pages} <= {LETTER, LETTER[::-1]}
    assert "100 mm" in pages[0].extract_text()
    before = file.read_bytes()
    (complaint,) = said(capsys, *words, status=2)
    assert "exists already" in complaint
    assert file.read_bytes() == before


@pytest.mark.parametrize("what", ["templates", "labels"])
def test_templates_and_labels_name_every_piece(
    what: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / f"{what}.pdf"
    rectangles = ["--rectangles"] if what == "templates" else []
    said(capsys, "print", PLAN, "--out", file, "--what", what, *rectangles)
    text = " ".join(" ".join(page.extract_text().split()) for page in pypdf.PdfReader(file).pages)
    (bag,) = load_plan(PLAN).job.bags
    cut = {cut.piece for cut in bag.cuts}
    assert cut
    assert [name for name in cut if name not in text] == []


def test_a_roll_has_a_page_for_each_marker(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "roll.pdf"
    (line,) = said(capsys, "print", PLAN, "--out", file, "--roll", "60 in")
    markers = len(load_plan(PLAN).entries)
    assert f"{markers} drawings on {markers} sheets" in line
    (complaint,) = said(capsys, "print", PLAN, "--out", tmp_path / "no.pdf", "--roll", "3 in",
                        status=2)  # fmt: skip
    assert "too narrow" in complaint
    assert [path.name for path in tmp_path.iterdir()] == ["roll.pdf"]


def test_plain_numbers_of_a_print_are_in_the_unit_of_the_job(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    plan, file = load_plan(PLAN), tmp_path / "p.pdf"
    save_plan(replace(plan, job=replace(plan.job, unit="in")), tmp_path / "plan.json")
    words = ("print", tmp_path / "plan.json", "--out", file, "--only", "leather", "--replace")

    def printed(*more: str) -> str:
        said(capsys, *words, *more)
        text = " ".join(page.extract_text() for page in pypdf.PdfReader(file).pages)
        return " ".join(text.split())

    assert "overlap by 3/8 in: trim" in printed()
    assert "overlap by 1/2 in: trim" in printed("--overlap", "0.5")
    assert "overlap by 0.24 in: trim" in printed("--overlap", "6 mm")
    printed("--roll", "60")
    sides = [float(side) for page in pypdf.PdfReader(file).pages for side in page.mediabox[2:]]
    assert 60 * 72 in [round(side) for side in sides]
    (complaint,) = said(capsys, *words, "--roll", "4", status=2)
    assert "a roll of 4 in is too narrow" in complaint
    (complaint,) = said(capsys, *words, "--overlap", "6 furlongs", status=2)
    assert 'unknown unit "furlongs"' in complaint
