"""Jobs with more of something than any pattern has: one line, at once."""

from __future__ import annotations

import pytest

from nesting import JobError, parse_job
from nesting.planning.lays import lays

JOB = """
[job]
name = "Bag"
bags = BAGS
[[piece]]
name = "front"
SHAPE
[[cloth]]
name = "canvas"
width = 1400
PRINT
[[cut]]
piece = "front"
material = "canvas"
"""


MARK = '\n[[piece.mark]]\nkind = "drill"\nat = [3, 3]'


def text(*, shape: str = "rectangle = [100, 50]", motif: str = "", bags: int = 1) -> str:
    return JOB.replace("SHAPE", shape).replace("PRINT", motif).replace("BAGS", str(bags))


@pytest.mark.parametrize(
    ("shape", "motif", "says"),
    [
        ('outline = "M 0,0 L 1e20,0 L 0,50 Z"', "", "more than 1 km away"),
        (f'outline = "M 0,0 {"c 1,1 2,1 3,0 " * 5001} L 0,900 Z"', "", "5001 curves"),
        (
            "rectangle = [9, 9]" + '\n[[piece.mark]]\nkind = "drill"\nat = [3, 3]' * 5001,
            "",
            "5001 marks",
        ),
        ("rectangle = [100, 50]", "print = { along = 0.001 }", "at least 1 mm"),
    ],
    ids=["far", "curves", "marks", "repeat"],
)
def test_more_than_any_pattern_has_is_refused(shape: str, motif: str, says: str) -> None:
    with pytest.raises(JobError, match=says):
        parse_job(text(shape=shape, motif=motif))


def test_a_lay_of_too_many_parts_is_refused_before_any_search() -> None:
    job = parse_job(text(bags=10_001))
    with pytest.raises(JobError, match="10001 parts of canvas in one lay"):
        lays(job)
