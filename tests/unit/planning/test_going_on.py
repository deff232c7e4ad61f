"""Going on from a plan: what of it still fits is kept, what does not is told."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from nesting.errors import JobError
from nesting.job.job import Bag, Cut, HeldPart, Job
from nesting.marker.figures import figures
from nesting.marker.holding import hold
from nesting.marker.lay import Part
from nesting.material.material import Cloth, SheetGoods, Width
from nesting.pattern.piece import Hand, Piece
from nesting.pattern.shapes import rectangle
from nesting.planning.going_on import going_on
from nesting.planning.make import make_plan
from nesting.planning.orders.order import make_order_plan
from nesting.planning.plan import Plan
from nesting.planning.plan_file import load_plan, save_plan
from nesting.planning.running.pool import Processes, processes

PANEL = Piece(name="panel", cut=rectangle(200.0, 150.0, radius=20.0))
STRAP = Piece(name="strap", cut=rectangle(300.0, 40.0))
WIDTH = Width(booked=520.0, usable=500.0)
CANVAS = Cloth(name="canvas", widths=(WIDTH, Width(booked=420.0, usable=400.0)), spacing=2.0)
FELT = SheetGoods(name="felt", length=450.0, width=350.0, spacing=2.0)


def job_of(*, panels: int = 3, straps: int = 2, bags: int = 1) -> Job:
    cuts = [Cut(piece="panel", material=name, copies=panels) for name in ("canvas", "felt")]
    if straps:
        cuts.append(Cut(piece="strap", material="canvas", copies=straps, pairs=True))
    bag = Bag(name="tote", pieces=(PANEL, STRAP), cuts=tuple(cuts), count=bags)
    return Job(name="tote", bags=(bag,), materials=(CANVAS, FELT))


@pytest.fixture(scope="module")
def workers() -> Processes:
    with processes(1) as pool:
        yield pool  # type: ignore[misc]


@pytest.fixture(scope="module")
def before(workers: Processes) -> Plan:
    return make_plan(job_of(), seconds=None, rounds=4, executor=workers)


def held_in(plan: Plan, number: int = 0) -> dict[str, Part]:
    parts = plan.entries[number].marker.lay.parts
    return {part.name: part for part in parts if part.held is not None}


def test_it_is_never_worse_and_keeps_the_width(before: Plan, workers: Processes) -> None:
    other = replace(WIDTH, price=0.01)  # cheaper now, and still it is gone on with the plan's
    job = replace(job_of(), materials=(replace(CANVAS, widths=(*CANVAS.widths, other)), FELT))
    again = make_plan(job, seconds=None, rounds=0, executor=workers, start=before)
    assert going_on(job, before).told == ()
    for old, new in zip(before.entries, again.entries, strict=True):
        assert new.good
        assert (new.width, new.marker.sheets) == (old.width, old.marker.sheets)
        assert figures(new.marker).length <= figures(old.marker).length


def test_what_is_held_on_its_marker_stays_and_is_stored(
    before: Plan, workers: Processes, tmp_path: Path
) -> None:
    entry = before.entries[0]
    kept = hold(entry.marker, ["panel 2 of 3", "strap 1 of 2 L"])
    plan = replace(before, entries=(replace(entry, marker=kept), *before.entries[1:]))
    save_plan(plan, tmp_path / "plan.json")
    stored = load_plan(tmp_path / "plan.json")
    job = job_of(panels=4)
    going = going_on(job, stored)
    assert going.told == ("canvas: new: panel 4 of 4", "felt: new: panel 4 of 4")
    again = make_plan(job, seconds=None, rounds=1, executor=workers, start=stored)
    held = held_in(again)
    assert set(held) == {"panel 2 of 4", "strap 1 of 2 L"}  # by what they are, not their names
    there = {kept.lay.parts[p.part].hand: p for p in kept.placements if p.part in (1, 4)}
    for entry in again.entries:
        assert entry.good
    assert held["panel 2 of 4"].held is not None
    assert held["panel 2 of 4"].held.x == pytest.approx(there[Hand.RIGHT].x, abs=1e-9)
    assert [one.line for one in again.job.held] == [None, None]
    on = make_plan(job, seconds=None, rounds=0, executor=workers, start=again)
    assert set(held_in(on)) == set(held)
    assert figures(on.entries[0].marker).length <= figures(again.entries[0].marker).length


def test_what_no_longer_fits_is_told_and_the_rest_is_a_start(
    before: Plan, workers: Processes
) -> None:
    entry = before.entries[0]
    kept = hold(entry.marker)
    plan = replace(before, entries=(replace(entry, marker=kept), *before.entries[1:]))
    narrow = Width(booked=200.0, usable=180.0)
    job = job_of(straps=0)
    job = replace(job, materials=(replace(CANVAS, widths=(narrow,)), FELT))
    told = going_on(job, plan).told
    assert entry.width is not None
    assert told[0] == f"canvas: {entry.width.booked / 10:g} cm wide in the plan, 20 cm now"
    assert told[1].startswith("canvas: no longer cut: strap 1 of 2 R, ")
    assert "canvas: strap 2 of 2 L was held and is no longer cut" in told
    assert any("is let go: of what is held, panel" in line for line in told)
    again = make_plan(job, seconds=None, rounds=1, executor=workers, start=plan)
    assert all(entry.good for entry in again.entries)
    assert len(held_in(again)) < 3


def test_what_the_job_file_holds_it_may_let_go(before: Plan, workers: Processes) -> None:
    here = HeldPart(material="canvas", piece="panel", at=(100.0, 120.0), copy=2, line=31)
    felt = HeldPart(material="felt", piece="panel", at=(240.0, 190.0), sheet=2)
    job = replace(job_of(), held=(here, felt))
    plan = make_plan(job, seconds=None, rounds=1, executor=workers, start=before)
    assert all(entry.good for entry in plan.entries)
    assert set(held_in(plan)) == {"panel 2 of 3"}
    (lies,) = (p for p in plan.entries[0].marker.placements if p.part == 1)
    assert (lies.x, lies.y) == pytest.approx((100.0, 120.0))
    assert going_on(job, plan).told == ()
    told = going_on(job_of(), plan).told
    assert told == ("canvas: panel 2 of 3 is let go, as the job file holds it no longer",)
    assert set(held_in(make_plan(job_of(), seconds=None, rounds=0, executor=workers, start=plan),
                       number=1)) == {"panel 1 of 3"}  # fmt: skip


def test_an_order_and_loads_of_a_bed_refuse_held_parts(workers: Processes) -> None:
    here = HeldPart(material="canvas", piece="panel", at=(0.0, 0.0), line=7)
    job = replace(job_of(bags=2), held=(here,), file="tote.toml")
    with pytest.raises(JobError, match=r"^tote.toml:7: held: parts are held on the marker of one"):
        make_order_plan(job, seconds=None, rounds=0, executor=workers)
    bed = replace(job, table=replace(job.table, bed=(320.0, 300.0)))
    with pytest.raises(JobError, match=r"panel 1 of 3 \(bag 1\) can't be held: canvas is cut in"):
        make_plan(bed, seconds=None, rounds=0, executor=workers)
    pair = HeldPart(material="canvas", piece="strap", at=(0.0, 0.0))
    with pytest.raises(JobError, match=r'2 parts of canvas are strap.*give hand = "left"'):
        make_plan(replace(job, held=(pair,)), seconds=None, rounds=0, executor=workers)


def test_of_a_piece_cut_whole_and_trimmed_each_can_be_held(workers: Processes) -> None:
    job = job_of(straps=0)
    bag = job.bags[0]
    trimmed = replace(bag.cuts[0], copies=1, rough_margin=5.0)
    job = replace(job, bags=(replace(bag, cuts=(*bag.cuts, trimmed)),))
    plan = make_plan(job, seconds=None, rounds=1, executor=workers)
    entry = plan.entries[0]
    names = [part.name for part in entry.marker.lay.parts if part.copy == 1]
    assert len(names) == 2
    kept = replace(entry, marker=hold(entry.marker, names))
    going = going_on(job, replace(plan, entries=(kept, *plan.entries[1:])))
    assert going.told == ()
    assert {one.variant for one in going.job.held} == {"plain", "rough cut"}
    twice = replace(job, held=(HeldPart(material="canvas", piece="panel", at=(0.0, 0.0)),))
    with pytest.raises(JobError, match=r"2 parts of canvas are panel.*variant: .*rough cut"):
        make_plan(twice, seconds=None, rounds=0, executor=workers)
