"""What the report says of joins, and of the trade's rules of thumb."""

from __future__ import annotations

import math

import pytest

from nesting import JobError, make_plan, parse_job
from nesting.amounts import METRIC
from nesting.material.material import Cloth
from nesting.planning.buying.rules_of_thumb import cloth_rules, leather_rules
from nesting.planning.joins import joined, put_together
from nesting.planning.lay.lays import lays
from nesting.planning.plan import Entry
from nesting.writing.pages.report_rules import join_sentences, rule_sentences

JOB = """
[job]
name = "Bag"
bags = 2
[[piece]]
name = "strap"
rectangle = [1500, 80]
[[piece]]
name = "panel"
rectangle = [300, 200]
[[cloth]]
name = "canvas"
width = 1000
selvedge = 0
spacing = 0
nap = "one-way"
CLOTH
[[cut]]
piece = "strap"
material = "canvas"
CUT
[[cut]]
piece = "panel"
material = "canvas"
copies = 4
PANEL
"""


def text(*, cloth: str = "", cut: str = "", panel: str = "") -> str:
    return JOB.replace("CLOTH", cloth).replace("CUT", cut).replace("PANEL", panel)


def laid(**more: str) -> Entry:
    (entry,) = make_plan(parse_job(text(**more)), seconds=None, rounds=1, workers=1).entries
    return entry


def test_joined_straps_are_said_in_a_sentence() -> None:
    entry = laid(cloth="longest = 800\nends = 0", cut="pieced = 10")
    (one,) = joined(entry)
    # Two pieces of 760 mm and a seam of 2 × 10 mm make 1500 mm.
    assert (one.piece, one.times, one.joins) == ("strap", 2, 1)
    assert one.sizes == (pytest.approx((760.0, 80.0)),) * 2
    assert one.shorter == pytest.approx(20.0)
    assert one.lost == pytest.approx(20.0 * 80.0)
    assert join_sentences(entry, METRIC) == [
        "strap (2 times): from 2 pieces of 76 × 8 cm, with 1 join, which takes 2 cm of the"
        " length and 16 cm². In one it would need 150 cm of cloth."
    ]


def test_what_is_joined_both_ways_loses_an_area() -> None:
    goods = "[[sheet]]\nname = 'canvas'\nsize = [800, 60]\nspacing = 0\n"
    cloth = JOB[JOB.index("[[cloth]]") : JOB.index("[[cut]]")]
    (found,) = lays(parse_job(JOB.replace(cloth, goods).replace("CUT", "pieced = 5").replace(
        "copies = 4\nPANEL", "copies = 1\npieced = 5")))  # fmt: skip
    straps, panels = put_together(found.parts, width=1000.0)
    assert (straps.joins, straps.shorter) == (4, None)
    assert len(straps.sizes) == 4
    # two rows of 45 mm, two columns of 755 mm
    assert straps.lost == pytest.approx(4 * 755.0 * 45.0 - 1500.0 * 80.0)
    assert (panels.joins, panels.shorter) == (3, pytest.approx(30.0))


def test_nothing_is_said_where_nothing_is_joined() -> None:
    assert join_sentences(laid(cloth="step = 2000"), METRIC) == []


def test_cloth_by_area() -> None:
    entry = laid()
    found = cloth_rules(entry)
    assert found is not None
    # Derived: two straps and eight panels on a metre of width.
    assert found.by_area == pytest.approx((2 * 1500 * 80 + 8 * 300 * 200) / 1000.0)
    assert (found.allowance, found.in_rows, found.simple) == (None, None, None)
    assert len(rule_sentences(entry, METRIC)) == 1


def test_a_print_by_its_repeats_and_in_rows() -> None:
    printed = "print = { along = 320, across = 250, origin = [150, 100] }"
    entry = laid(cloth=printed, panel="centred = true")
    found = cloth_rules(entry)
    assert found is not None
    assert entry.unmatched is not None
    # Derived: half of 320 and of 250 mm more for each of the eight panels of 300 by 200 mm.
    lost = 8 * ((300 + 160) * (200 + 125) - 300 * 200)
    share = lost / (2 * 1500 * 80 + 8 * 300 * 200)
    assert found.allowance == pytest.approx((1 + share) * entry.unmatched)
    # Derived: 4 columns of 250 mm, two rows of a repeat each; or 300 + 320 mm each.
    assert found.in_rows == pytest.approx(640.0)
    assert found.simple == pytest.approx(1240.0)
    assert isinstance(entry.material, Cloth)
    assert any("Half a repeat lost" in said for said in rule_sentences(entry, METRIC))


def test_leather_by_its_waste_and_by_what_is_added() -> None:
    goods = "[[leather]]\nname = 'canvas'\n[[leather.hide]]\nname = 'side'\nrectangle=[1900, 900]\n"
    cloth = JOB[JOB.index("[[cloth]]") : JOB.index("[[cut]]")]
    job = parse_job(JOB.replace(cloth, goods).replace("CUT", "").replace("PANEL", ""))
    (entry,) = make_plan(job, seconds=None, rounds=1, workers=1).entries
    found = leather_rules(entry)
    net = 2 * 1500 * 80 + 8 * 300 * 200
    assert found is not None
    assert found.gross == pytest.approx(net / 0.8)
    foot = 304.8**2
    assert found.added == pytest.approx(net + math.ceil(0.2 * net / foot) * foot)
    assert len(rule_sentences(entry, METRIC)) == 2


def test_what_was_measured_in_the_wash_is_a_share() -> None:
    # kembrel: 20 to 17 is 15 %.
    job = parse_job(text(cloth='shrinkage = { along = ["20 in", "17 in"], across = "2 %" }'))
    (cloth,) = job.materials
    assert isinstance(cloth, Cloth)
    assert cloth.shrinkage.along == pytest.approx(0.15)
    assert cloth.shrinkage.across == pytest.approx(0.02)
    with pytest.raises(JobError, match="must shrink"):
        parse_job(text(cloth="shrinkage = { along = [17, 20] }"))
    with pytest.raises(JobError, match="before, after"):
        parse_job(text(cloth="shrinkage = { along = [17, 20, 3] }"))
