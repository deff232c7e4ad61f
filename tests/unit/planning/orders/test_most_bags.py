"""The most whole bags from what is at hand."""

from __future__ import annotations

import pytest

from nesting import JobError, parse_job
from nesting.planning.orders.most_bags import most_bags

JOB = """
[job]
name = "Case"
bags = 2
[[piece]]
name = "panel"
rectangle = [200, 150]
[[leather]]
name = "calf"
margin = 0
spacing = 0
nap = "none"
    [[leather.hide]]
    name = "skin"
    rectangle = [650, 310]
[[cut]]
piece = "panel"
material = "calf"
copies = 2
"""


def test_the_most_whole_bags() -> None:
    found = most_bags(parse_job(JOB), seconds=None, rounds=2, workers=1)
    assert found.bags == 3  # three columns of two panels
    assert found.at_most == 3
    assert found.plan is not None
    assert len(found.plan.entries[0].marker.placements) == 6


def test_what_can_be_bought_is_not_limited() -> None:
    sheet = JOB.replace("[[leather]]", "[[sheet]]").replace("margin = 0", "size = [300, 300]")
    sheet = sheet.replace(
        '    [[leather.hide]]\n    name = "skin"\n    rectangle = [650, 310]\n', ""
    )
    with pytest.raises(JobError, match="limited number"):
        most_bags(parse_job(sheet), seconds=None, rounds=1, workers=1)
    counted = sheet.replace("size = [300, 300]", "size = [300, 310]\ncount = 3")
    assert most_bags(parse_job(counted), seconds=None, rounds=1, workers=1).bags == 3
