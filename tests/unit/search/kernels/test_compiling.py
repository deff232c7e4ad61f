"""What is compiled is found again, and made anew when any source of it changes."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

import nesting
from nesting.search.kernels import compiled

LAY = """
from nesting.marker.check import check
from nesting.marker.lay import Lay, Part, Strip, Turns
from nesting.pattern.path import Path
from nesting.pattern.piece import Piece
from nesting.search.prepared.arrays import Capacity
from nesting.search.problem import first_marker, prepare

ring = Path.polyline([(0, 0), (4, 0), (4, 1), (1, 1), (1, 4), (0, 4)], closed=True)
turns = Turns(angles=(0.0, 90.0))
parts = tuple(Part(name=f"{n}", piece=Piece(name="p", cut=ring), turns=turns) for n in range(3))
lay = Lay(name="small", parts=parts, stock=Strip(width=6.0))
problem, _ = prepare(lay, capacity=Capacity(singles=200_000, ints=200_000, hits=2))
world = first_marker(problem, stop=lambda: False).world
world.state.seed(1)
world.set_length(0.9 * world.used_length(world.save()))
world.load(world.save())
world.state.start(20)
ending = world.state.separate(QUOTA)
layout = world.state.layout(least=True)
print(ending.name, world.state.weighed > 0, layout.at.tolist(), layout.shape.tolist())
"""


def run(code: str, **settings: str) -> str:
    """Run some Python on its own and return what it prints."""
    place = {"PYTHONPATH": str(Path(nesting.__file__).parents[1])}
    done = subprocess.run(
        [sys.executable, "-P", "-W", "ignore::RuntimeWarning", "-c", code],
        env=os.environ | place | settings,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr[-2000:]
    return done.stdout


def test_a_search_is_the_same_without_the_compiler() -> None:
    plain = run(LAY.replace("QUOTA", "60"), NUMBA_DISABLE_JIT="1")
    assert plain == run(LAY.replace("QUOTA", "60"))
    assert " True " in plain


def test_every_index_of_a_search_is_in_bounds(tmp_path: Path) -> None:
    """Out of bounds an index is an error here; else it would read or write something else."""
    checked = run(
        LAY.replace("QUOTA", "3000"), NUMBA_BOUNDSCHECK="1", NUMBA_CACHE_DIR=str(tmp_path)
    )
    assert checked == run(LAY.replace("QUOTA", "3000"))
    assert [folder.name.endswith("_checked") for folder in tmp_path.iterdir()] == [True]


@pytest.fixture
def copy(tmp_path: Path) -> Path:
    """Return the kernels of a copy of the program."""
    package = Path(nesting.__file__).parent
    shutil.copytree(package, tmp_path / "nesting", ignore=shutil.ignore_patterns("__pycache__"))
    return tmp_path / "nesting" / "search" / "kernels"


ASK = """
from nesting.search.kernels import caller
print(caller.twice(1.0), len(caller.twice._cache_hits), sum(caller.twice._cache_hits.values()))
"""
CALLER = """
from nesting.search.kernels.callee import once
from nesting.search.kernels.compiled import kernel

@kernel
def twice(x):
    return once(once(x))
"""
CALLEE = """
from nesting.search.kernels.compiled import kernel

@kernel
def once(x):
    return x + {step}
"""


def test_a_change_in_a_callees_file_compiles_its_caller_anew(
    copy: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("NUMBA_CACHE_DIR", raising=False)  # a folder named there goes first
    (copy / "caller.py").write_text(CALLER)
    here = {"PYTHONPATH": str(copy.parents[2])}
    for step, hits in ((1.0, 0), (1.0, 1), (5.0, 0)):
        (copy / "callee.py").write_text(CALLEE.format(step=step))
        assert run(ASK, **here) == f"{1.0 + 2 * step} {hits} {hits}\n"
    folders = [f for f in (copy / "__pycache__").iterdir() if f.is_dir()]
    assert len(folders) == 1  # the former is swept away


BOTH = """
from nesting.search.kernels import callee, caller
from nesting.search.kernels.compiled import folder
def made():
    return sorted(file.name.split("-")[0] for file in folder().glob("*.nbi"))
print(caller.twice(1.0), made(), callee.once(1.0), made())
"""


def test_what_a_kernel_is_made_of_is_compiled_by_itself_only_if_python_calls_it(
    copy: Path, tmp_path: Path
) -> None:
    (copy / "caller.py").write_text(CALLER)
    (copy / "callee.py").write_text(CALLEE.format(step=1.0))
    here = {"PYTHONPATH": str(copy.parents[2]), "NUMBA_CACHE_DIR": str(tmp_path / "made")}
    whole = ["caller.twice"]
    assert run(BOTH, **here) == f"3.0 {whole} 2.0 {['callee.once', *whole]}\n"


WRITTEN_OUT = """
from nesting.search.kernels.callee import once
from nesting.search.kernels.compiled import kernel

@kernel
def both(n):
    return once(n) + once(2)
"""
TRANSLATED = """
from nesting.search.kernels import callee, caller
print(caller.both(1), len(callee.once._part.overloads))
"""


def test_a_number_that_is_written_out_is_no_reason_to_translate_a_kernel_again(
    copy: Path, tmp_path: Path
) -> None:
    (copy / "caller.py").write_text(WRITTEN_OUT)
    (copy / "callee.py").write_text(CALLEE.format(step=1.0))
    here = {"PYTHONPATH": str(copy.parents[2]), "NUMBA_CACHE_DIR": str(tmp_path / "made")}
    assert run(TRANSLATED, **here) == "5.0 1\n"


def test_what_is_compiled_goes_to_the_users_cache_where_the_sources_cant_be_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    blocked = tmp_path / "kernels"
    blocked.mkdir()
    (blocked / "__pycache__").write_text("not a folder")
    (blocked / "one.py").write_text("x = 1\n")
    monkeypatch.setattr(compiled, "_SOURCES", blocked)
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "mine"))
    monkeypatch.setattr(compiled.config, "CACHE_DIR", "")
    found = compiled.folder.__wrapped__()
    assert found is not None
    assert found.parent == tmp_path / "mine" / "thriftlay"
    (blocked / "one.py").write_text("x = 2\n")
    assert compiled.folder.__wrapped__() != found
