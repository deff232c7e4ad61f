"""Whatever is wrong with a job file is told in one line: what, where, what to do."""

from __future__ import annotations

from pathlib import Path as FilePath

import pytest

from nesting.errors import JobError
from nesting.job.file import parse_job, read_job
from nesting.planning.lay.lays import lays
from tests.unit.job.bad_goods import GOODS
from tests.unit.job.bad_pieces import PIECES
from tests.unit.job.bad_words import WORDS
from tests.unit.job.good_job import GOOD


def complaint(text: str) -> JobError:
    """Return the error that a job text gives, from reading or from its lays."""
    with pytest.raises(JobError) as caught:
        lays(parse_job(text, file="pouch.toml"))
    message = str(caught.value)
    assert "\n" not in message
    assert message.isprintable()
    assert len(message) < 320
    assert message.startswith("pouch.toml")
    return caught.value


def changed(old: str, new: str) -> str:
    assert GOOD.count(old) >= 1, old
    return GOOD.replace(old, new, 1)


def line_of(text: str, part: str) -> int:
    return text[: text.index(part)].count("\n") + 1


def test_the_good_one_is_good() -> None:
    assert [lay.name for lay in lays(parse_job(GOOD))] == [
        "canvas",
        "lining",
        "foam",
        "hide leather",
    ]


CASES = WORDS | PIECES | GOODS


@pytest.mark.parametrize("case", CASES)
def test_bad_input(case: str) -> None:
    old, new, says, field, mark = CASES[case]
    text = changed(old, new)
    error = complaint(text)
    assert error.what
    assert says in str(error)
    if field is not None:
        assert (error.field or "") == field
    if mark is not None:
        assert error.line == line_of(text, mark)


def test_fold_back_line_beside_the_piece() -> None:
    text = changed("[[0, 100], [200, 100]]", "[[0, 300], [200, 300]]")
    text = text.replace("trimmed = true", "folded_back = true")
    error = complaint(text)
    assert "doesn't cross" in error.what
    assert error.field == "cut[2].folded_back"


def test_everything_folded_away() -> None:
    text = changed("[[0, 100], [200, 100]]", "[[0, -10], [200, -10]]")
    text = text.replace("trimmed = true", "folded_back = true")
    assert "nothing is left" in complaint(text).what


def test_no_motif_within_the_cloth() -> None:
    """Motifs 60 mm apart, the first 5 mm from the edge; a piece 150 mm wide on 155 mm."""
    text = changed('width = "140 cm"', 'width = "16 cm"\nusable = "155 mm"')
    text = text.replace('across = "6 cm"', 'across = "6 cm", origin = [0, "5 mm"]')
    centred = text.replace('material = ["canvas", "lining"]', 'material = "canvas"\ncentred = true')
    assert lays(parse_job(text))
    error = complaint(centred)
    assert "no motif of the print" in error.what
    assert error.field == "piece.front"


CHAIN = """\
[job]
name = "Panels"

[[piece]]
name = "left"
rectangle = [100, 100]
named_points = { top = [100, 90], low = [100, 10] }

[[piece]]
name = "right"
rectangle = [100, 100]
named_points = { top = [0, 90], low = [0, SHIFT] }

[[cloth]]
name = "stripe"
width = "140 cm"
print = { across = 40 }
nap = "one-way"

[[cut]]
piece = "left"
material = "stripe"
matches = { point = "top", piece = "right", to = "top" }

[[cut]]
piece = "right"
material = "stripe"
matches = { point = "low", piece = "left", to = "low" }
"""


@pytest.mark.parametrize("shift", ["10", "50"])
def test_matches_that_agree(shift: str) -> None:
    """The second match asks for the same shift as the first, give or take whole repeats."""
    (lay,) = lays(parse_job(CHAIN.replace("SHIFT", shift)))
    assert {part.binding.phase for part in lay.parts if part.binding} == {"Panels 1: left right"}


def test_matches_that_contradict_each_other() -> None:
    text = CHAIN.replace("SHIFT", "25")
    error = complaint(text)
    assert "contradict" in error.what
    assert error.field in ("piece.left", "piece.right")
    assert error.line in (line_of(text, 'name = "left"') - 1, line_of(text, 'name = "right"') - 1)


def test_match_to_a_piece_of_another_cloth() -> None:
    text = CHAIN.replace("SHIFT", "10").replace(
        'piece = "right"\nmaterial = "stripe"\nmatches', 'piece = "right"\nmaterial = "plain"\n#'
    )
    error = complaint(text + '\n[[cloth]]\nname = "plain"\nwidth = 1000\n')
    assert "not cut from stripe" in error.what


def test_print_out_of_reach_is_not_hidden_by_another_width() -> None:
    """A piece that fits one of two widths is laid; one that fits none is refused."""
    wide = changed('rectangle = ["20 cm", "15 cm"]', 'rectangle = ["20 cm", "100 cm"]')
    wide = wide.replace('size = ["50 cm", "40 cm"]', 'size = ["2 m", "2 m"]')
    assert lays(parse_job(wide))


# Hostile files: refused quickly, in one line, without a traceback.


@pytest.mark.parametrize(
    "text",
    [
        "a = " + "[" * 100_000,
        "a = " + "[" * 5_000 + "]" * 5_000,
        "a = " + "{b=" * 5_000,
        "a" + ".a" * 5_000 + " = 1",
        "[" + "a." * 5_000 + "a]",
        "x = " + "9" * 100_000,
        "[job]\nname = 9e999",
        "\x00",
        '[job]\nname = "\x1b[31m"',
        "\ud7ff = 1",
        "",
        "[job]\nname = 'x'\nbags = " + "9" * 4000,
        "[job]\nname = 'x'\n[[piece]]\nname='y'\ncircle = 1e308",
        "[job]\nname = 'x'\n[[piece]]\nname='y'\npoints = [[0,0],[1e308,0],[0,1e308]]",
        "[job]\nname = 'x'\n[[piece]]\nname='y'\noutline = 'M 0 0 L 1e308 0 L 0 1e308 Z'",
        "[job]\nname = 'x'\n[[piece]]\nname='y'\noutline = '" + "M 0 0 " * 20_000 + "'",
        "[job]\nname = 'x'\n" + "[[piece]]\nname = 'y'\ncircle = 5\n" * 500,
        '"\\u202e" = 1',
    ],
    ids=lambda text: repr(text[:40]),
)
def test_hostile_text(text: str) -> None:
    complaint(text)


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"\xff\xfe[\x00j\x00", "UTF-8"),
        (bytes(range(256)) * 100, "UTF-8"),
        (b"PK\x03\x04 not a job", "not valid TOML"),
    ],
)
def test_files_that_are_no_text(tmp_path: FilePath, data: bytes, says: str) -> None:
    path = tmp_path / "job.toml"
    path.write_bytes(data)
    with pytest.raises(JobError, match=says) as caught:
        read_job(path)
    assert "\n" not in str(caught.value)


def test_files_that_are_none(tmp_path: FilePath) -> None:
    with pytest.raises(JobError, match="no such file"):
        read_job(tmp_path / "none.toml")
    with pytest.raises(JobError, match="folder"):
        read_job(tmp_path)
    with pytest.raises(JobError, match="not usable"):
        read_job("a\0b.toml")


def test_a_byte_order_mark_and_other_line_ends_are_no_trouble(tmp_path: FilePath) -> None:
    path = tmp_path / "job.toml"
    path.write_bytes(b"\xef\xbb\xbf" + GOOD.replace("\n", "\r\n").encode())
    assert read_job(path).name == "Pouch"


def test_the_file_of_an_include_is_named(tmp_path: FilePath) -> None:
    (tmp_path / "more.toml").write_text('unit = "cm"\n\n[[piece]]\nname = "x"\ncirle = 5\n')
    path = tmp_path / "job.toml"
    path.write_text('include = "more.toml"\n' + GOOD)
    with pytest.raises(JobError) as caught:
        read_job(path)
    assert caught.value.file == str(tmp_path / "more.toml")
    assert caught.value.line == 5
    assert caught.value.field == "piece.x.cirle"
