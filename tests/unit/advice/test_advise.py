"""What would save: each change laid for real, and only what is more than chance."""

from __future__ import annotations

import random
from dataclasses import replace
from itertools import combinations

import pytest

from nesting.advice.advise import BASE_SEEDS, Advice, advise
from nesting.advice.change import Change, Kind
from nesting.advice.goods_changes import goods_changes
from nesting.advice.piece_changes import Held, piece_changes
from nesting.advice.trials import RARELY, Laid, by_chance, confirmed, less, saved, seeds_for
from nesting.advice.words import advised, base_words, chain_rows, chain_words, criterion
from nesting.errors import JobError
from nesting.job.job import Bag, Cut, Job
from nesting.marker.measure import piece_area
from nesting.material.material import Cloth, Fold, Material, Nap, SheetGoods, Width
from nesting.pattern.measure import bounds
from nesting.pattern.piece import Piece
from nesting.pattern.shapes import rectangle
from nesting.planning.make import make_plan
from nesting.quantity import of_length

STRAP = Piece(name="strap", cut=rectangle(600.0, 30.0))
PANEL = Piece(name="panel", cut=rectangle(180.0, 140.0))
CANVAS = Cloth(
    name="canvas", widths=(Width(booked=300.0, usable=290.0, price=20.0),), spacing=4.0, ends=5.0,
    step=50.0,
)  # fmt: skip
FOAM = SheetGoods(name="foam", length=400.0, width=300.0, spacing=4.0, price=6.0)
BAG = Bag(
    name="sling",
    pieces=(STRAP, PANEL),
    cuts=(
        Cut(piece="strap", material="canvas"),
        Cut(piece="panel", material="canvas", copies=2),
        Cut(piece="panel", material="foam"),
    ),
)
JOB = Job(name="Sling", bags=(BAG,), materials=(CANVAS, FOAM), currency="EUR")


@pytest.fixture(scope="module")
def advice() -> Advice:
    return advise(JOB, only=["canvas"], seconds=None, rounds=1, workers=1)


def of_kind(changes: list[Change], kind: Kind) -> Change:
    return next(change for change in changes if change.kind is kind)


def test_a_long_strap_holds_the_marker_and_joining_it_is_the_best_advice(advice: Advice) -> None:
    (base,) = advice.as_it_is
    assert base.chain is not None
    assert base.chain.names == ("strap",)
    assert chain_words(base.chain) == (
        "its length is held by strap, which reaches from one end to the other; all of them lie to"
        " the grain"
    )
    assert chain_rows(base.chain) == [["strap", "1.00", "–"]]
    best = advice.proposals[0]
    assert best.change.kind is Kind.JOIN
    assert len(best.laid) == advice.seeds
    assert by_chance(BASE_SEEDS, advice.seeds) >= RARELY * advice.tried
    assert best.change.write == 'in its [[cut]]: pieced = "10 mm"'
    assert "1 seam more to sew" in best.change.beware
    # As it is 600 mm; in two pieces of 310 mm beside two panels in a column: 180 + 4 + 140 fits.
    assert best.saved.least == pytest.approx(best.saved.about)
    assert best.saved.bought.value >= 200.0
    assert best.saved.cost == pytest.approx(best.saved.bought.value * 0.02)


def test_what_a_change_saves_is_what_a_plan_of_it_comes_to(advice: Advice) -> None:
    best = advice.proposals[0]
    plans = [make_plan(job, only=["canvas"], seconds=None, rounds=1, seed=1, workers=1)
             for job in (JOB, best.change.job)]  # fmt: skip
    old, new = (plan.entries[0].buying.needed.value for plan in plans)
    assert best.laid[0].needed.value == new
    assert advice.as_it_is[0].laid[0].needed.value == old
    assert all(plan.entries[0].good for plan in plans)
    assert JOB.bags[0] is BAG  # the job itself is as it was


def test_by_rounds_the_answer_is_the_same_again() -> None:
    bag = replace(BAG, cuts=(Cut(piece="strap", material="canvas"),))
    job = replace(JOB, bags=(bag,))
    advice, again = (advise(job, seconds=None, rounds=1, workers=1) for _ in range(2))
    assert advice.proposals
    assert [one.change.what for one in again.proposals] == [
        one.change.what for one in advice.proposals
    ]
    assert [one.laid for one in again.proposals] == [one.laid for one in advice.proposals]
    assert advice.untried == advice.open == ()


def test_all_changes_are_accounted_for(advice: Advice) -> None:
    told = [
        *(one.change for one in advice.proposals),
        *advice.vain,
        *(change for change, _ in advice.left_out),
    ]
    whats = [change.what for change in told]
    assert len(set(whats)) == len(whats)
    assert {change.kind for change in told} >= {
        Kind.JOIN, Kind.FOLD, Kind.SLACK, Kind.SPACING, Kind.CROSS, Kind.BAG, Kind.LEFTOVER,
        Kind.HALVES,
    }  # fmt: skip
    reasons = {change.what: why for change, why in advice.left_out}
    assert "can't be laid" in reasons["strap turned on the cross grain"]  # 600 mm on 290 mm


def test_when_time_is_up_it_says_what_was_not_tried() -> None:
    found = advise(JOB, only=["canvas"], seconds=None, rounds=1, workers=1, stop=lambda: True)
    assert len(found.as_it_is[0].laid) == 1
    assert found.proposals == found.open == ()
    assert any(change.kind is Kind.JOIN for change in found.untried)


def test_what_was_laid_too_seldom_is_not_certain() -> None:
    """The search is stopped as soon as the first seed of the first change is laid."""
    lays = 0

    def stop() -> bool:
        return lays > BASE_SEEDS

    import nesting.advice.advise as module

    real = module.laid

    def counted(*arguments: object, **keywords: object) -> object:
        nonlocal lays
        lays += 1
        return real(*arguments, **keywords)  # type: ignore[arg-type]

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(module, "laid", counted)
        found = advise(JOB, only=["canvas"], seconds=None, rounds=1, workers=1, stop=stop)
    assert found.proposals == ()
    assert [one.change.kind for one in found.open] == [Kind.JOIN]
    assert len(found.open[0].laid) == 1 < found.seeds
    assert found.untried


def measured(*needed: float, good: bool = True) -> list[Laid]:
    return [
        Laid(seed=n, good=good, taken=300.0 * mm, needed=of_length(mm), to_buy=of_length(mm),
             cost=mm, wide=300.0)
        for n, mm in enumerate(needed)
    ]  # fmt: skip


def test_only_what_no_seed_contradicts_counts() -> None:
    base = measured(610.0, 600.0, 620.0)
    assert less(base, measured(590.0, 580.0, 599.0))
    assert not less(base, measured(590.0, 580.0, 600.0))
    assert not less(base, measured(599.9, 599.9, 599.9))  # rounding
    assert not less(base, measured(400.0, good=False))
    found = saved(base, measured(590.0, 580.0, 599.0))
    assert (found.about, found.least) == (pytest.approx(20.0), pytest.approx(1.0))
    assert (found.bought.value, found.cost) == (pytest.approx(1.0), pytest.approx(1.0))
    assert less(base, measured(1100.0, 1190.0), share=2.0)


def test_how_often_chance_alone_does_that_is_counted_out() -> None:
    """All ways in which three of nine results can be the change's: one has the three least."""
    orders = list(combinations(range(9), 3))
    assert sum(order == (0, 1, 2) for order in orders) == 1
    assert by_chance(6, 3) == len(orders) == 84


def test_which_pieces_are_not_tried_in_halves_is_said() -> None:
    pieces = [Piece(name=f"panel {n}", cut=rectangle(100.0 + n, 90.0)) for n in range(5)]
    cuts = tuple(Cut(piece=piece.name, material="canvas") for piece in pieces)
    job = replace(JOB, bags=(Bag(name="five", pieces=tuple(pieces), cuts=cuts),))
    halves = [one for one in changes_of(job, CANVAS) if one.kind is Kind.HALVES]
    assert [(one.pieces[0], bool(one.aside)) for one in halves] == [
        ("panel 0", True), ("panel 1", True), ("panel 2", False), ("panel 3", False),
        ("panel 4", False),
    ]  # fmt: skip
    found = advise(job, only=["canvas"], seconds=None, rounds=1, workers=1, stop=lambda: True)
    told = {change.what: why for change, why in found.left_out}
    assert "three largest pieces" in told["panel 0 as two halves with a seam"]


def test_the_more_changes_are_tried_the_more_seeds_it_takes(advice: Advice) -> None:
    # C(10, 4) = 210, C(11, 5) = 462, C(12, 6) = 924: each change may err once in 20 · m times.
    assert [seeds_for(m, base=6) for m in (1, 4, 5, 10, 11, 23, 24, 46, 47)] == [
        2, 3, 4, 4, 5, 5, 6, 6, 7,
    ]  # fmt: skip
    words = criterion(advice)
    assert f"each of {advice.seeds} seeds" in words
    assert f"among all {advice.tried} changes" in words


def holm(chances: list[float], tried: int) -> list[bool]:
    """Holm 1979 as adjusted chances: the greatest so far of (m - j) p."""
    order = sorted(range(len(chances)), key=lambda i: chances[i])
    sure, worst = [False] * len(chances), 0.0
    for j, i in enumerate(order):
        worst = max(worst, (tried - j) * chances[i])
        sure[i] = worst <= 1.0 / RARELY
    return sure


@pytest.mark.parametrize(
    ("odds", "tried"),
    [([84], 4), ([84], 5), ([924, 84, 84], 5), ([924, 84], 47), ([40, 30, 20], 3), ([], 3),
     ([210, 462, 924, 28], 20)],
)  # fmt: skip
def test_changes_are_confirmed_as_holm_has_it(odds: list[int], tried: int) -> None:
    assert list(confirmed(odds, tried=tried)) == holm([1.0 / one for one in odds], tried)


def test_of_tables_in_which_nothing_saves_few_call_anything_a_saving() -> None:
    """Thirty changes that change nothing, against the same seeds, a thousand times over."""
    draw, tried, wrong, old = random.Random(5), 30, 0, 0
    seeds = seeds_for(tried, base=BASE_SEEDS)
    for _ in range(1000):
        base = measured(*(draw.gauss(600.0, 20.0) for _ in range(BASE_SEEDS)))
        changes = [[draw.gauss(600.0, 20.0) for _ in range(seeds)] for _ in range(tried)]
        wrong += any(less(base, measured(*one)) for one in changes)
        old += any(less(base, measured(*one[:3])) for one in changes)
    assert wrong <= 1000 / RARELY
    assert old > 100  # three seeds, as one change alone would take


def changes_of(job: Job, material: Material, **held: object) -> list[Change]:
    how = Held(gains={}, **held)  # type: ignore[arg-type]
    widths = [400.0]
    return [*goods_changes(job, material, widths=widths), *piece_changes(job, material, how)]


def test_changes_are_changes_of_the_job_that_can_be_written_down() -> None:
    napped = replace(CANVAS, nap=Nap.ONE_WAY)
    job = replace(JOB, materials=(napped, FOAM))
    found = changes_of(job, napped)

    def cloth(kind: Kind) -> Cloth:
        material = of_kind(found, kind).job.material("canvas")
        assert isinstance(material, Cloth)
        return material

    assert cloth(Kind.FOLD).fold is Fold.FOLDED
    assert cloth(Kind.NAP).nap is Nap.NONE
    assert cloth(Kind.SPACING).spacing == 2.0
    assert cloth(Kind.SLACK).turn_slack == 2.0
    wide = cloth(Kind.WIDTH).widths
    assert [(w.booked, w.usable) for w in wide] == [(400.0, 390.0)]
    assert wide[0].price == pytest.approx(20.0 * 400.0 / 300.0)
    assert cloth(Kind.LEFTOVER).remnants[0].outline == rectangle(610.0, 40.0)
    assert of_kind(found, Kind.BAG).job.bags[0].count == 2
    turned = of_kind(found, Kind.CROSS).job.bags[0].cuts[0]
    assert (turned.piece, turned.grain) == ("strap", 90.0)
    assert 'nap = "none"' in of_kind(found, Kind.NAP).write
    assert all(change.beware for change in found if change.kind is not Kind.WIDTH)


def test_halves_are_as_large_as_the_piece_and_its_seam() -> None:
    halved = of_kind(changes_of(JOB, CANVAS), Kind.HALVES)
    assert halved.beware.startswith("2 seams more to sew")
    (bag,) = halved.job.bags
    names = [cut.piece for cut in bag.cuts if cut.material == "canvas"]
    assert names == ["strap", "panel, half 1", "panel, half 2"]
    assert [cut.piece for cut in bag.cuts if cut.material == "foam"] == ["panel"]
    halves = [piece for piece in bag.pieces if "half" in piece.name]
    assert sum(map(piece_area, halves)) == pytest.approx(180.0 * 140.0 + 2 * 10.0 * 140.0)
    assert all(any(mark.joins for mark in half.marks) for half in halves)


def test_a_piece_is_made_smaller_by_what_is_too_much_for_a_step() -> None:
    how = Held(gains={"panel": (0.5, 0.0)}, excess=3.2, width=290.0)
    less_ = [c for c in piece_changes(JOB, CANVAS, how) if c.kind is Kind.SMALLER]
    sizes = []
    for change in less_:
        panel = next(p for p in change.job.bags[0].pieces if p.name == "panel")
        x0, y0, x1, y1 = bounds(panel.cut)
        sizes.append((round(x1 - x0, 6), round(y1 - y0, 6)))
    assert sizes == [(173.0, 140.0)]  # 3.2 mm at half a mm for each: 7 mm
    assert less_[0].write.startswith("in its [[piece]]: 17.3 cm instead of 18 cm")
    # two panels of 140 mm and 4 mm between them fit 290 mm; of 100 mm a third would at 94 mm
    narrow = Piece(name="panel", cut=rectangle(180.0, 97.0))
    job = replace(JOB, bags=(replace(BAG, pieces=(STRAP, narrow)),))
    found = [c for c in piece_changes(job, CANVAS, Held(gains={}, width=290.0))
             if c.kind is Kind.SMALLER]  # fmt: skip
    assert [c.what for c in found] == ["panel 3 mm less across its grain"]


def test_sheets_are_tried_in_other_sizes_and_have_no_chain() -> None:
    sizes = [
        (m.length, m.width, m.price)
        for change in changes_of(JOB, FOAM)
        if change.kind is Kind.SHEET and isinstance(m := change.job.material("foam"), SheetGoods)
    ]
    assert sizes == [(800.0, 300.0, 12.0), (400.0, 600.0, 12.0), (200.0, 300.0, 3.0)]
    found = advise(JOB, only=["foam"], seconds=None, rounds=1, workers=1)
    assert found.as_it_is[0].chain is None
    best = found.proposals[0]
    assert best.change.kind is Kind.SHEET
    assert best.saved.cost == 3.0  # a panel fits half a sheet


def test_no_advice_where_parts_find_no_room() -> None:
    short = replace(FOAM, count=1)
    bag = replace(BAG, cuts=(Cut(piece="panel", material="foam", copies=9),))
    found = advise(replace(JOB, bags=(bag,), materials=(short,)), seconds=None, rounds=1, workers=1)
    assert not found.as_it_is[0].laid[0].good
    assert found.proposals == found.vain == found.untried == ()


def test_a_name_of_no_material_is_refused() -> None:
    with pytest.raises(JobError, match='no material is named "silk"'):
        advise(JOB, only=["silk"], seconds=None, rounds=1)


def test_in_a_job_in_inches_it_is_told_in_inches(advice: Advice) -> None:
    job = replace(JOB, unit="in")
    told = replace(advice, job=job)
    (base,) = advice.as_it_is
    assert " in in 6 seeds" in base_words(base, job.amounts, currency="USD")
    words = advised(advice.proposals[0], told)
    assert "mm" not in words.saves
    assert " in" in words.saves
    (join,) = [c for c in changes_of(job, CANVAS) if c.kind is Kind.JOIN]
    assert join.write == 'in its [[cut]]: pieced = "3/8 in"'
