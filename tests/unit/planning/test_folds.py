"""Folded against single: the tool says which needs less cloth."""

from __future__ import annotations

import pytest

from nesting import compare_widths, make_plan, parse_job
from nesting.job.job import Job
from nesting.writing.neutral.draw import draw_entry
from nesting.writing.paper.labels import part_labels

JOB = """
[job]
name = "Bag"
[[piece]]
name = "side"
points = [[0, 0], [300, 0], [260, 180], [0, 200]]
[[piece]]
name = "strap"
rectangle = [300, 60]
[[cloth]]
name = "canvas"
width = 500
selvedge = 0
spacing = 2
step = 10
MORE
[[cut]]
piece = "side"
material = "canvas"
pairs = true
[[cut]]
piece = "strap"
material = "canvas"
copies = COPIES
"""


def trials(copies: int, more: str = "") -> list[tuple[str, float | None, bool]]:
    job = parse_job(JOB.replace("COPIES", str(copies)).replace("MORE", more))
    found = compare_widths(job, folds=True, seconds=None, rounds=3, workers=1)
    return [
        (str(t.fold), None if t.entry is None else t.entry.buying.needed.value, t.least)
        for t in found
    ]


def test_an_odd_single_piece_makes_folding_dearer() -> None:
    single, folded = trials(1)
    assert single[0] == "single"
    assert folded[0] == "folded"
    assert single[1] is not None
    assert folded[1] is not None
    assert single[1] < folded[1]
    assert (single[2], folded[2]) == (True, False)


def test_a_print_is_not_folded_unless_told() -> None:
    printed = "print = { along = 100, across = 100 }"
    assert trials(2, printed)[1][1] is None
    assert trials(2, printed + "\nfold_print = true")[1][1] is not None


MARKED = """
[job]
name = "Bag"
[[piece]]
name = "side"
SHAPE
[[piece.mark]]
kind = "text"
text = "both"
at = [150, 90]
[[piece.mark]]
kind = "drill"
at = [150, 60]
size = 3
ONLY
[[cloth]]
name = "canvas"
width = 900
fold = "folded"
[[cut]]
piece = "side"
material = "canvas"
CUT
"""


def test_what_one_hand_only_carries_is_left_out_where_both_are_cut_at_once_and_told() -> None:
    text = MARKED.replace("SHAPE", "points = [[0, 0], [300, 0], [260, 180], [0, 200]]")
    for hand in ("right", "left"):
        job = parse_job(text.replace("ONLY", f'hands = "{hand}"').replace("CUT", "pairs = true"))
        assert any("marks for one hand only are left out" in line for line in job.assumptions)
        assert holes(job) == [0]
        plan = make_plan(job, seconds=None, rounds=0, workers=1)
        labels = {label.side: label.marks for label in part_labels(plan)}
        assert ["hole" in labels[side] for side in ("right", "left")] == [
            side == hand for side in ("right", "left")
        ]
    job = parse_job(text.replace("ONLY", "").replace("CUT", "pairs = true"))
    assert not any("one hand only" in line for line in job.assumptions)
    assert holes(job) == [1]


@pytest.mark.parametrize(
    ("only", "expected"), [("1", [0, 1]), ("2", [0, 1]), ("[1, 2, 3]", [1, 1])]
)
def test_copies_that_are_cut_at_once_carry_the_same_marks(only: str, expected: list[int]) -> None:
    text = MARKED.replace("SHAPE", "rectangle = [300, 120]").replace("CUT", "copies = 3")
    assert sorted(holes(parse_job(text.replace("ONLY", f"copies = {only}")))) == expected


def holes(job: Job) -> list[int]:
    """Return how many drill holes are drawn on each part."""
    plan = make_plan(job, seconds=None, rounds=0, workers=1)
    (drawing,) = draw_entry(plan.entries[0])
    return [sum(hole.part == i for hole in drawing.holes) for i in range(len(drawing.parts))]
