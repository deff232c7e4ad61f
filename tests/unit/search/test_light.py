"""What a search starts with is light: what only lays of boxes need is loaded with those."""

from __future__ import annotations

import subprocess
import sys


def test_what_decides_boxes_is_not_loaded_before_there_are_any() -> None:
    """It took two fifths of the time in which a worker begins."""
    code = "import sys, nesting.search.solve; print(*{n.split('.')[0] for n in sys.modules})"
    told = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    loaded = set(told.stdout.split())
    assert "numba" in loaded
    assert loaded.isdisjoint({"ortools", "pandas"})
