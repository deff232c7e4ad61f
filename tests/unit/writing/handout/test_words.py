"""How a handout says amounts."""

from __future__ import annotations

import pytest

from nesting.writing.handout.words import notion_words


@pytest.mark.parametrize(
    ("quantity", "unit", "said"),
    [
        (2.5, "yd", "2 1/2 yd"),
        (0.375, "yd", "3/8 yd"),
        (12.0, "in", "12 in"),
        (1.1, "yd", "1.1 yd"),
        (0.5, "m", "0.5 m"),
        (1.0, "", "1"),
        (3.0, "spool", "3 spools"),
    ],
)
def test_notions_are_told_in_eighths_only_where_they_are_that(
    quantity: float, unit: str, said: str
) -> None:
    assert notion_words(quantity, unit) == said
