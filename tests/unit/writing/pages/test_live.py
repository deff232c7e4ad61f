"""A marker as data for the page: each part whole, where it lies, and named."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from nesting import load_plan
from nesting.pattern.path import Affine
from nesting.pattern.svg_path import parse_path
from nesting.planning.by_hand import ByHand, Change
from nesting.planning.plan import Plan
from nesting.writing.neutral.keys import job_keys
from nesting.writing.pages.live.marker import live_ground, live_marker, live_part

SAMPLES = Path(__file__).resolve().parents[4] / "sample_markers"


def test_every_part_is_drawn_where_it_lies(hand_laid_plan: Plan) -> None:
    keys = job_keys(hand_laid_plan.job)
    for entry in hand_laid_plan.entries:
        for sheet in range(entry.marker.grounds):
            drawn: Any = live_marker(entry, sheet=sheet, keys=keys)
            json.dumps(drawn, allow_nan=False)
            placed = {p.part: p for p in entry.marker.placements if p.sheet == sheet}
            assert {part["part"] for part in drawn["parts"]} == set(placed)
            for part in drawn["parts"]:
                piece = entry.marker.lay.parts[part["part"]].piece
                outline, *holes = parse_path(part["lines"][0]["d"])
                true = piece.cut.transformed(placed[part["part"]].affine)
                back = outline.transformed(Affine.mirror())
                assert back.points(0.1)[0] == pytest.approx(true.points(0.1)[0], abs=1e-6)
                assert len(holes) == len(piece.holes)
                assert part["lines"][0]["is"] == "part"
                assert piece.name in part["says"]


def test_a_part_and_the_ground_alone_are_as_in_the_whole(hand_laid_plan: Plan) -> None:
    keys = job_keys(hand_laid_plan.job)
    entry = hand_laid_plan.entries[0]
    whole: Any = live_marker(entry, keys=keys)
    assert live_part(entry, 5, keys=keys) == whole["parts"][5]
    ground = live_ground(entry)
    assert ground["box"] == whole["box"]
    assert ground["ground"] == whole["ground"]


def test_a_part_that_was_moved_is_drawn_there(hand_laid_plan: Plan) -> None:
    entry = hand_laid_plan.entries[0]
    hand = ByHand(entry.marker)
    hand.change(0, Change(along=10.0, across=4.0))
    before: Any = live_part(entry, 0)
    after: Any = live_part(replace(entry, marker=hand.marker), 0)
    (one, *_), (other, *_) = (parse_path(p["lines"][0]["d"]) for p in (before, after))
    (x, y), (u, v) = one.points(1.0)[0], other.points(1.0)[0]
    assert (u - x, v - y) == pytest.approx((10.0, -4.0))  # downwards as on a screen


def test_without_names_the_parts_are_where_they_are_with_them(hand_laid_plan: Plan) -> None:
    entry = hand_laid_plan.entries[0]
    bare: Any = live_marker(entry, names=False)
    whole: Any = live_marker(entry)
    assert bare["box"] == whole["box"]
    for one, other in zip(bare["parts"], whole["parts"], strict=True):
        assert one["lines"][0] == other["lines"][0]
        assert one["says"] == other["says"]
        assert len(one["texts"]) < len(other["texts"])


def test_without_names_a_hide_is_as_large_as_with_them() -> None:
    plan = load_plan(SAMPLES / "pouch" / "laid" / "plan.json")
    zones = []
    for entry in plan.entries:
        for sheet in range(entry.marker.grounds):
            bare: Any = live_marker(entry, sheet=sheet, names=False)
            named: Any = live_marker(entry, sheet=sheet)
            assert bare["box"] == pytest.approx(named["box"])
            assert bare["ground"]["texts"] == []
            zones += named["ground"]["texts"]
    assert zones


def test_without_names_no_room_is_looked_for(
    hand_laid_plan: Plan, monkeypatch: pytest.MonkeyPatch
) -> None:
    def looked(*_: object, **__: object) -> None:
        raise AssertionError("room was looked for")

    entry = hand_laid_plan.entries[0]
    named: Any = live_marker(entry)
    monkeypatch.setattr("nesting.writing.neutral.drawn.fit", looked)
    bare: Any = live_marker(entry, names=False)
    assert [one["lines"][0] for one in bare["parts"]] == [one["lines"][0] for one in named["parts"]]
    assert all(
        len(b["texts"]) < len(n["texts"])
        for b, n in zip(bare["parts"], named["parts"], strict=True)
    )
    with pytest.raises(AssertionError, match="looked for"):
        live_marker(entry)
