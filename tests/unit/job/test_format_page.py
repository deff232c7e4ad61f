from __future__ import annotations

from pathlib import Path as FilePath

from nesting.job.file import parse_job
from nesting.job.format_page import EXAMPLE, format_page
from nesting.planning.lays import lays

PAGE = FilePath(__file__).parents[3] / "sample_markers" / "FORMAT.md"


def test_the_page_is_up_to_date() -> None:
    assert PAGE.read_text(encoding="utf-8") == format_page()


def test_its_example_is_a_job() -> None:
    (lay,) = lays(parse_job(EXAMPLE))
    assert len(lay.parts) == 4
    assert [len(part.piece.marks) for part in lay.parts] == [1, 0, 1, 0]
