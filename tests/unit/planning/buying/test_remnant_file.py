"""Left-overs written for the next job."""

from __future__ import annotations

import math
import tomllib
from dataclasses import replace
from pathlib import Path

import pytest
from shapely import box, union_all

from nesting import JobError, check, make_plan, parse_job, read_job, write_plan
from nesting.marker.lay import Lay, Part, Strip
from nesting.marker.marker import Marker, Placement
from nesting.material.material import Hides, SheetGoods
from nesting.pattern.path import Path as Outline
from nesting.pattern.piece import Piece
from nesting.pattern.polygon import piece_polygon, polygon
from nesting.planning.buying import hide_yield, remnant_file, remnants
from nesting.planning.buying.remnant_file import named_leftovers, remnants_text
from nesting.planning.buying.remnants import Leftover, leftovers
from nesting.planning.plan import Entry, Plan
from nesting.writing.pages.report import report

SHEETS = """
INCLUDE
[job]
name = "Cases"
[[piece]]
name = "ring"
rectangle = [300, 200]
    [[piece.hole]]
    rectangle = [150, 110]
    at = [20, 20]
[[sheet]]
name = "foam"
size = [700, 500]
spacing = 2
[[cut]]
piece = "ring"
material = "foam"
"""

HIDE = """
[job]
name = "Belts"
[[piece]]
name = "belt"
rectangle = [900, 40]
[[leather]]
name = "calf"
    [[leather.hide]]
    name = "skin"
    rectangle = [1200, 700]
        [[leather.hide.zone]]
        grade = "A"
        tight = 0
        slack = 20
        rectangle = [1200, 400]
[[cut]]
piece = "belt"
material = "calf"
grade = "A"
"""


@pytest.mark.parametrize("text", ["\x7f", "\x00\x1b\n\t", '"\\', "\\u0041", "Größe 布地 🎒"])
def test_a_text_is_read_back_as_it_was(text: str, hand_laid_plan: Plan) -> None:
    """TOML 1.0: in a basic string DEL and the characters below U+0020 have to be escaped."""
    entry, (left, *_) = next((e, found) for e, found in named_leftovers(hand_laid_plan) if found)
    job = replace(hand_laid_plan.job, name=text)
    plan = replace(hand_laid_plan, job=job)
    (row,) = tomllib.loads(remnants_text(plan, left_over=[(entry, (replace(left, name=text),))]))[
        "remnant"
    ]
    assert row["name"] == text


def test_the_next_job_uses_what_is_left_first(tmp_path: Path) -> None:
    (tmp_path / "first.toml").write_text(SHEETS.replace("INCLUDE", ""))
    plan = make_plan(read_job(tmp_path / "first.toml"), seconds=None, rounds=1, workers=1)
    (tmp_path / "remnants.toml").write_text(remnants_text(plan))
    (tmp_path / "next.toml").write_text(SHEETS.replace("INCLUDE", 'include = "remnants.toml"'))
    job = read_job(tmp_path / "next.toml")
    (foam,) = job.materials
    assert isinstance(foam, SheetGoods)
    left = named_leftovers(plan)[0][1]
    assert [remnant.name for remnant in foam.remnants] == [one.name for one in left]
    areas = [polygon(remnant.outline, remnant.holes).area for remnant in foam.remnants]
    assert areas == pytest.approx([one.area for one in left], rel=1e-3)
    again = make_plan(job, seconds=None, rounds=1, workers=1)
    assert again.entries[0].buying.sheets == 0
    # names stay apart when the second job leaves something itself
    names = [one.name for _, more in named_leftovers(again) for one in more]
    assert not set(names) & {remnant.name for remnant in foam.remnants}


def test_left_overs_lie_off_the_parts() -> None:
    plan = make_plan(parse_job(SHEETS.replace("INCLUDE", "")), seconds=None, rounds=1, workers=1)
    ((entry, left),) = named_leftovers(plan)
    parts = entry.marker.placements
    piece = entry.marker.lay.parts[0].piece
    laid = union_all([polygon(piece.cut.transformed(p.affine)).buffer(1.9) for p in parts])
    assert left
    for one in left:
        hole_of_ring = polygon(one.outline).within(laid)
        assert hole_of_ring or polygon(one.outline, one.holes).intersection(laid).area < 1.0


def test_what_is_left_of_a_hide_keeps_its_zones(tmp_path: Path) -> None:
    plan = make_plan(parse_job(HIDE), seconds=None, rounds=1, workers=1)
    text = remnants_text(plan)
    (tmp_path / "remnants.toml").write_text(text)
    (tmp_path / "next.toml").write_text('include = "remnants.toml"\n' + HIDE)
    job = read_job(tmp_path / "next.toml")
    (calf,) = job.materials
    assert isinstance(calf, Hides)
    assert calf.hides[0].remnant
    assert calf.hides[-1].name == "skin"
    # The belt lies in the 400 mm of grade A, and what is left of them is good still.
    ((_, left),) = named_leftovers(plan)
    good = sum(
        polygon(one.outline, one.holes).intersection(box(0, 0, 1200, 400)).area for one in left
    )
    zones = [zone for hide in calf.hides if hide.remnant for zone in hide.zones]
    assert {(zone.grade, zone.tight, zone.slack) for zone in zones} == {("A", 0.0, 20.0)}
    assert sum(polygon(zone.outline).area for zone in zones) == pytest.approx(good, rel=1e-3)
    again = make_plan(job, seconds=None, rounds=1, workers=1)
    assert again.entries[0].good
    # so the next belt opens no hide
    assert calf.hides[again.entries[0].marker.sheets[0]].remnant
    assert again.entries[0].buying.to_buy.value == 0.0


def test_a_left_over_outside_all_zones_is_of_the_poorest_grade() -> None:
    job = parse_job(HIDE.replace("rectangle = [1200, 400]", "rectangle = [909, 45.5]"))
    plan = make_plan(job, seconds=None, rounds=1, workers=1)
    text = remnants_text(plan)
    assert 'grade = "D"' in text
    assert "remnant.zone" not in text


def test_remnants_know_their_grain_and_face() -> None:
    text = SHEETS.replace("INCLUDE", "") + (
        '[[remnant]]\nname = "stood up"\nmaterial = "foam"\nrectangle = [310, 450]\n'
        'grain = "across"\n'
        '[[remnant]]\nname = "seen from below"\nmaterial = "foam"\nface = "wrong"\n'
        "points = [[0, 0], [100, 0], [0, 50]]\n"
    )
    (foam,) = parse_job(text).materials
    assert isinstance(foam, SheetGoods)
    up, below = (polygon(remnant.outline) for remnant in foam.remnants)
    assert up.bounds[2] - up.bounds[0] == pytest.approx(450.0)
    assert below.bounds == pytest.approx((0.0, -50.0, 100.0, 0.0))
    (entry,) = make_plan(parse_job(text), seconds=None, rounds=1, workers=1).entries
    assert not check(entry.marker)
    assert entry.buying.sheets == 0


def test_remnants_of_folded_cloth_are_told_not_used(tmp_path: Path) -> None:
    cloth = SHEETS.replace(
        '[[sheet]]\nname = "foam"\nsize = [700, 500]',
        '[[cloth]]\nname = "foam"\nwidth = 700\nfold = "folded"',
    )
    (tmp_path / "more.toml").write_text(
        '[[remnant]]\nname = "rest"\nmaterial = "foam"\nrectangle = [10, 10]\n'
    )
    (tmp_path / "job.toml").write_text(cloth.replace("INCLUDE", 'include = "more.toml"'))
    assert any(
        "foam is laid folded" in text for text in read_job(tmp_path / "job.toml").assumptions
    )
    own = cloth.replace("INCLUDE", "")
    own += '[[remnant]]\nname = "rest"\nmaterial = "foam"\nrectangle = [10, 10]\n'
    with pytest.raises(JobError, match="laid folded"):
        parse_job(own)


@pytest.mark.parametrize("text", [SHEETS.replace("INCLUDE", ""), HIDE], ids=["sheets", "hide"])
def test_writing_a_plan_looks_for_left_overs_once(
    text: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    plan = make_plan(parse_job(text), seconds=None, rounds=1, workers=1)
    asked: list[str] = []

    def counted(entry: Entry) -> tuple[Leftover, ...]:
        asked.append(entry.material.name)
        return leftovers(entry)

    monkeypatch.setattr(remnant_file, "leftovers", counted)
    monkeypatch.setattr(hide_yield, "leftovers", counted)
    write_plan(plan, tmp_path / "out")
    assert asked == [entry.material.name for entry in plan.entries]


def test_left_overs_of_two_jobs_may_be_called_alike(tmp_path: Path) -> None:
    bit = '[[remnant]]\nname = "rest 1"\nmaterial = "foam"\nrectangle = [90, 90]\n'
    for name in ("one.toml", "two.toml"):
        (tmp_path / name).write_text(bit)
    include = 'include = ["one.toml", "two.toml"]'
    (tmp_path / "job.toml").write_text(SHEETS.replace("INCLUDE", include))
    (foam,) = read_job(tmp_path / "job.toml").materials
    assert isinstance(foam, SheetGoods)
    assert [remnant.name for remnant in foam.remnants][-2:] == ["rest 1", "rest 1 (2)"]


def test_of_very_many_left_overs_the_largest_are_kept_and_that_is_said(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    job = parse_job(SHEETS.replace("INCLUDE", ""))
    plan = make_plan(job, seconds=None, rounds=1, workers=1)
    every = leftovers(plan.entries[0])
    assert remnants.MOST_KEPT == 100
    assert len(every) > 1
    assert not remnants.most_kept(every)
    assert "largest" not in remnants_text(plan) + report(plan)

    real, calls = remnants.largest_rectangle, []
    monkeypatch.setattr(
        remnants, "largest_rectangle", lambda area: (calls.append(1), real(area))[1]
    )
    monkeypatch.setattr(remnants, "MOST_KEPT", 1)
    assert leftovers(plan.entries[0]) == every[:1]
    assert every[0].area == max(one.area for one in every)
    assert len(calls) == 1
    assert remnants.most_kept(every[:1])
    assert "# Of foam only the" in remnants_text(plan)
    assert "largest are kept in the list" in report(plan)


def test_an_outline_of_very_many_points_is_grown_once_for_its_copies(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Of 20 copies of one of 10,000 points it was a fifth of all that was not search."""
    around = [math.tau * i / 1500 for i in range(1500)]
    wavy = [((50 + math.sin(9 * t)) * math.cos(t), 40 * math.sin(t)) for t in around]
    piece = Piece(name="wavy", cut=Outline.polyline(wavy, closed=True))
    parts = tuple(Part(name=f"wavy {i}", piece=piece) for i in range(3))
    spots = [Placement(part=i, x=90.0 + 150 * i, y=90.0, angle=70.0 * i) for i in range(3)]
    marker = Marker(lay=Lay(name="c", parts=parts, stock=Strip(width=200)), placements=(*spots,))
    cloth = box(0, 0, 600, 200)
    singly = [piece_polygon(piece, by=p.affine).buffer(0.5, join_style="mitre") for p in spots]

    calls = []
    real = remnants.piece_polygon
    monkeypatch.setattr(
        remnants, "piece_polygon", lambda *one, **how: (calls.append(1), real(*one, **how))[1]
    )
    rest = remnants._less(cloth, marker, 0)
    assert len(calls) == 1
    assert rest.symmetric_difference(cloth.difference(union_all(singly))).area < 0.1
