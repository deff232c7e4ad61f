from __future__ import annotations

import html
import re
from dataclasses import replace
from pathlib import Path

import pytest

from nesting.amounts import METRIC
from nesting.errors import Finding
from nesting.marker.figures import figures
from nesting.marker.lay import Part
from nesting.material.material import Hides
from nesting.pattern.path import Affine
from nesting.pattern.piece import Face, Hand, Mark, MarkKind, Piece
from nesting.pattern.polygon import piece_polygon, polygon
from nesting.pattern.shapes import rectangle
from nesting.planning.plan import Plan
from nesting.search.result import Stopped
from nesting.writing.machines.files import cut_plan
from nesting.writing.machines.formats import Format
from nesting.writing.machines.machine import Kind, Machine, Tool
from nesting.writing.neutral.drawing import Operation
from nesting.writing.neutral.keys import job_keys
from nesting.writing.neutral.mark_words import marks_in_words
from nesting.writing.pages.report import report
from nesting.writing.pages.report_tables import _marks, cutting_list, zone_sentences
from nesting.writing.pages.wording import (
    money,
    percent,
    stopped_because,
    to_buy,
)
from nesting.writing.pages.work_sheet import work_sheet


@pytest.fixture(scope="module")
def page(hand_laid_plan: Plan) -> str:
    return report(hand_laid_plan)


def words(page: str) -> str:
    """Return what a reader sees."""
    plain = re.sub(r"<style>.*?</style>|<title>.*?</title>", " ", page, flags=re.S)
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", plain)).split())


def test_the_page_stands_alone(page: str) -> None:
    addresses = set(re.findall(r"https?://[^\s\"'<]+", page))
    assert addresses == {"http://www.w3.org/2000/svg"}  # a name of a language, nothing fetched
    assert not re.search(r"<(script|link|img|iframe)\b|url\(|@import", page)


def test_every_figure_is_there(hand_laid_plan: Plan, page: str) -> None:
    seen = words(page)
    canvas = hand_laid_plan.entries[0]
    found = figures(canvas.marker, booked_width=1150.0, ends=15.0)
    for said in (
        percent(found.efficiency),
        percent(found.utilisation),
        METRIC.needed(found.length),
        METRIC.needed(canvas.buying.gross.value),
        to_buy(canvas, METRIC),
        "20.35 EUR",
        "in steps of 10 cm",
        "the time given was up",
        "seed 7",
        "Lower bound",
        "gap",
        "usable 111 cm",
    ):
        assert said in seen, said


def test_every_part_is_labelled_and_listed(hand_laid_plan: Plan, page: str) -> None:
    seen = words(page)
    for name in ("Front panel", "Flap", "Base", "Shoulder strap", "Side", "Loop tab"):
        assert name in seen
    assert "1 of 2 L" in seen
    assert page.count("<figure>") == 5  # one for each cloth and hide, two sheets of foam
    assert "outline (pocket, copy 1 only)" in seen
    assert "line (loop, on the wrong side)" in seen


def test_assumptions_and_cautions_are_said(hand_laid_plan: Plan, page: str) -> None:
    seen = words(page)
    assert hand_laid_plan.job.assumptions
    for assumption in hand_laid_plan.job.assumptions:
        assert assumption in seen
    for word in ("hydrogen chloride", "Blades", "manual", "safety data sheet", "Foam: ask"):
        assert word in seen


def test_findings_stand_on_top(hand_laid_plan: Plan) -> None:
    first, *rest = hand_laid_plan.entries
    fault = Finding(kind="overlap", text="Flap 1 overlaps Side 1 by 2.1 mm")
    bad = replace(first, findings=(fault,), unplaced=(("Loop tab 4", "no room"),))
    page = report(replace(hand_laid_plan, entries=(bad, *rest)))
    seen = words(page)
    assert fault.text in seen
    assert "Loop tab 4 could not be laid: no room" in seen
    assert page.index("Do not cut") < page.index("What to buy")


def test_marks_are_counted_and_described() -> None:
    notch = Mark(kind=MarkKind.NOTCH, at=(0.0, 0.0))
    drill = Mark(kind=MarkKind.DRILL, at=(0.0, 0.0), name="rivet", face=Face.WRONG)
    left = replace(drill, face=Face.RIGHT, hands=frozenset({Hand.LEFT}))
    said = marks_in_words((notch, notch, drill, left))
    assert said == "2 notches; drill hole (rivet, on the wrong side); drill hole (rivet, left only)"


def test_marks_of_any_copy_and_hand_are_listed() -> None:
    notch = Mark(kind=MarkKind.NOTCH, at=(10.0, 0.0))
    rivet = Mark(kind=MarkKind.DRILL, at=(5.0, 5.0), name="rivet", copies=frozenset({2}))
    loop = Mark(kind=MarkKind.DRILL, at=(5.0, 9.0), name="loop", hands=frozenset({Hand.LEFT}))
    piece = Piece(name="Flap", cut=rectangle(90.0, 60.0), marks=(notch,))
    first = Part(name="1", piece=piece, copies=2)
    second = replace(first, name="2", copy=2, piece=replace(piece, marks=(notch, rivet)))
    moved = replace(notch, at=(10.0, 60.0))
    left = replace(first, name="L", hand=Hand.LEFT, piece=replace(piece, marks=(moved, loop)))
    said = marks_in_words(_marks([first, second, left]))
    assert said == "notch; drill hole (rivet, copy 2 only); drill hole (loop, left only)"


def test_shares_are_never_flattered() -> None:
    assert percent(0.99996) == "99.9 %"
    assert percent(1.0) == "100.0 %"
    assert percent(0.8141) == "81.4 %"


@pytest.mark.parametrize("reason", Stopped)
def test_every_reason_to_stop_has_words(reason: Stopped) -> None:
    assert stopped_because(reason.value) != reason.value


def test_money() -> None:
    assert money(1234.5, "EUR") == "1,234.50 EUR"
    assert money(None, "EUR") == "no price given"
    assert money(3.0, "") == "3.00"


def test_work_sheet_and_machine_sheet_tell_the_zones_and_the_keys(
    hand_laid_plan: Plan, tmp_path: Path
) -> None:
    leather = next(e for e in hand_laid_plan.entries if isinstance(e.material, Hides))
    plan = replace(hand_laid_plan, entries=(leather,))
    knife = Machine(
        name="knife",
        kind=Kind.DRAG_KNIFE,
        reads=(Format.DXF_R12,),
        bed_length=4000.0,
        bed_width=4000.0,
        tools=(Tool(operation=Operation.CUT, name="blade", layer="1", pen=1, colour="#000000"),),
    )
    cut_plan(plan, knife, tmp_path)
    (sheet,) = tmp_path.glob("*.txt")
    keys, said = job_keys(plan.job), zone_sentences(leather)
    assert any(sentence.startswith("In zone A (A): ") for sentence in said)
    for text in (sheet.read_text(encoding="utf-8"), html.unescape(work_sheet(plan, files={}))):
        assert all(sentence in text for sentence in said)
        for part in {part.piece.name: part for part in leather.marker.lay.parts}.values():
            assert keys.key(part) in text
            assert keys.title(part) in text


def test_of_hides_at_hand_there_is_nothing_to_buy(hand_laid_plan: Plan) -> None:
    leather = next(e for e in hand_laid_plan.entries if isinstance(e.material, Hides))
    assert to_buy(leather, METRIC).endswith("as at hand")
    none = replace(leather.buying, to_buy=replace(leather.buying.to_buy, value=0.0))
    assert to_buy(replace(leather, buying=none), METRIC).startswith("nothing, 1 hide")


def test_a_leather_part_tells_in_which_zones_it_lies(hand_laid_plan: Plan) -> None:
    found = 0
    for entry in hand_laid_plan.entries:
        if not isinstance(entry.material, Hides):
            assert "Lies in" not in cutting_list(entry).head
            continue
        table = cutting_list(entry)
        seen = "; ".join(row[table.head.index("Lies in")] for row in table.rows)
        laid = entry.marker
        for placement in laid.placements:
            hide = entry.material.hides[laid.sheets[placement.sheet]]
            part = piece_polygon(laid.lay.parts[placement.part].piece, by=placement.affine)
            lies = part.representative_point()
            for zone in hide.zones:
                area = polygon(zone.outline.transformed(Affine.turn(-hide.backbone)))
                if area.contains(lies):
                    assert f"{zone.name} ({zone.grade})" in seen
                    found += 1
    assert found
