"""Job files torn and twisted: each is read, or refused in one line, and nothing else happens."""

from __future__ import annotations

from pathlib import Path as FilePath

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from nesting.errors import JobError
from nesting.job.file import parse_job
from nesting.planning.lay.lays import lays

SAMPLES = FilePath(__file__).parents[2] / "sample_markers"

TEXT = """\
[job]
name = "Pouch"
unit = "cm"
[[piece]]
name = "front"
outline = "M 0,0 L 200,0 C 200,60 150,100 100,100 A 40,40 0 0,1 0,40 Z"
line = "sewing"
seam_allowance = { all = "10 mm", 2 = 0 }
grain = "across"
fold_back = [[0, 6], [20, 6]]
named_points = { a = [1, 1], b = [19, 1] }
[[piece.mark]]
kind = "notch"
at = [10, 0]
copies = 1
[[piece]]
name = "flap"
rectangle = ["6 cm", "4 cm"]
fold_edge = "left"
[[cloth]]
name = "canvas"
widths = ["90 cm", { booked = "140 cm", usable = "137 cm", price = 12 }]
nap = "one-way"
print = { along = "8 cm", across = 6, drop = 0.5 }
shrinkage = { along = "4 %", cut_larger = true }
[[leather]]
name = "calf"
[[leather.hide]]
name = "hide 1"
points = [[0, 0], [60, 0], [70, 50], [0, 60]]
[[leather.hide.zone]]
grade = "B"
rectangle = [30, 40]
tight = 20
[[cut]]
piece = "front"
material = "canvas"
copies = 2
pairs = true
matches = { point = "a", piece = "front", to = "b" }
[[cut]]
piece = "flap"
material = "canvas"
centred = true
[[cut]]
piece = "front"
material = "calf"
trimmed = true
gap = 0.1
grade = "B"
mates = true
"""
LINES = TEXT.splitlines()

VALUES = [
    "0",
    "-1",
    "1",
    "1e9",
    "1e308",
    "nan",
    "-inf",
    "true",
    '""',
    '"x"',
    '"1/0 in"',
    '"any"',
    "[]",
    "{}",
    "[[]]",
    "[[0, 0], [1, 1]]",
    "[[0, 0], [0, 0]]",
    "{ a = 1 }",
    "2026-01-01",
    '"M 0 0"',
    '"M 0 0 L 1 0 L 1 1 Z"',
    '"flap"',
    '"canvas"',
    "9" * 30,
]


def test_the_whole_one_is_good() -> None:
    assert len(lays(parse_job(TEXT))) == 2


def outcome(text: str) -> None:
    try:
        lays(parse_job(text, file="job.toml"))
    except JobError as error:
        message = str(error)
        assert message.startswith("job.toml")
        assert message.isprintable()
        assert len(message) < 500


@settings(deadline=None, max_examples=150, suppress_health_check=[HealthCheck.too_slow])
@given(st.sampled_from(range(len(LINES))), st.sampled_from(VALUES))
def test_another_value(number: int, value: str) -> None:
    key = LINES[number].partition("=")[0]
    line = f"{key}= {value}" if "=" in LINES[number] else LINES[number]
    outcome("\n".join([*LINES[:number], line, *LINES[number + 1 :]]))


@settings(deadline=None, max_examples=60)
@given(st.sets(st.sampled_from(range(len(LINES))), min_size=1, max_size=4))
def test_lines_left_out(missing: set[int]) -> None:
    outcome("\n".join(line for i, line in enumerate(LINES) if i not in missing))


@settings(deadline=None, max_examples=60)
@given(st.permutations(range(len(LINES))))
def test_lines_in_another_order(order: list[int]) -> None:
    outcome("\n".join(LINES[i] for i in order))


@settings(deadline=None, max_examples=100)
@given(st.integers(0, len(TEXT)), st.integers(0, 30), st.text(max_size=12))
def test_text_torn_and_stuffed(at: int, gone: int, put: str) -> None:
    outcome(TEXT[:at] + put + TEXT[at + gone :])
