"""What an SVG drawing was read as, picked out for the tests."""

from __future__ import annotations

MM = 'width="1000mm" height="800mm" viewBox="0 0 1000 800"'

RECT = '<rect x="100" y="100" width="300" height="200"/>'


def only(pattern):
    assert len(pattern.pieces) == 1
    return pattern.pieces[0]


def size(pattern) -> tuple[float, float]:
    return pattern.largest


def only_of(pattern):
    only(pattern)
    return pattern
