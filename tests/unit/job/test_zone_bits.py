"""A zone that its hide's edge cuts in two is a zone in both places."""

from __future__ import annotations

import pytest

from nesting.job.file import parse_job
from nesting.material.material import Hides
from nesting.pattern.polygon import polygon

JOB = """
[job]
name = "belt"
[[leather]]
name = "cow"
[[leather.hide]]
name = "one"
points = [[0, 0], [1000, 0], [1000, 600], [600, 600], [600, 200], [300, 200], [300, 600], [0, 600]]
[[leather.hide.zone]]
name = "top"
grade = "A"
tight = 0
points = [[0, 300], [1000, 300], [1000, 600], [0, 600]]
[[piece]]
name = "tag"
rectangle = [60, 40]
[[cut]]
piece = "tag"
material = "cow"
grade = "A"
"""


def test_every_bit_of_a_zone_on_the_hide_is_kept() -> None:
    job = parse_job(JOB)
    (leather,) = job.materials
    assert isinstance(leather, Hides)
    zones = leather.hides[0].zones
    assert [(zone.name, zone.grade, zone.tight) for zone in zones] == [("top", "A", 0.0)] * 2
    areas = sorted(polygon(zone.outline).area for zone in zones)
    assert areas == pytest.approx([300 * 300, 400 * 300])
    assert any("what of it is outside its hide is left out" in said for said in job.assumptions)
