"""The drawings of `draw.py`, for tests that are imported without a package."""

from __future__ import annotations

import importlib.util
from pathlib import Path
from types import ModuleType

import pytest


@pytest.fixture(scope="session")
def draw() -> ModuleType:
    spec = importlib.util.spec_from_file_location("draw", Path(__file__).with_name("draw.py"))
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module
