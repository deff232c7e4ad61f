"""What is drawn inside the outlines of a scan: grain arrows, seams; the rest is told."""

from __future__ import annotations

from pathlib import Path

import cv2
import numpy as np
import pytest

from benchmarks.photographed import renders
from benchmarks.photographed.renders import Scanner, box, placed
from nesting.pattern.measure import area, bounds
from nesting.reading.pattern_file import Found, Pattern
from nesting.reading.pictures.overlay import write_overlay
from nesting.reading.read import Reference, read_pattern

SCANNER = Scanner(size=(1100, 900))
INK = (20, 20, 20)


def pixel(x: float, y: float) -> tuple[int, int]:
    """Return where a place of the paper (mm, y up) lies in the scan."""
    ((column, row),) = np.rint(SCANNER.seen(np.array([[x, y]]))).astype(int)
    return int(column), int(row)


def scanned(tmp_path: Path, lines: list[tuple[float, float, float, float]], word: str) -> Pattern:
    """Read a panel of 120 by 100 mm on which lines (mm) and a word are drawn."""
    things = [
        *renders.stroke(placed(box(120, 100), 10, 20), 0.6),
        *renders.stroke(placed(box(20, 20), 150, 20), 0.5),
    ]
    pixels = renders.render(SCANNER, things, ground=(250, 249, 246), noise=2.0).copy()
    for x0, y0, x1, y1 in lines:
        cv2.line(pixels, pixel(x0, y0), pixel(x1, y1), INK, 3, cv2.LINE_AA)
    if word:
        font = cv2.FONT_HERSHEY_SIMPLEX
        cv2.putText(pixels, word, pixel(30, 90), font, 1.0, INK, 2, cv2.LINE_AA)
    path = tmp_path / "scan.png"
    path.write_bytes(renders.saved(pixels))
    return read_pattern(path, reference=Reference(name="2 cm square"))


def arrow(x: float, y0: float, y1: float) -> list[tuple[float, float, float, float]]:
    """Return an upright arrow, its head at the second end."""
    back = y1 - 4.0 * np.sign(y1 - y0)
    return [(x, y0, x, y1), (x - 3.0, back, x, y1), (x + 3.0, back, x, y1)]


def told(pattern: Pattern, kind: str) -> list[str]:
    return [finding.text for finding in pattern.findings if finding.kind == kind]


def panel(pattern: Pattern) -> Found:
    (found,) = pattern.found
    assert area(found.piece.cut) == pytest.approx(120.0 * 100.0, rel=0.005)
    assert not found.piece.holes
    return found


@pytest.mark.parametrize(("ends", "up"), [((40.0, 90.0), 90.0), ((90.0, 40.0), 270.0)])
def test_an_arrow_is_the_grain_and_its_head_is_up(
    tmp_path: Path, ends: tuple[float, float], up: float
) -> None:
    found = panel(scanned(tmp_path, arrow(70.0, *ends), ""))
    assert found.up_known
    assert found.piece.grain % 360.0 == pytest.approx(up, abs=1.0)


def test_an_arrow_with_two_heads_is_the_grain_and_says_not_what_is_up(tmp_path: Path) -> None:
    two = arrow(70.0, 40.0, 90.0) + arrow(70.0, 90.0, 40.0)[1:]
    found = panel(scanned(tmp_path, two, ""))
    assert not found.up_known
    assert found.piece.grain % 180.0 == pytest.approx(90.0, abs=1.0)


def test_a_plain_line_and_words_are_no_grain_and_told(tmp_path: Path) -> None:
    pattern = scanned(tmp_path, [(70.0, 40.0, 70.0, 80.0)], "CUT")
    assert told(pattern, "grain")
    assert not panel(pattern).up_known
    (text,) = told(pattern, "unread")
    assert text.startswith("not read: 2 word(s), line(s) or mark(s)")
    assert pattern.shown is not None
    assert len(pattern.shown.unread) == 2
    write_overlay(pattern.shown, pattern.found, tmp_path / "shown.png")


def dashes(at: tuple[float, float, float, float]) -> list[tuple[float, float, float, float]]:
    """Return a rectangle (mm) drawn in dashes of 4 mm with gaps of 2.5."""
    x0, y0, x1, y1 = at
    out = []
    for a, b in (
        ((x0, y0), (x1, y0)),
        ((x1, y0), (x1, y1)),
        ((x1, y1), (x0, y1)),
        ((x0, y1), (x0, y0)),
    ):
        long = float(np.hypot(b[0] - a[0], b[1] - a[1]))
        way = np.array([b[0] - a[0], b[1] - a[1]]) / long
        for t in np.arange(0.0, long - 0.5, 6.5):
            ends = [np.array(a) + way * t, np.array(a) + way * min(t + 4.0, long)]
            out.append((*map(float, ends[0]), *map(float, ends[1])))
    return out


@pytest.mark.parametrize("hem", [10.0, 25.0])
def test_a_dashed_seam_is_read_and_no_cut_out(tmp_path: Path, hem: float) -> None:
    pattern = scanned(tmp_path, dashes((20.0, 30.0, 120.0, 120.0 - hem)), "FRONT")
    found = panel(pattern)
    assert found.piece.sew is not None
    x0, y0, x1, y1 = bounds(found.piece.sew)
    assert (x1 - x0, y1 - y0) == pytest.approx((100.0, 90.0 - hem), abs=0.6)
    assert len(told(pattern, "unread")) == 1


def test_where_a_pocket_is_placed_in_dashes_nothing_is_cut_out(tmp_path: Path) -> None:
    found = panel(scanned(tmp_path, dashes((35.0, 35.0, 105.0, 80.0)), ""))
    assert found.piece.sew is None
    assert any(mark.path is not None for mark in found.piece.marks)


def test_a_line_drawn_parallel_in_one_go_is_the_seam(tmp_path: Path) -> None:
    at = (20.0, 30.0, 120.0, 110.0)
    sides = [(at[0], at[1], at[2], at[1]), (at[2], at[1], at[2], at[3])]
    sides += [(at[2], at[3], at[0], at[3]), (at[0], at[3], at[0], at[1])]
    found = panel(scanned(tmp_path, sides, ""))
    assert found.piece.sew is not None
    assert area(found.piece.sew) == pytest.approx(100.0 * 80.0, rel=0.01)
