"""Contours that overlap, so that what lies in what can't be told."""

from __future__ import annotations

import pytest

from nesting import PatternError, read_pattern

SVG = """<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="120mm" viewBox="0 0 200 120">
<g id="front">
<path d="M 0,0 H 100 V 100 H 0 Z"/><path d="M 0,30 H 180 V 70 H 0 Z"/>
<path d="M 150,40 H 170 V 60 H 150 Z"/>
</g></svg>"""


def test_a_contour_inside_one_that_sticks_out_of_another_is_refused(tmp_path):
    file = tmp_path / "pattern.svg"
    file.write_text(SVG)
    with pytest.raises(PatternError, match="inside a contour that overlaps another one"):
        read_pattern(file)
