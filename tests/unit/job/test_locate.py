from __future__ import annotations

import tomllib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from nesting.job.locate import locate

TEXT = '''\
# a comment with [[brackets]] and = signs
title = "a # is no comment here"

[job]   # 4
name = 'raw \\' # 5
"quoted key" = 1 # 6
dotted.key.deep = [1, 2] # 7

[[piece]] # 9
name = "one"
points = [ # 11
    [0, 1], # 12
    [2, # 13
     3],
]
    [[piece.mark]] # 16
    kind = "x"
    [[piece.mark]] # 18
    at = { x = 1, y = [ 5,
        6] } # 20
[[piece]] # 21
text = """
a = 1 \\""" ""
[not.a.table]""" # 22 to 24
raw = \'\'\'
[[piece]]
\'\'\'\'
after = true # 28
[piece.more] # 29
when = 2026-01-01T00:00:00Z # 30
[a.b.c]
"d" = { } # 32
e = [] # 33
'''


@pytest.mark.parametrize(
    ("place", "line"),
    [
        (("title",), 2),
        (("job",), 4),
        (("job", "name"), 5),
        (("job", "quoted key"), 6),
        (("job", "dotted", "key", "deep", 1), 7),
        (("piece",), 9),
        (("piece", 0), 9),
        (("piece", 0, "points"), 11),
        (("piece", 0, "points", 0), 12),
        (("piece", 0, "points", 1, 0), 13),
        (("piece", 0, "points", 1, 1), 14),
        (("piece", 0, "mark", 0), 16),
        (("piece", 0, "mark", 1), 18),
        (("piece", 0, "mark", 1, "at", "x"), 19),
        (("piece", 0, "mark", 1, "at", "y", 1), 20),
        (("piece", 1), 21),
        (("piece", 1, "text"), 22),
        (("piece", 1, "raw"), 25),
        (("piece", 1, "after"), 28),
        (("piece", 1, "more", "when"), 30),
        (("a", "b", "c", "d"), 32),
        (("a", "b", "c", "e"), 33),
    ],
)
def test_lines(place: tuple[str | int, ...], line: int) -> None:
    tomllib.loads(TEXT)
    assert locate(TEXT)[place] == line


def test_nothing_inside_strings_counts() -> None:
    assert ("not",) not in locate(TEXT)


keys = st.text("abc-_1", min_size=1, max_size=4)
texts = st.text(st.characters(codec="utf-8", exclude_categories=["Cs", "Cc"]), max_size=12)
values = st.recursive(
    st.integers() | st.booleans() | texts,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(keys, inner, max_size=3),
    max_leaves=8,
)


def written(value: object) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return '"' + value.replace("\\", "\\\\").replace('"', '\\"') + '"'
    if isinstance(value, list):
        return "[" + ", ".join(written(item) for item in value) + "]"
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{k} = {written(v)}" for k, v in value.items()) + " }"
    return str(value)


@settings(deadline=None)
@given(st.dictionaries(keys, values, max_size=6))
def test_every_value_has_the_line_it_was_written_on(data: dict[str, object]) -> None:
    text = "\n".join(f"{key} = {written(value)}" for key, value in data.items())
    assert tomllib.loads(text) == data
    lines = locate(text)

    def look(value: object, place: tuple[str | int, ...], line: int) -> None:
        assert lines[place] == line
        if isinstance(value, dict):
            for key, inner in value.items():
                look(inner, (*place, key), line)
        if isinstance(value, list):
            for i, inner in enumerate(value):
                look(inner, (*place, i), line)

    for number, (key, value) in enumerate(data.items(), start=1):
        look(value, (key,), number)
