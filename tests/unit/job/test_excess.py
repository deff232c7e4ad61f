"""Jobs with more of something than any pattern has: one line, at once."""

from __future__ import annotations

import pytest

from nesting import JobError, parse_job
from nesting.planning.lay.lays import lays

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
        (f'outline = "M 0,0 {"c 1,1 2,1 3,0 " * 5001} L 0,900 Z"', "", "5,001 curves"),
        ('outline = "M 0,0 C 0,1e20 1e20,0 90,0 L 90,90 Z"', "", "not a usable number"),
        ('outline = "M 0,0 C 0,1e8 1e8,0 90,0 L 90,90 Z"', "", "chords stand for them"),
        (
            "rectangle = [9, 9]" + '\n[[piece.mark]]\nkind = "drill"\nat = [3, 3]' * 5001,
            "",
            "5001 marks",
        ),
        (
            "rectangle = [900, 900]" + "\n[[piece.hole]]\ncircle = 2\nat = [3, 3]" * 2001,
            "",
            "2,001 cut-outs",
        ),
        ("rectangle = [100, 50]", "print = { along = 0.001 }", "at least 1 mm"),
    ],
    ids=["far", "curves", "handles", "chords", "marks", "holes", "repeat"],
)
def test_more_than_any_pattern_has_is_refused(shape: str, motif: str, says: str) -> None:
    with pytest.raises(JobError, match=says):
        parse_job(text(shape=shape, motif=motif))


def test_a_lay_of_too_many_parts_is_refused_before_any_search() -> None:
    job = parse_job(text(bags=10_001))
    with pytest.raises(JobError, match="10001 parts of canvas in one lay"):
        lays(job)


def test_an_arc_that_is_all_but_straight_is_a_line() -> None:
    job = parse_job(text(shape='outline = "M 0,0 A 1e300 1e300 0 0 1 100,0 L 100,100 Z"'))
    assert len(job.bags[0].pieces[0].cut.segments) == 3
    assert not job.bags[0].pieces[0].cut.curved


def test_more_cloth_than_there_is_is_refused_before_any_search() -> None:
    job = parse_job(text(shape='rectangle = ["900 m", "1 m"]', bags=1_200))
    with pytest.raises(JobError, match="need more than 1 km of cloth"):
        lays(job)


def test_a_whole_number_of_thousands_of_digits_is_told_in_plain_words() -> None:
    with pytest.raises(JobError, match=r"read: a whole number of thousands of digits$"):
        parse_job(text(shape=f"circle = {'9' * 5000}"))


def test_a_hide_of_half_a_kilometre_is_refused() -> None:
    goods = "width = 1400", 'margin = 2\n[[leather.hide]]\nname = "h"\nrectangle = ["9 m", "500 m"]'
    with pytest.raises(JobError, match="a hide is at most 10 m long"):
        parse_job(text().replace("[[cloth]]", "[[leather]]").replace(*goods))


def test_in_a_job_of_megabytes_the_field_is_told_without_its_line() -> None:
    with pytest.raises(JobError) as told:
        parse_job(text(shape="circle = -1") + "# " + "x" * 1_000_000)
    assert told.value.field == "piece.front.circle"
    assert told.value.line is None
