from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from nesting.errors import WriteError
from nesting.whole import whole_file
from nesting.writing.files import file_name, one_line


def fail_half_way(path: Path) -> None:
    with whole_file(path, overwrite=True) as temporary:
        temporary.write_text("half")
        raise ZeroDivisionError


def test_a_file_is_there_whole_or_not_at_all(tmp_path: Path) -> None:
    path = tmp_path / "a.txt"
    with pytest.raises(ZeroDivisionError):
        fail_half_way(path)
    assert list(tmp_path.iterdir()) == []
    with whole_file(path) as temporary:
        temporary.write_text("whole")
        assert not path.exists()
    assert path.read_text() == "whole"
    assert list(tmp_path.iterdir()) == [path]


def test_a_file_is_replaced_only_when_asked(tmp_path: Path) -> None:
    path = tmp_path / "a.txt"
    path.write_text("old")
    with pytest.raises(WriteError, match="exists already"), whole_file(path):
        pass
    with pytest.raises(ZeroDivisionError):
        fail_half_way(path)
    assert path.read_text() == "old"
    with whole_file(path, overwrite=True) as temporary:
        temporary.write_text("new")
    assert path.read_text() == "new"


def test_a_folder_that_is_not_there_is_told(tmp_path: Path) -> None:
    with pytest.raises(WriteError, match="no such file"), whole_file(tmp_path / "no" / "a.txt"):
        pass


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("Waxed canvas", "Waxed-canvas"),
        ("../../etc/passwd", "etc-passwd"),
        ("a/b\\c:d*e", "a-b-c-d-e"),
        ("Größe Ⅱ", "Größe-Ⅱ"),
        ("con", "con_"),
        ("LPT1", "LPT1_"),
        ("...", "unnamed"),
        ("", "unnamed"),
        ("line\nbreak\x00", "line-break"),
        ("x" * 300, "x" * 80),
    ],
)
def test_file_names_are_safe(text: str, name: str) -> None:
    assert file_name(text) == name


def test_file_names_differ_whatever_the_case() -> None:
    assert file_name("Canvas", taken={"canvas", "CANVAS-2"}) == "Canvas-3"


@given(st.text())
def test_any_text_gives_a_name_and_one_line(text: str) -> None:
    name = file_name(text)
    assert name
    assert not set(name) & set('/\\:*?"<>|\n\r\0. ')
    line = one_line(text)
    assert line.isprintable() or any(ord(c) > 127 for c in line)
    assert len(line.splitlines()) <= 1
    line.encode("utf-8")
