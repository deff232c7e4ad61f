"""What nap and bias cost is told where they bind, by laying without them."""

from __future__ import annotations

import pytest

from nesting.job.file import parse_job
from nesting.marker.figures import figures
from nesting.planning.make import make_plan
from nesting.planning.plan import Plan
from nesting.writing.pages.report import report
from tests.unit.planning.orders.test_order import Here

JOB = """
[job]
name = "wedges"
[[cloth]]
name = "velvet"
width = "50 cm"
selvedge = 0
ends = 0
spacing = 0
price = 40
NAP
[[piece]]
name = "wedge"
points = [[0, 0], [400, 0], [400, 20], [0, 230]]
[[cut]]
piece = "wedge"
material = "velvet"
copies = 4
GRAIN
"""


def planned(nap: str, grain: str = "") -> Plan:
    job = parse_job(JOB.replace("NAP", nap).replace("GRAIN", grain))
    return make_plan(job, seconds=None, rounds=2, executor=Here())


def test_the_nap_keeps_wedges_from_lying_head_to_foot() -> None:
    plan = planned('nap = "one-way"')
    (entry,) = plan.entries
    ((rule, length),) = entry.freed
    assert rule == "nap"
    # Two wedges head to foot make a band 25 cm high; one way up each has a row of its own.
    other = planned('nap = "none"').entries[0]
    assert other.freed == ()
    assert length == pytest.approx(figures(other.marker).length, rel=0.02)
    extra = figures(entry.marker).length - length
    assert extra > 50.0
    text = report(plan)
    assert "What the nap costs" in text
    assert f"About {plan.job.amounts.size(extra)}" in text
    assert "EUR" not in text
    assert "What the bias costs" not in text


def test_nothing_is_said_where_no_rule_binds() -> None:
    plan = planned('nap = "none"')
    assert plan.entries[0].freed == ()
    assert "What the nap costs" not in report(plan)


def test_what_is_cut_on_the_bias_is_compared_with_the_grain() -> None:
    plan = planned('nap = "none"', 'grain = "bias"')
    (entry,) = plan.entries
    assert [rule for rule, _ in entry.freed] == ["bias"]
    straight = planned('nap = "none"').entries[0]
    assert entry.freed[0][1] == pytest.approx(figures(straight.marker).length, rel=0.02)
    assert "What the bias costs" in report(plan)


def test_what_fits_on_the_bias_only_is_not_compared() -> None:
    text = JOB.replace("NAP", 'nap = "one-way"').replace("GRAIN", 'grain = "bias"')
    text = text.replace("copies = 4", "copies = 1").replace(
        "points = [[0, 0], [400, 0], [400, 20], [0, 230]]",
        'grain = "across"\npoints = [[0, 0], [640, 0], [640, 10], [0, 20]]',
    )
    plan = make_plan(parse_job(text), seconds=None, rounds=1, executor=Here())
    assert "bias" not in dict(plan.entries[0].freed)
