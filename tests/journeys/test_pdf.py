"""A tiled PDF, as a pattern's maker would write it, becomes a laid job without an option."""

from __future__ import annotations

import importlib.util
import json
from pathlib import Path

import pytest
from thriftlay.main import main

DRAW = Path(__file__).parents[1] / "unit/reading/pdf/draw.py"


@pytest.fixture(scope="module")
def draw():
    spec = importlib.util.spec_from_file_location("draw", DRAW)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_from_cover_and_twelve_pages_to_a_marker(draw, tmp_path, capsys) -> None:
    draw.tiled(tmp_path / "tote.pdf", grid=(4, 3), frame=(170.0, 247.0), overlap=10.0, marks=True)
    assert main(["pieces", str(tmp_path / "tote.pdf"), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)["result"]
    areas = {piece["name"]: piece["area"] for piece in told["pieces"]}
    assert areas == pytest.approx(draw.AREAS, rel=1e-5)
    pages = next(f["text"] for f in told["findings"] if f["kind"] == "pages")
    assert pages.startswith("4 × 3 pages put together")
    assert "overlap by 10 mm across and 10 mm down" in pages
    head = '[job]\nname = "tote"\nunit = "mm"\n[[cloth]]\nname = "canvas"\nwidth = 1400\n'
    pieces = "".join(
        f'[[piece]]\nname = "{name}"\nfrom = "tote.pdf"\n'
        f'[[cut]]\npiece = "{name}"\nmaterial = "canvas"\ncopies = 1\n'
        for name in ("Front", "Gusset", "Pocket", "Flap")
    )
    (tmp_path / "job.toml").write_text(head + pieces)
    status = main(
        ["lay", str(tmp_path / "job.toml"), "--rounds", "20", "--out", str(tmp_path / "laid")]
    )
    said = capsys.readouterr()
    assert status == 0, said.err
    plan = json.loads((tmp_path / "laid/plan.json").read_text())
    assert plan


def test_options_that_make_no_sense_are_refused(tmp_path, capsys) -> None:
    for words in (["--pages", "5-3"], ["--grid", "4"], ["--overlap", "much"]):
        with pytest.raises(SystemExit) as ended:
            main(["pieces", "a.pdf", *words])
        assert ended.value.code == 2
        assert capsys.readouterr().err.count("\n") == 1
