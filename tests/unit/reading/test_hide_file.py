"""A hide's outline from a drawing: where its flaws and zones are measured from."""

from __future__ import annotations

from pathlib import Path as FilePath

import pytest

from nesting import JobError, read_job
from nesting.material.material import Hides
from nesting.pattern.measure import bounds

SVG = """<svg xmlns="http://www.w3.org/2000/svg" width="1500mm" height="900mm"
viewBox="0 0 1500 900"><path id="side 9" d="M 10 10 L 1490 40 L 1400 880 L 60 890 Z"/></svg>"""

JOB = """
[job]
name = "Case"
[[piece]]
name = "panel"
rectangle = [200, 100]
[[leather]]
name = "calf"
[[leather.hide]]
name = "side 9"
from = "side.svg"
    [[leather.hide.flaw]]
    circle = 60
    at = AT
[[cut]]
piece = "panel"
material = "calf"
"""


def hide(folder: FilePath, at: str) -> Hides:
    (folder / "side.svg").write_text(SVG, encoding="utf-8")
    (folder / "job.toml").write_text(JOB.replace("AT", at), encoding="utf-8")
    job = read_job(folder / "job.toml")
    assert any("lower left corner" in said for said in job.assumptions)
    (leather,) = job.materials
    assert isinstance(leather, Hides)
    return leather


def test_its_lower_left_corner_is_the_origin(tmp_path: FilePath) -> None:
    (found,) = hide(tmp_path, "[700, 400]").hides
    assert bounds(found.outline) == pytest.approx((0.0, 0.0, 1480.0, 880.0))
    # SVG counts downwards: the corner that is lowest in the drawing is the lowest here.
    corners = found.outline.points(1.0)
    assert min(corners, key=lambda point: point[1]) == pytest.approx((50.0, 0.0))
    assert bounds(found.flaws[0]) == pytest.approx((670.0, 370.0, 730.0, 430.0))


def test_a_flaw_outside_says_where_the_hide_is(tmp_path: FilePath) -> None:
    with pytest.raises(JobError, match=r"goes from \(0 cm, 0 cm\) to \(148 cm, 88 cm\)"):
        hide(tmp_path, "[700, 4000]")
