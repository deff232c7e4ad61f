"""Folded against single: the tool says which needs less cloth."""

from __future__ import annotations

from nesting import compare_widths, parse_job

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
        (str(t.fold), None if t.entry is None else t.entry.buying.needed, t.least) for t in found
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
