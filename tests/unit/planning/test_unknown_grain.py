"""Remnants of which nobody knows how the grain runs."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path as FilePath

import pytest

from nesting import JobError, check, make_plan, parse_job
from nesting.marker.lay import Sheets
from nesting.planning.buying.remnant_file import remnants_text
from nesting.planning.buying.remnants import leftovers
from nesting.planning.buying.stock import after_cutting, read_stock, write_stock
from nesting.planning.lay.lays import lays

JOB = """
[job]
name = "Case"
[[piece]]
name = "base"
rectangle = [200, 100]
[[piece]]
name = "pad"
points = [[0, 0], [120, 0], [90, 80], [20, 70]]
GOODS
[[remnant]]
name = "odd bit"
material = "stuff"
rectangle = [500, 400]
grain = GRAIN
[[cut]]
piece = "base"
material = "stuff"
[[cut]]
piece = "pad"
material = "stuff"
nap = "any"
"""

GOODS = {
    "sheet": '[[sheet]]\nname = "stuff"\nsize = [600, 400]',
    "cloth": '[[cloth]]\nname = "stuff"\nwidth = 700\nselvedge = 0',
    "leather": '[[leather]]\nname = "stuff"\nnap = "none"\nmargin = 0\n'
    '[[leather.hide]]\nname = "side"\nrectangle = [600, 400]',
}


def text(kind: str, grain: str = '"unknown"') -> str:
    return JOB.replace("GOODS", GOODS[kind]).replace("GRAIN", grain)


@pytest.mark.parametrize("kind", GOODS)
def test_only_what_has_no_grain_is_cut_from_it(kind: str) -> None:
    job = parse_job(text(kind))
    assert any("grain is not known" in said for said in job.assumptions)
    plan = make_plan(job, seconds=None, rounds=1, workers=1)
    where = {}
    for entry in plan.entries:
        assert entry.good
        stock = entry.marker.lay.stock
        for placement in entry.marker.placements:
            part = entry.marker.lay.parts[placement.part]
            on = stock.sheets if isinstance(stock, Sheets) else ()
            name = on[entry.marker.sheets[placement.sheet]].name if on else "roll"
            where[part.piece.name] = name
    assert where["pad"] == "odd bit"
    assert where["base"] in ("stuff", "roll", "side")


@pytest.mark.parametrize("kind", GOODS)
def test_a_known_grain_takes_both(kind: str) -> None:
    plan = make_plan(parse_job(text(kind, "0")), seconds=None, rounds=1, workers=1)
    (entry,) = plan.entries
    assert len(entry.marker.placements) == 2


def test_the_judge_finds_a_piece_with_a_grain_on_it() -> None:
    (found,) = lays(parse_job(text("sheet")))
    plan = make_plan(parse_job(text("sheet")), seconds=None, rounds=1, workers=1)
    marker = plan.entries[0].marker
    assert isinstance(found.stock, Sheets)
    base = next(p for p in marker.placements if marker.lay.parts[p.part].piece.name == "base")
    moved = replace(base, sheet=0, x=250.0, y=250.0, angle=0.0)
    rest = tuple(p for p in marker.placements if p is not base)
    kinds = {f.kind for f in check(replace(marker, placements=(*rest, moved)))}
    assert "region" in kinds


def test_what_is_left_of_it_is_of_unknown_grain_too() -> None:
    plan = make_plan(parse_job(text("sheet")), seconds=None, rounds=1, workers=1)
    (entry,) = plan.entries
    told = {entry.marker.sheets[left.sheet] == 0: left.grain_known for left in leftovers(entry)}
    assert told == {True: False, False: True}
    assert remnants_text(plan).count('grain = "unknown"') == 1


def test_a_stock_file_remembers_it(tmp_path: FilePath) -> None:
    plan = make_plan(parse_job(text("sheet")), seconds=None, rounds=1, workers=1)
    file = tmp_path / "stock.toml"
    bit = 'name = "bit"\nmaterial = "felt"\noutline = "M 0 0 L 90 0 L 0 90 Z"\ngrain = "unknown"'
    file.write_text(f"[[remnant]]\n{bit}\n")
    stock = after_cutting(read_stock(file), plan).stock
    assert [one.grain for one in stock.table.remnant].count("unknown") == 2
    write_stock(stock, file)
    assert read_stock(file).table == stock.table


def test_a_word_that_is_no_grain_is_refused() -> None:
    with pytest.raises(JobError, match="along, across, bias") as caught:
        parse_job(text("sheet", '"acros"'))
    assert "across" in (caught.value.hint or "")
