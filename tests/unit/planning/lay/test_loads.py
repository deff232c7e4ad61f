"""Lays in several loads of a bed."""

from __future__ import annotations

from dataclasses import replace

import pytest

from nesting import JobError, check, make_plan, parse_job
from nesting.marker.lay import Strip
from nesting.pattern.polygon import piece_polygon

JOB = """
[job]
name = "Pouches"
bags = 6
[table]
bed = BED
[[piece]]
name = "panel"
rectangle = [260, 190]
[[piece]]
name = "flap"
points = [[0, 0], [180, 0], [140, 120], [40, 120]]
[[cloth]]
name = "canvas"
width = WIDTH
selvedge = 10
spacing = 4
nap = "one-way"
MORE
[[cut]]
piece = "panel"
material = "canvas"
CUT
[[cut]]
piece = "flap"
material = "canvas"
copies = 2
"""


def text(bed: str = "[900, 600]", *, width: int = 1400, more: str = "", cut: str = "") -> str:
    found = JOB.replace("BED", bed).replace("WIDTH", str(width))
    return found.replace("MORE", more).replace("CUT", cut)


@pytest.mark.parametrize("width", [560, 1400])
def test_no_part_lies_across_a_border(width: int) -> None:
    plan = make_plan(parse_job(text(width=width)), seconds=None, rounds=2, workers=1)
    (entry,) = plan.entries
    assert isinstance(entry.marker.lay.stock, Strip)
    assert entry.good
    assert not check(entry.marker)
    named = [name for load in entry.loads for name in load.parts]
    assert sorted(named) == sorted(part.name for part in entry.marker.lay.parts)
    where = {name: load for load in entry.loads for name in load.parts}
    for placement in entry.marker.placements:
        part = entry.marker.lay.parts[placement.part]
        x0, y0, x1, y1 = piece_polygon(part.piece, by=placement.affine).bounds
        load = where[part.name]
        assert load.x - 1e-6 <= x0 <= x1 <= load.x + load.length + 1e-6
        assert load.y - 1e-6 <= y0 <= y1 <= load.y + load.width + 1e-6
        assert load.length <= 900.0
        assert load.width <= 600.0


def test_a_lay_that_the_bed_takes_is_not_split() -> None:
    job = parse_job(text("[5000, 1500]", more="longest = 4000"))
    (entry,) = make_plan(job, seconds=None, rounds=1, workers=1).entries
    assert entry.loads == ()


def test_loads_of_a_print_are_whole_repeats() -> None:
    printed = "print = { along = 400, across = 250, origin = [150, 100] }"
    job = parse_job(text(more=printed, cut="centred = true"))
    (entry,) = make_plan(job, seconds=None, rounds=2, workers=1).entries
    assert entry.good
    assert {load.x % 400.0 for load in entry.loads} == {0.0}
    assert {load.y % 250.0 for load in entry.loads} == {0.0}


def test_a_motif_that_is_nowhere_inside_a_load_is_named_before_any_search() -> None:
    # Loads of one repeat of 400 mm: the motif of a panel 260 mm long has to lie 130 mm or
    # more from both ends of a load, and half the spacing more: at 132 to 268 mm.
    for x, fits in ((131, False), (133, True), (267, True), (269, False)):
        printed = f"print = {{ along = 400, across = 250, origin = [{x}, 100] }}"
        job = parse_job(text("[700, 600]", more=printed, cut="centred = true"))
        if fits:
            assert make_plan(job, seconds=None, rounds=1, workers=1).entries[0].good
            continue
        with pytest.raises(JobError, match="no motif of the print"):
            make_plan(job, seconds=None, rounds=1, workers=1)


def test_a_repeat_larger_than_the_bed_is_refused() -> None:
    printed = "print = { along = 950, across = 250, origin = [150, 100] }"
    job = parse_job(text(more=printed, cut="centred = true"))
    with pytest.raises(JobError, match="repeats after 95 cm, a load of the bed is 89 cm"):
        make_plan(job, seconds=None, rounds=1, workers=1)


def test_folded_cloth_wider_than_the_bed_is_refused() -> None:
    job = parse_job(text(more='fold = "folded"'))
    piece = job.bags[0].pieces[0]
    piece = replace(piece, fold=((0.0, 95.0), (260.0, 95.0)))
    bag = replace(job.bags[0], pieces=(piece, *job.bags[0].pieces[1:]))
    with pytest.raises(JobError, match="folded, canvas is 69 cm wide"):
        make_plan(replace(job, bags=(bag,)), seconds=None, rounds=1, workers=1)


def test_halves_lie_on_the_fold_in_every_load() -> None:
    folded = text("[600, 900]", more='fold = "folded"').replace(
        "rectangle = [260, 190]", "rectangle = [260, 190]\nfold_axis = [[0, 95], [260, 95]]"
    )
    (entry,) = make_plan(parse_job(folded), seconds=None, rounds=2, workers=1).entries
    assert entry.good
    assert len(entry.loads) > 1
    parts = entry.marker.lay.parts
    lows = [
        piece_polygon(parts[p.part].piece, by=p.affine).bounds[1]
        for p in entry.marker.placements
        if parts[p.part].edge is not None
    ]
    assert lows == pytest.approx([0.0] * 6, abs=1e-6)


def test_a_piece_larger_than_a_load_is_named() -> None:
    with pytest.raises(JobError, match="fits no load of the bed"):
        make_plan(parse_job(text("[200, 600]")), seconds=None, rounds=1, workers=1)
