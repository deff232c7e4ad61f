"""The picture of goods on the page: where it lies there, as the SVG file has it."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest

from nesting import JobError
from nesting.pattern.svg_path import parse_path
from nesting.writing.neutral.draw import draw_entry
from nesting.writing.pages.live.marker import live_ground, live_marker
from nesting.writing.pages.live.shown import picture_called
from nesting.writing.svg import svg
from tests.unit.job.test_pictures import CLOTH, HIDE, LEATHER, PRINT, png
from tests.unit.writing.test_shown_goods import plan_of


def test_a_print_comes_again_where_its_motifs_are(tmp_path: Path) -> None:
    """Red becomes blue in the middle of a motif: at 10, 20 and each 64 on, or half of it."""
    entry = plan_of(tmp_path, CLOTH, PRINT).entries[0]
    shown: Any = live_marker(entry)["shown"]
    assert shown == live_ground(entry)["shown"]
    a, b, c, d, e, f = shown["matrix"]
    (wide, high), size = shown["tile"], shown["size"]
    assert ((wide, high), size) == ((64, 64), [64, 32])
    middles = set()
    for x, y in shown["places"]:
        for row in range(-3, 3):
            u, v = x + size[0] / 2, y + size[1] / 2 + row * high
            middles.add((round((a * u + c * v + e) % 64, 6), round(-(b * u + d * v + f), 6)))
    assert {(10, 20), (42, 52), (10, 84)} <= middles
    assert {x for x, y in middles if (y - 20) % 64 == 0} == {10}
    assert {x for x, y in middles if (y - 20) % 64 == 32} == {42}
    assert picture_called(shown["is"], [entry]) == ("png", png())
    with pytest.raises(JobError, match="no such picture"):
        picture_called("../job.toml", [entry])


def test_a_hide_is_shown_once_as_in_the_file(tmp_path: Path) -> None:
    entry = plan_of(tmp_path, LEATHER, HIDE + "backbone = 90\n").entries[0]
    shown: Any = live_ground(entry)["shown"]
    assert (shown["tile"], shown["places"], shown["size"]) == (None, [[0, 0]], [820, 510])
    (drawing,) = draw_entry(entry)
    of_file = re.search(r"matrix\((.*?)\)", svg(drawing))
    assert of_file is not None
    # The file has its own corner; what turns and scales is the same.
    assert list(map(float, of_file[1].split()))[:4] == pytest.approx(shown["matrix"][:4])
    (within,) = parse_path(shown["within"])
    assert min(x for x, _ in within.points(0.1)) == pytest.approx(0.0)
