"""The drawings of `draw.py`, for tests that are imported without a package."""

from __future__ import annotations

from types import ModuleType

import pytest

from tests.unit.reading.pdf import draw as drawings


@pytest.fixture(scope="session")
def draw() -> ModuleType:
    return drawings
