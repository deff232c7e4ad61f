"""Tables of the command: heads over their columns, whatever letters stand in them."""

from __future__ import annotations

from rich.cells import cell_len

from cli.table import table


def test_the_first_column_stands_left_and_the_others_right() -> None:
    rows = [("canvas", "2 m", "3"), ("[b]foam[/b] :bell:", "12 sheets", "")]
    assert table(("material", "buy", "parts"), rows) == (
        "material                   buy   parts\n"
        "canvas                     2 m       3\n"
        "[b]foam[/b] :bell:   12 sheets"
    )


def test_a_long_line_is_not_broken() -> None:
    assert table(("name", "n"), [("x" * 500, "1")]).splitlines()[1] == "x" * 500 + "   1"


def test_letters_two_columns_wide_are_counted_so() -> None:
    lines = table(("material", "n"), [("布地の裏地です", "1"), ("canvas", "2")]).splitlines()
    assert len({cell_len(line) for line in lines}) == 1
