"""The drawing for the screen: all of it is shown; rows end where it breaks; tables, rolls."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace

import pytest
from matplotlib.figure import Figure

from nesting.amounts import METRIC
from nesting.planning.plan import Plan
from nesting.planning.records import LaidFrom
from nesting.writing.neutral.draw import draw
from nesting.writing.neutral.drawing import Operation, Stroke
from nesting.writing.pages import paint
from nesting.writing.pages.paint import SheetPainter
from nesting.writing.pages.report_tables import cutting_list
from nesting.writing.pages.view import screen_lettering, screen_svg
from nesting.writing.pages.wording import stock_words


def test_what_is_shown_is_the_drawing_and_a_little_around_it(hand_laid_plan: Plan) -> None:
    hide = draw(hand_laid_plan.entries[3].marker)
    x0, y0, x1, y1 = hide.box
    assert y0 < -1.0  # a hide bulges below its corner
    (shown,) = re.findall(r'viewBox="0 0 (\S+) (\S+)"', screen_svg(hide))
    wide, high = map(float, shown)
    around = wide - (x1 - x0)
    assert 0.0 < around < 0.02 * (x1 - x0)
    assert high - (y1 - y0) == pytest.approx(around)


class Counted(tuple[Stroke, ...]):
    """Strokes that count how often they are gone through."""

    times = 0

    def __iter__(self) -> Iterator[Stroke]:
        Counted.times += 1
        return super().__iter__()


@pytest.mark.parametrize("painted", [False, True])
def test_cut_outs_are_looked_for_once_for_all_parts(hand_laid_plan: Plan, painted: bool) -> None:
    drawing = draw(hand_laid_plan.entries[0].marker)
    cut = [s for s in drawing.strokes if s.operation is Operation.CUT and not s.inner]
    many = replace(drawing, strokes=Counted(drawing.strokes * 3))
    Counted.times = 0
    if painted:
        SheetPainter(many, 0.01).paint(Figure().add_axes((0, 0, 1, 1)))
    else:
        screen_svg(many)
    assert 0 < Counted.times < 10 < 3 * len(cut)


def test_parts_are_painted_together_and_their_outlines_made_once(
    hand_laid_plan: Plan, monkeypatch: pytest.MonkeyPatch
) -> None:
    """An artist of matplotlib's for each line made up nearly half of a picture of 2,000."""
    drawing = draw(hand_laid_plan.entries[0].marker)
    lines = [s for s in drawing.strokes if s.operation is not Operation.EDGE]
    made = []
    real = paint._outline
    monkeypatch.setattr(paint, "_outline", lambda paths: (made.append(1), real(paths))[1])

    def artists(times: int) -> int:
        many = replace(drawing, strokes=tuple(lines * times), labels=(), holes=())
        painter = SheetPainter(many, 0.01)
        outlines = len(made)
        axes = Figure().add_axes((0, 0, 1, 1))
        before = len(axes.get_children())
        painter.paint(axes, (0.0, 100.0))
        painter.paint(axes, (100.0, 200.0))
        assert len(made) == outlines
        return len(axes.get_children()) - before

    assert artists(1) == artists(5) == 4  # parts and marks of either window


def test_names_keep_clear_of_where_rows_break(hand_laid_plan: Plan) -> None:
    drawing = draw(hand_laid_plan.entries[0].marker)
    x0, _, x1, _ = drawing.box
    found = screen_lettering(drawing, across=180.0, rows=3).breaks
    assert found == pytest.approx((x0 + (x1 - x0) / 3, x0 + 2 * (x1 - x0) / 3))


def test_only_numbers_stand_on_the_right_of_a_cutting_list(hand_laid_plan: Plan) -> None:
    for entry in hand_laid_plan.entries:
        table = cutting_list(entry)
        right = {table.head[i] for i in table.numbers}
        assert right == {"Cut", "Right", "Left"} & {*table.head}


def test_plies_come_from_the_rolls_that_are_named(hand_laid_plan: Plan) -> None:
    first = hand_laid_plan.entries[0]
    laid = (LaidFrom(spread=0, plies=2, rolls=(2, 0)), LaidFrom(spread=0, plies=1, rolls=(1,)))
    cloth = replace(first.material, rolls=(3000.0, 1500.0))
    said = stock_words(replace(first, material=cloth, laid_from=laid), METRIC)
    assert said == [f"from the length of {METRIC.room(mm)}" for mm in (3000.0, 1500.0)]
