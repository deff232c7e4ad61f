"""SVG drawings for the tests, as bytes that are read."""

from __future__ import annotations

import pytest

from nesting.reading.read import read_pattern
from tests.unit.reading.svg.drawn import MM


@pytest.fixture
def svg(saved):
    def read(body: str, head: str = MM, **options):
        text = f'<svg xmlns="http://www.w3.org/2000/svg" {head}>{body}</svg>'
        return read_pattern(saved(text, "pattern.svg"), **options)

    return read
