"""A pattern file becomes pieces: what the command says, draws, writes and keeps."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from matplotlib.image import imread
from thriftlay.main import main

SVG = """<svg xmlns="http://www.w3.org/2000/svg" width="20in" height="20in" viewBox="0 0 20 20">
<g id="front"><path class="cut" d="M2 3h12v9h-12z"/>
<path class="sew" d="M2.375 3.375h11.25v8.25h-11.25z"/>
<path class="grain" d="M8 10V5M8 5l-.5 1"/></g>
<g id="tab"><rect x="15" y="3" width="2" height="1.5"/></g></svg>"""


@pytest.fixture
def bag(tmp_path: Path) -> Path:
    file = tmp_path / "bag.svg"
    file.write_text(SVG)
    return file


def said(capsys, *words: object, status: int = 0) -> str:
    assert main(["pieces", *map(str, words)]) == status
    out, err = capsys.readouterr()
    return out if status == 0 else err


def test_a_file_in_inches_is_told_in_inches(bag, capsys) -> None:
    told = said(capsys, bag)
    front = next(line for line in told.splitlines() if line.startswith("front"))
    assert "12 × 9 in" in front
    assert "3/8 in" in front
    assert "90°" in front
    assert " up " in front
    tab = next(line for line in told.splitlines() if line.startswith("tab"))
    assert "2 × 1 1/2 in" in tab
    assert "not known" in tab
    assert "not drawn" in tab
    assert 'say line = "sewing"' in told
    assert " mm" not in told
    assert " cm" not in told


def test_machines_are_told_the_same_in_mm(bag, capsys) -> None:
    record = json.loads(said(capsys, bag, "--json"))
    front, tab = record["result"]["pieces"]
    assert (front["name"], front["length"], front["width"]) == (
        "front",
        pytest.approx(304.8),
        pytest.approx(228.6),
    )
    assert front["area"] == pytest.approx(304.8 * 228.6)
    assert front["allowance"] == pytest.approx([9.525, 9.525])
    assert tab["allowance"] is None


def test_a_reference_given_in_inches_is_answered_in_inches(tmp_path, capsys) -> None:
    file = tmp_path / "px.svg"
    file.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg"><rect id="front" width="720" height="540"/>'
        '<rect x="900" width="90" height="90"/><text x="910" y="40">my box</text></svg>'
    )
    told = said(capsys, file, "--reference", "my box=1 in")
    assert "8 × 6 in" in told
    assert "front" in told
    assert len([line for line in told.splitlines() if line.startswith("piece")]) == 1  # the head
    refused = said(capsys, file, "--reference", "your box=1 in", status=2)
    assert "my box" in refused


def test_marks_added_to_the_file_stay_on_replace(bag, tmp_path, capsys) -> None:
    file, picture = tmp_path / "pieces.toml", tmp_path / "pieces.png"
    said(capsys, bag, "--out", file, "--picture", picture)
    assert imread(picture).shape[0] > 100
    added = '[[piece.mark]]\nkind = "drill"\nat = ["1 in", "1/2 in"]\nsize = 4\n'
    file.write_text(file.read_text() + added)
    bag.write_text(SVG.replace("h12v9h-12z", "h12v9.5h-12z"))
    told = said(capsys, bag, "--out", file, "--replace")
    assert "tab: kept what was added by hand: 1 mark" in told
    assert added in file.read_text()
    job = tmp_path / "job.toml"
    job.write_text(
        'include = "pieces.toml"\n[job]\nname = "x"\nunit = "in"\n[[cloth]]\nname = "felt"\n'
        'width = 40\nnap = "none"\n[[cut]]\npiece = "tab"\nmaterial = "felt"\n'
    )
    assert main(["lay", str(job), "--out", str(tmp_path / "laid"), "--rounds", "1"]) == 0
    file.write_text(file.read_text().replace("grain = 90.0", "grain = 90.0 # mine", 1))
    said(capsys, bag, "--out", file, "--replace")
    file.write_text(file.read_text().replace('line = "cutting"', 'line = "sewing"'))
    before = file.read_text()
    assert "changed by hand" in said(capsys, bag, "--out", file, "--replace", status=2)
    assert file.read_text() == before


def test_the_words_to_draw_with(capsys) -> None:
    told = said(capsys, "--words")
    assert "`sewingline`" in told
    assert "no pattern file is named" in said(capsys, status=2)


def test_a_job_in_inches_is_asked_in_inches(tmp_path, capsys) -> None:
    (tmp_path / "b.svg").write_text(
        '<svg xmlns="http://www.w3.org/2000/svg"><rect id="front" width="10" height="8"/></svg>'
    )
    job = tmp_path / "job.toml"
    job.write_text(
        '[job]\nname = "x"\nunit = "in"\n[[cloth]]\nname = "felt"\nwidth = 40\n'
        '[[piece]]\nname = "front"\nfrom = "b.svg"\n[[cut]]\npiece = "front"\nmaterial = "felt"\n'
    )
    assert main(["lay", str(job), "--out", str(tmp_path / "laid")]) == 2
    told = capsys.readouterr().err
    assert "10 × 8 in in inches" in told
    assert " mm in mm" not in told
    assert "file_unit" in told


def test_marks_are_printed_without_a_plan(tmp_path, capsys) -> None:
    out, none = tmp_path / "marks.pdf", tmp_path / "none.pdf"
    assert main(["print", "--what", "marks", "--out", str(out)]) == 0
    assert "marks on 2 sheets" in capsys.readouterr().out
    assert out.read_bytes().startswith(b"%PDF")
    assert main(["print", "--out", str(none)]) != 0
    assert "no plan is named" in capsys.readouterr().err
    assert main(["print", str(out), "--what", "marks", "--out", str(none)]) != 0
    assert not none.exists()
