from __future__ import annotations

import pytest

from nesting.errors import JobError
from nesting.job.tables.names import check_name, file_name


@pytest.mark.parametrize("name", ["front", "Strap 2", "Deckel größer", "袋 前", "a.b", "x-1_y"])
def test_good_names(name: str) -> None:
    assert check_name(name) == name
    assert file_name(name)


BAD = [
    "",
    " ",
    ".",
    "..",
    "a/b",
    "a\\b",
    "a:b",
    "nul",
    "NUL.txt",
    "com1",
    "a\nb",
    "a\0",
    " a",
    "a.",
]
WORSE = ["\u202ea", "---", "x" * 61, "a\tb", "<b>", 'q"', "CON", "lpt9 "]


@pytest.mark.parametrize("name", [*BAD, *WORSE])
def test_bad_names(name: str) -> None:
    with pytest.raises(JobError):
        check_name(name)


def test_names_that_clash_give_one_file_name() -> None:
    assert file_name("Waxed Canvas") == file_name("waxed  canvas") == "waxed-canvas"
    assert file_name("ﬁn") == file_name("fin")
    assert file_name("STRASSE") == file_name("straße")
