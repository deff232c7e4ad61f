from __future__ import annotations

import pkgutil
import subprocess
import sys

import pytest

import nesting


def test_every_public_name_loads_and_stands_once() -> None:
    assert len(set(nesting.__all__)) == len(nesting.__all__)
    for name in nesting.__all__:
        assert getattr(nesting, name) is not None


def test_no_public_name_is_hidden_by_a_room_of_its_name() -> None:
    rooms = {module.name for module in pkgutil.iter_modules(nesting.__path__)}
    assert rooms.isdisjoint(nesting.__all__)


def test_an_unknown_name_is_refused() -> None:
    with pytest.raises(AttributeError, match="no_such_name"):
        nesting.no_such_name  # noqa: B018


def test_importing_the_package_loads_no_heavy_library() -> None:
    code = (
        "import sys, nesting;"
        "heavy = {'numba', 'ortools', 'highspy', 'ezdxf', 'matplotlib', 'shapely', 'numpy'};"
        "print(sorted(heavy & set(sys.modules)))"
    )
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert run.stdout.strip() == "[]"
