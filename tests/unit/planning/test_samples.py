"""Every sample can be read and laid out, and says that it is invented."""

from __future__ import annotations

from pathlib import Path

import pytest

from nesting import read_job
from nesting.marker.lay import Lay
from nesting.planning.lay.lays import lays

FOLDER = Path(__file__).resolve().parents[3] / "sample_markers"
JOBS = sorted(path for path in FOLDER.glob("*/*.toml") if "[job]" in path.read_text())


def of(name: str) -> dict[str, Lay]:
    return {lay.name: lay for lay in lays(read_job(FOLDER / name))}


@pytest.mark.parametrize("path", JOBS, ids=lambda path: path.stem)
def test_a_sample_gives_lays(path: Path) -> None:
    assert lays(read_job(path))


def test_samples_of_goods_say_that_they_are_invented() -> None:
    for folder in ("rucksack", "pouch", "foam"):
        jobs = list((FOLDER / folder).glob("*.toml"))
        assert jobs
        for path in jobs:
            assert "Invented for Thriftlay" in path.read_text(), path


def test_the_printed_rucksack_centres_and_matches() -> None:
    canvas = of("rucksack/rucksack_print.toml")["outer canvas"]
    bound = {part.piece.name: part.binding for part in canvas.parts if part.binding}
    assert set(bound) == {"front", "back", "front pocket", "pocket flap"}
    assert all(binding.phase is None for binding in bound.values())


def test_the_pouch_has_mates_grades_and_straps_along_the_backbone() -> None:
    parts = of("pouch/pouch.toml")["bag leather"].parts
    assert {p.piece.name for p in parts if p.mates} == {"panel", "gusset", "pouch side"}
    handle = next(p for p in parts if p.piece.name == "handle")
    assert handle.turns.slack == 0.0
    assert handle.region is not None


def test_the_foam_uses_the_shelf_first() -> None:
    foam = of("foam/foam.toml")["foam 8 mm"].stock
    names = [sheet.name for sheet in getattr(foam, "sheets", ())]
    assert names == ["foam, half a sheet", "foam, cut around", "foam 8 mm"]
