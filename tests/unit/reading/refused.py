"""What becomes of a file that cannot be read: one line."""

from __future__ import annotations

import pytest

from nesting.errors import PatternError
from nesting.reading.read import read_pattern


def refusal(path) -> str:
    with pytest.raises(PatternError) as told:
        read_pattern(path)
    text = str(told.value)
    assert "\n" not in text
    assert len(text) < 600
    return text


def one_line_or_none(path) -> bool:
    """Tell whether a file is read, or refused in one line."""
    try:
        read_pattern(path)
    except PatternError as trouble:
        return "\n" not in str(trouble)
    return True
