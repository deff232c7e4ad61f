from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from nesting.errors import PlanError
from nesting.marker.check import check
from nesting.pattern.path import Arc, Bezier, Line
from nesting.pattern.path import Path as Outline
from nesting.pattern.piece import Mark, MarkKind
from nesting.planning.plan import Plan
from nesting.planning.plan_file import load_plan, plan_from_text, plan_text, save_plan
from nesting.planning.records import MaterialBound

SAMPLES = Path(__file__).resolve().parents[3] / "sample_markers"


def test_a_plan_reads_back_equal_in_every_number(hand_laid_plan: Plan, tmp_path: Path) -> None:
    save_plan(hand_laid_plan, tmp_path / "plan.json")
    back = load_plan(tmp_path / "plan.json")
    assert back == hand_laid_plan
    assert plan_text(back) == plan_text(hand_laid_plan)
    assert [check(entry.marker) for entry in back.entries] == [
        check(entry.marker) for entry in hand_laid_plan.entries
    ]
    assert list(tmp_path.iterdir()) == [tmp_path / "plan.json"]


def test_each_piece_is_stored_once(hand_laid_plan: Plan) -> None:
    stored = json.loads(plan_text(hand_laid_plan))
    names = [(piece["name"], piece["cut"]) for piece in stored["pieces"]]
    assert len(names) == len(set(names))
    parts = sum(len(entry.marker.lay.parts) for entry in hand_laid_plan.entries)
    assert len(names) < parts


number = st.floats(-1e4, 1e4, allow_nan=False)
point = st.tuples(number, number)
segment = st.one_of(
    st.builds(Line, point, point),
    st.builds(Bezier, point, point, point, point),
    st.builds(Arc, point, point, point, number, st.floats(-7.0, 7.0)),
)


@given(segments=st.lists(segment, min_size=1, max_size=6))
@settings(deadline=None, max_examples=60)
def test_any_path_reads_back_exactly(hand_laid_plan: Plan, segments: list[object]) -> None:
    """Held in a line to be drawn: that need not be sensible to be kept."""
    path = Outline(tuple(segments))  # type: ignore[arg-type]
    first, *others = hand_laid_plan.job.bags[0].pieces
    marked = replace(first, marks=(Mark(kind=MarkKind.LINE, path=path),))
    bag = replace(hand_laid_plan.job.bags[0], pieces=(marked, *others))
    plan = replace(hand_laid_plan, job=replace(hand_laid_plan.job, bags=(bag,)), entries=())
    assert plan_from_text(plan_text(plan)) == plan


def tampered(plan: Plan, change: str) -> str:
    tree = json.loads(plan_text(plan))
    exec(change, {"t": tree, "e": tree["plan"]["entries"][0]})
    return json.dumps(tree)


ROLLS = "plan.entries.0.laid_from.0.rolls"
SPREAD = "plan.entries.0.laid_from.0.spread"
PARTS = "plan.entries.0.marker.lay.parts"


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ("t['format'] = 'something else'", "format"),
        ("del t['format']", "format"),
        ("t['version'] = 0", "version"),
        ("t['version'] = True", "version"),
        ("t['extra'] = 1", "extra"),
        ("del t['plan']", "plan"),
        ("del t['pieces']", "pieces"),
        ("del t['plan']['job']", "plan.job"),
        ("t['plan']['colour'] = 'red'", "plan.colour"),
        ("e['marker']['placements'][0]['x'] = 'left'", "plan.entries.0.marker.placements.0.x"),
        ("e['marker']['placements'][0]['x'] = 1e999", "plan.entries.0.marker.placements.0.x"),
        ("e['marker']['placements'][0]['part'] = 99", "plan.entries.0.marker.placements.0.part"),
        ("e['marker']['placements'][0]['part'] = -1", "plan.entries.0.marker.placements.0.part"),
        ("e['marker']['placements'][0]['sheet'] = 3", "plan.entries.0.marker.placements.0.sheet"),
        ("e['marker']['lay']['parts'][0]['piece'] = 99", "plan.entries.0.marker.lay.parts.0.piece"),
        ("e['marker']['lay']['stock']['width'] = -5.0", "plan.entries.0.marker.lay.stock.width"),
        ("e['material']['name'] = 'Silk'", "plan.entries.0.material"),
        ("t['pieces'][0]['cut'] = 'M 0 0 L 5'", "pieces.0.cut"),
        ("t['pieces'][0]['cut'] = 'M 0 0 L 5 five'", "pieces.0.cut"),
        ("t['pieces'][0]['cut'] = 'L 5 5'", "pieces.0.cut"),
        ("t['pieces'][0]['cut'] = 'M 0 0 Q 1 1 2 2'", "pieces.0.cut"),
        ("t['pieces'][0]['cut'] = ''", "plan.entries.0.marker.lay.parts.0.piece"),
        ("t['pieces'][0]['cut'] = 'M 0 0 L 5 0 L 5 5'", "plan.entries.0.marker.lay.parts.0.piece"),
        ("t['pieces'][0]['cut'] = 'M 0 0 L 5 0 L 5e6 5 L 0 0'", f"{PARTS}.0.piece"),
        ("e['marker']['placements'][0]['x'] = 6.9e8", "plan.entries.0.marker.placements.0"),
        ("e['marker']['lay']['stock']['width'] = 4.8e8", "plan.entries.0.marker.lay.stock.width"),
        ("e['buying']['needed'] = 1e300", "plan.entries.0.buying.needed"),
        ("e['laid_from'] = [{'spread': 0, 'plies': 1, 'rolls': [7]}]", ROLLS),
        ("e['laid_from'] = [{'spread': 3, 'plies': 1, 'rolls': [0]}]", SPREAD),
        ("e['spreads'] = [-3]", "plan.entries.0.spreads.0"),
        ("del e['width']", "plan.entries.0.width"),
        ("e['width'] = None", "plan.entries.0.marker.lay.stock"),
        ("t['plan']['job']['bags'][0]['cuts'][0]['piece'] = 'x'", "plan.job.bags.0.cuts.0.piece"),
        ("b = t['plan']['job']['bags']; b[0]['cuts'][0]['copies'] = 10**9", "plan.job"),
        ("b = t['plan']['job']['bags']; b.append(b[0])", "plan.job.bags"),
        ("p = e['marker']['lay']['parts']; p[1]['name'] = p[0]['name']", PARTS),
    ],
)
def test_a_tampered_plan_is_refused_by_field(
    hand_laid_plan: Plan, tmp_path: Path, change: str, field: str
) -> None:
    file = tmp_path / "plan.json"
    file.write_text(tampered(hand_laid_plan, change))
    with pytest.raises(PlanError) as caught:
        load_plan(file)
    assert caught.value.field == field
    assert caught.value.file == str(file)
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"[]",
        b"null",
        b"\xff\xfe\x00binary",
        b"<html>",
        b"[" * 100_000,
        b'{"format": "thriftlay plan", "version": 2',
        b'{"format": "thriftlay plan", "version": 2, "pieces": [], "plan": NaN}',
        b'{"format": "thriftlay plan", "version": 2' + b"0" * 9000 + b"}",
    ],
)
def test_rubbish_is_refused_in_one_line(tmp_path: Path, content: bytes) -> None:
    (tmp_path / "plan.json").write_bytes(content)
    with pytest.raises(PlanError) as caught:
        load_plan(tmp_path / "plan.json")
    assert "\n" not in str(caught.value)


def test_every_truncation_is_refused(hand_laid_plan: Plan) -> None:
    text = plan_text(hand_laid_plan).rstrip()
    for end in range(0, len(text), 997):
        with pytest.raises(PlanError):
            plan_from_text(text[:end])


def test_a_missing_file_is_told(tmp_path: Path) -> None:
    with pytest.raises(PlanError, match="no such file"):
        load_plan(tmp_path / "nowhere.json")


def test_a_bound_is_a_number_in_the_file_and_knows_its_unit_again(hand_laid_plan: Plan) -> None:
    units = [entry.search.bound.unit for entry in hand_laid_plan.entries]
    assert len(set(units)) > 1
    least = tuple(
        MaterialBound(material=entry.material.name, amount=entry.search.bound)
        for entry in hand_laid_plan.entries
    )
    plan = replace(hand_laid_plan, bounds=least)
    told = json.loads(plan_text(plan))["plan"]
    numbers = [bound.amount.value for bound in least]
    assert [entry["search"]["bound"] for entry in told["entries"]] == numbers
    assert [bound["amount"] for bound in told["bounds"]] == numbers
    again = plan_from_text(plan_text(plan))
    assert again == plan
    assert [entry.bound.unit for entry in again.entries] == units
    assert [bound.amount.unit for bound in again.bounds] == units


@pytest.mark.parametrize("laid", sorted(SAMPLES.glob("*/laid/plan.json")), ids=str)
def test_plans_that_were_stored_stand_as_they_stood(laid: Path) -> None:
    text = laid.read_text(encoding="utf-8")
    assert plan_text(plan_from_text(text)) == text


def test_pieces_of_parts_that_are_alike_are_one_and_the_same(hand_laid_plan: Plan) -> None:
    plan = plan_from_text(plan_text(hand_laid_plan))
    pieces = [part.piece for entry in plan.entries for part in entry.marker.lay.parts]
    assert len({id(piece) for piece in pieces}) == len(set(pieces)) < len(pieces)


@pytest.mark.parametrize(
    ("cut", "said"),
    [
        ("M 0 0 L 5 nan", "the path's L needs 2 numbers"),
        ("M 0 0 L inf 5", "the path's L needs 2 numbers"),
        ("L 5 5", "a path has to start with M or A"),
        ("M 0 0 l 5 5", "'l' is no path command"),
    ],
)
def test_what_is_wrong_with_a_path_is_said(hand_laid_plan: Plan, cut: str, said: str) -> None:
    with pytest.raises(PlanError) as caught:
        plan_from_text(tampered(hand_laid_plan, f"t['pieces'][0]['cut'] = {cut!r}"))
    assert caught.value.what == said
    assert caught.value.field == "pieces.0.cut"


def test_numbers_beyond_reason_are_refused_wherever_they_stand(hand_laid_plan: Plan) -> None:
    with pytest.raises(PlanError, match="beyond reason") as caught:
        plan_from_text(tampered(hand_laid_plan, "t['pieces'][0]['grain'] = -10**16"))
    assert caught.value.field == "pieces.0.grain"
