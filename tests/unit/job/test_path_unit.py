"""Path data is in mm: in a job of other units that may be a piece of the wrong size."""

from __future__ import annotations

import pytest

from nesting.errors import JobError
from nesting.job.file import parse_job
from nesting.pattern.measure import bounds

JOB = """
[job]
name = "bag"
unit = "{unit}"
[[piece]]
name = "flap"
outline = "{path}"
{more}
[[cloth]]
name = "canvas"
width = "1 m"
[[cut]]
piece = "flap"
material = "canvas"
"""
FLAP = "M 0,0 L 12,0 L 12,9 L 0,9 Z"


def size(unit: str, path: str, more: str = "") -> tuple[float, float]:
    """Return how large the flap is that a job is read to have (mm)."""
    job = parse_job(JOB.format(unit=unit, path=path, more=more))
    x0, y0, x1, y1 = bounds(job.bags[0].pieces[0].cut)
    return x1 - x0, y1 - y0


@pytest.mark.parametrize("unit", ["in", "cm"])
def test_a_path_that_is_a_bags_piece_in_the_jobs_unit_alone_is_asked_about(unit: str) -> None:
    with pytest.raises(JobError) as error:
        size(unit, FLAP)
    assert f"it would be 12 by 9 {unit}" in str(error.value)
    assert error.value.field == "piece.flap.outline"
    assert error.value.hint == f'say path_unit = "{unit}", or "mm"'


@pytest.mark.parametrize(
    ("unit", "path", "more", "wanted"),
    [
        ("in", FLAP, 'path_unit = "in"', (304.8, 228.6)),
        ("in", FLAP, 'path_unit = "mm"', (12.0, 9.0)),
        ("mm", FLAP, "", (12.0, 9.0)),
        ("mm", FLAP, 'path_unit = "cm"', (120.0, 90.0)),
        ("in", "M 0,0 L 120,0 L 120,90 L 0,90 Z", "", (120.0, 90.0)),
        ("yd", FLAP, "", (12.0, 9.0)),
    ],
)
def test_path_data_is_in_mm_unless_said(
    unit: str, path: str, more: str, wanted: tuple[float, float]
) -> None:
    assert size(unit, path, more) == pytest.approx(wanted)


def test_the_sewing_line_is_in_the_same_unit() -> None:
    more = 'path_unit = "in"\nsewing_line = "M 0.5,0.5 L 11.5,0.5 L 11.5,8 L 0.5,8 Z"'
    job = parse_job(JOB.format(unit="in", path=FLAP, more=more))
    sew = job.bags[0].pieces[0].sew
    assert sew is not None
    assert bounds(sew) == pytest.approx((12.7, 12.7, 292.1, 203.2))
