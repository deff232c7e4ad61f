"""Where texts lie: by the widths of Helvetica in Adobe's font metrics, which matplotlib carries."""

from __future__ import annotations

import re
from pathlib import Path

import matplotlib
import pytest

from nesting.pattern.marks.capitals import CAPITALS
from nesting.pattern.piece import Mark, MarkKind
from nesting.reading.pieces.lettered import middle_of
from nesting.reading.read import read_pattern

TEXT = "sew to canvas"


def width(text: str, height: float) -> float:
    """Return the width of a text by the font's metrics, capitals of this height."""
    fonts = Path(matplotlib.get_data_path()) / "fonts" / "pdfcorefonts"
    rows = re.findall(r"^C (\d+) ; WX (\d+) ;", (fonts / "Helvetica.afm").read_text(), re.MULTILINE)
    widths = {int(code): int(wide) for code, wide in rows}
    return sum(widths[ord(c)] for c in text) / 1000.0 * height / CAPITALS


@pytest.mark.parametrize(("along", "up"), [(0.0, 0.0), (0.5, 0.5), (1.0, 1.0), (0.0, 2.0)])
def test_the_middle_of_a_line(along, up):
    at = middle_of(TEXT, (10.0, 20.0), height=7.0, angle=0.0, along=along, up=up)
    assert at == pytest.approx((10 + (0.5 - along) * width(TEXT, 7.0), 20 + (0.5 - up) * 7.0))


def test_a_line_that_runs_upwards():
    at = middle_of(TEXT, (10.0, 20.0), height=7.0, angle=90.0, along=0.0, up=0.0)
    assert at == pytest.approx((10 - 3.5, 20 + 0.5 * width(TEXT, 7.0)))


def text_of(tmp_path: Path, style: str, attributes: str = "") -> Mark:
    file = tmp_path / "bag.svg"
    file.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="400mm" height="300mm" '
        'viewBox="0 0 400 300">'
        f"<style>text{{{style}}}</style>"
        '<rect class="cut" x="20" y="20" width="300" height="200"/>'
        f'<text x="150" y="100" {attributes}>{TEXT}</text></svg>',
        encoding="utf-8",
    )
    (piece,) = read_pattern(file).pieces
    (mark,) = [mark for mark in piece.marks if mark.kind is MarkKind.TEXT]
    assert mark.at is not None
    return mark


@pytest.mark.parametrize(
    ("anchor", "along"), [("", 0.0), ("text-anchor:middle", 0.5), ("text-anchor:end", 1.0)]
)
def test_a_text_of_a_drawing_is_written_where_it_stood(tmp_path, anchor, along):
    mark = text_of(tmp_path, f"font-size:10px;{anchor}")
    assert mark.size == pytest.approx(10 * CAPITALS)
    expected = 150 + (0.5 - along) * width(TEXT, mark.size)
    assert mark.at[0] == pytest.approx(expected, abs=1e-6)


@pytest.mark.parametrize(
    "style", ["font:10px sans-serif", "font: italic 700 10px/1.2 serif", "font:bold 10px 'A B'"]
)
def test_the_size_within_the_font(tmp_path, style):
    assert text_of(tmp_path, style).size == pytest.approx(10 * CAPITALS)
