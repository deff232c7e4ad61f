"""The requirement table: what each way of buying comes to, and what it does not promise."""

from __future__ import annotations

from dataclasses import replace

import pytest

from nesting.job.file import parse_job
from nesting.marker.check import check
from nesting.marker.figures import figures
from nesting.material.material import Cloth, Nap
from nesting.planning.begin import placed
from nesting.planning.handout.everybody import for_everybody, top_unknown, usual_widths
from nesting.planning.handout.needed import Needed, Needs, _in_size, _moved, _row, needs
from nesting.quantity import of_length
from nesting.search.result import Limits
from nesting.search.solve import search

JOB = """
[job]
name = "Invented pouch"
bags = 3

[[cloth]]
name = "canvas"
width = "60 cm"
selvedge = "5 mm"
spacing = "3 mm"
ends = "10 mm"
step = "10 cm"

[[sheet]]
name = "foam"
size = ["30 cm", "30 cm"]
count = 2
nap = "any"

[[piece]]
name = "front"
outline = "M 0,0 L 260,0 L 230,150 L 60,180 Z"
line = "cutting"
grain = "along"

[[cut]]
piece = "front"
material = ["canvas", "foam"]
copies = 2

[[notion]]
name = "snap"
quantity = 2
"""


def made(text: str = JOB, **more: object) -> Needs:
    options = {"widths": (400.0, 600.0), "seconds": None, "rounds": 1, "workers": 1}
    return needs(parse_job(text), **(options | more))  # type: ignore[arg-type]


@pytest.fixture(scope="module")
def found() -> Needs:
    return made(margin=0.05)


def test_a_row_for_each_width_with_and_without_a_right_way_up(found: Needs) -> None:
    cloth = [(row.width and row.width.booked, row.one_way) for row in found.of("canvas")]
    assert cloth == [(400.0, True), (400.0, False), (600.0, True), (600.0, False)]
    assert [(row.width, row.one_way) for row in found.of("foam")] == [(None, None)]
    assert found.certain


def test_every_number_has_a_marker_that_the_judge_passes(found: Needs) -> None:
    for row in found.rows:
        assert row.entry is not None
        assert not [f for f in check(row.entry.marker) if f.severity == "fault"]
        assert row.plan().entries == (row.entry,)
        if row.width is not None:
            angles = {p.angle for p in row.entry.marker.placements}
            assert row.one_way is False or angles == {0.0}
            assert row.gross == pytest.approx(figures(row.entry.marker).length + 20.0)
            assert found.metres(row) >= 1.05 * row.gross
            assert found.metres(row) % 100.0 == 0.0
            assert found.yards(row) >= 1.05 * row.gross
            assert found.yards(row) / 114.3 == pytest.approx(round(found.yards(row) / 114.3))


def test_neither_wider_cloth_nor_more_freedom_asks_for_more(found: Needs) -> None:
    length = {(row.width and row.width.booked, row.one_way): row.gross for row in found.rows}
    assert length[400.0, False] <= length[400.0, True]
    assert length[600.0, True] <= length[400.0, True]
    assert length[600.0, False] <= min(length[600.0, True], length[400.0, False])


def test_it_is_for_one_bag_of_goods_that_are_bought(found: Needs) -> None:
    assert [bag.count for bag in found.job.bags] == [1]
    foam = found.job.material("foam")
    assert foam is not None
    assert not foam.limited
    assert [(n.name, n.quantity) for n in found.notions] == [("snap", 2)]
    job = for_everybody(parse_job(JOB.replace("ends =", 'rolls = ["90 cm"]\nends =')))
    assert all(not goods.rolls and not goods.remnants for goods in job.materials)


def test_widths_are_the_cloths_own_and_the_usual_ones() -> None:
    (cloth,) = parse_job(JOB.replace("60 cm", "148 cm")).cloths
    widths = usual_widths(cloth, amounts=parse_job(JOB).amounts)
    # 150 cm is left out: 148 is as good as that.
    assert [width.booked for width in widths] == [1100.0, 1370.0, 1480.0]
    assert {width.booked - width.usable for width in widths} == {10.0}


def test_a_width_too_narrow_is_a_row_that_says_so() -> None:
    found = made(widths=(150.0, 600.0))
    narrow = [row for row in found.of("canvas") if row.width and row.width.booked == 150.0]
    assert [row.one_way for row in narrow] == [None]
    assert "front" in narrow[0].why
    assert narrow[0].entry is None
    assert not found.standing


def test_what_can_be_laid_nowhere_names_the_piece_that_stands_in_the_way() -> None:
    found = made(widths=(150.0,))
    assert len(found.standing) == 1
    assert "front" in found.standing[0]
    assert not found.certain


def test_an_end_that_nobody_knows_to_be_up_is_not_laid_one_way() -> None:
    job = parse_job(JOB)
    (bag,) = job.bags
    pieces = tuple(replace(piece, up_known=False) for piece in bag.pieces)
    job = replace(job, bags=(replace(bag, pieces=pieces),))
    assert top_unknown(job, job.cloths[0]) == ("front",)
    found = needs(job, widths=(600.0,), seconds=None, rounds=1, workers=1)
    bound = [row for row in found.of("canvas") if row.one_way]
    assert [row.why for row in bound] == ["which end of front is up is not known"]
    assert not found.standing


def test_goods_without_a_grain_have_one_row_a_width() -> None:
    found = made(JOB.replace('step = "10 cm"', 'step = "10 cm"\nnap = "any"'), widths=(600.0,))
    assert [row.one_way for row in found.of("canvas")] == [None]
    assert found.of("canvas")[0].goods.nap is Nap.ANY


def test_what_found_no_room_is_not_certain(found: Needs) -> None:
    row = found.rows[0]
    assert row.entry is not None
    short: Needed = replace(row, entry=replace(row.entry, unplaced=(("front 2 of 2", "time"),)))
    assert not short.certain
    assert not replace(found, rows=(short,)).certain


def test_lengths_are_in_the_steps_of_the_shop_the_job_names(found: Needs) -> None:
    row = found.rows[0]
    assert row.entry is not None
    buying = replace(row.entry.buying, gross=of_length(500.0))
    row = replace(row, entry=replace(row.entry, buying=buying))
    exact = replace(found, margin=0.0)
    assert exact.metres(row) == 500.0
    assert exact.yards(row) == pytest.approx(5 * 114.3)
    (cloth,) = row.job.cloths
    own = replace(row, job=row.job.with_material(replace(cloth, step=228.6)))  # a quarter of a yard
    assert exact.metres(own) == 500.0
    assert exact.yards(own) == pytest.approx(3 * 228.6)
    coarse = replace(row, job=row.job.with_material(replace(cloth, step=250.0)))
    assert exact.metres(coarse) == 500.0
    assert replace(exact, margin=0.01).metres(coarse) == 750.0


PRINTED = """
[job]
name = "Invented tote"
[[cloth]]
name = "canvas"
width = 900
nap = "one-way"
print = { along = 300, across = 300PLACE }
[[piece]]
name = "front"
rectangle = [400, 260]
grain = "along"
[[cut]]
piece = "front"
material = "canvas"
copies = COPIES
centred = true
"""


def printed(copies: int = 2, place: str = "", widths: tuple[float, ...] = (900.0,)) -> Needs:
    text = PRINTED.replace("COPIES", str(copies)).replace("PLACE", place)
    return made(text, rounds=2, widths=widths)


def place_of(row: Needed) -> float:
    """Return where the print lies by a row's job, and by what was laid."""
    goods = row.goods
    assert isinstance(goods, Cloth)
    assert goods.print is not None
    assert row.entry is not None
    assert row.certain
    found = {p.binding.lattice.origin[0] for p in row.entry.marker.lay.parts if p.binding}
    assert found == {goods.print.origin[0]}
    return goods.print.origin[0]


def test_a_lay_on_a_print_begins_where_it_saves_most() -> None:
    """Derived: fronts of 400 have their middle 200 from their start; at 0, 300 it is in vain."""
    for row in printed().of("canvas"):
        assert row.entry is not None
        assert place_of(row) == 200.0
        assert figures(row.entry.marker).length == pytest.approx(400.0)
        told = row.plan().job.assumptions
        assert sum("begins 20 cm before the middle of a motif" in said for said in told) == 1
    for row in printed(place=", origin = [0, 0]").of("canvas"):
        assert row.entry is not None
        assert place_of(row) == 0.0
        assert figures(row.entry.marker).length == pytest.approx(500.0)


def test_wider_cloth_that_borrows_a_marker_begins_where_that_does() -> None:
    """The wider one begun at a motif takes 500 mm, and that is proved; begun at 200 it is 400."""
    job = for_everybody(parse_job(PRINTED.replace("COPIES", "1").replace("PLACE", "")))
    rows = [row for row in _in_size(job, "", (700.0, 900.0)) if row.row.one_way]
    rows[0] = _moved(rows[0], placed(rows[0].row.job, {"canvas": 200.0}))
    limits = Limits(seconds=None, rounds=1)
    results = {row.name: search(row.lay, limits=limits, workers=1) for row in rows if row.lay}
    assert results[rows[1].name].bound.value > 499.0
    found = _row(rows[1], rows, results)
    assert found.entry is not None
    assert found.width is not None
    assert found.width.booked == 900.0
    assert place_of(found) == 200.0
    assert figures(found.entry.marker).length == pytest.approx(400.0)
    assert found.entry.bound.value <= 400.0 + 1e-6
