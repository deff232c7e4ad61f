"""Searches in real worker processes, some of which are killed."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path as FilePath

import pytest

from nesting.marker.lay import Lay, Part, Strip, Turns
from nesting.pattern.path import Path
from nesting.pattern.piece import Piece
from nesting.planning.laying import lay_all
from nesting.planning.pool import Processes, processes
from nesting.search.result import Progress, Result

TURNS = Turns(angles=(0.0, 180.0))


def lay(name: str, sides: tuple[float, ...]) -> Lay:
    """Return a lay of right triangles, two of each size."""
    parts = []
    for side in sides:
        ring = Path.polyline([(0, 0), (side, 0), (0, 0.7 * side)], closed=True)
        piece = Piece(name=f"corner {side:g}", cut=ring)
        parts += [Part(name=f"{side:g} {n}", piece=piece, turns=TURNS) for n in (1, 2)]
    return Lay(name=name, parts=tuple(parts), stock=Strip(width=150.0), spacing=2.0)


LAYS = {
    "a": lay("a", (40.0, 52.0, 61.0, 33.0)),
    "b": lay("b", (45.0, 58.0, 70.0)),
    "c": lay("c", (90.0, 35.0, 48.0, 66.0)),
}


def places(results: dict[str, Result]) -> dict[str, object]:
    return {name: found.marker.placements for name, found in results.items()}


@pytest.fixture(scope="module")
def undisturbed() -> dict[str, Result]:
    with processes(2) as executor:
        return lay_all(LAYS, executor=executor, seconds=None, rounds=3, seed=5)


def worker_of(executor: Processes) -> int:
    pids = [pid for pool in executor._pools for pid in (pool._processes or {})]
    return pids[0]


def test_killing_a_worker_in_the_middle_loses_nothing(undisturbed: dict[str, Result]) -> None:
    killed: list[int] = []
    with processes(2) as executor:

        def kill_once(name: str, progress: Progress) -> None:
            if not killed:
                killed.append(worker_of(executor))
                os.kill(killed[0], signal.SIGKILL)

        results = lay_all(
            LAYS, executor=executor, seconds=None, rounds=3, seed=5, observer=kill_once
        )
    assert killed
    assert places(results) == places(undisturbed)


def test_a_worker_killed_while_idle_is_replaced(undisturbed: dict[str, Result]) -> None:
    with processes(1) as executor:
        lay_all({"b": LAYS["b"]}, executor=executor, seconds=None, rounds=1, seed=5)
        os.kill(worker_of(executor), signal.SIGKILL)
        time.sleep(0.3)
        results = lay_all(LAYS, executor=executor, seconds=None, rounds=3, seed=5)
    assert places(results) == places(undisturbed)


def test_the_number_of_workers_does_not_change_the_markers(
    undisturbed: dict[str, Result],
) -> None:
    with processes(1) as executor:
        results = lay_all(LAYS, executor=executor, seconds=None, rounds=3, seed=5)
    assert places(results) == places(undisturbed)


def test_a_wish_to_stop_is_heard_soon() -> None:
    asked = time.monotonic()
    with processes(1) as executor:
        seen: list[float] = []

        def stop() -> bool:
            return bool(seen)

        def note(name: str, progress: Progress) -> None:
            seen.append(time.monotonic())

        results = lay_all(
            {"a": LAYS["a"]}, executor=executor, seconds=120.0, observer=note, stop=stop
        )
    assert not results["a"].unplaced
    assert time.monotonic() - asked < 60.0


@pytest.mark.skipif(sys.platform != "linux", reason="asks /proc")
def test_workers_do_not_outlive_a_killed_parent(tmp_path: FilePath) -> None:
    script = (
        "import sys, time\n"
        "from test_pool import LAYS, worker_of\n"
        "from nesting.planning.laying import lay_all\n"
        "from nesting.planning.pool import processes\n"
        "with processes(1) as executor:\n"
        "    lay_all({'b': LAYS['b']}, executor=executor, seconds=None, rounds=1)\n"
        "    print(worker_of(executor), flush=True)\n"
        "    time.sleep(100)\n"
    )
    code = f"import sys; sys.path.insert(0, {str(FilePath(__file__).parent)!r})\n{script}"
    process = subprocess.Popen([sys.executable, "-c", code], stdout=subprocess.PIPE, text=True)
    assert process.stdout is not None
    worker = FilePath("/proc") / process.stdout.readline().strip()
    assert worker.is_dir()
    process.kill()
    process.communicate()
    for _ in range(100):
        if not worker.is_dir():
            return
        time.sleep(0.1)
    pytest.fail("the worker lives on")


def test_workers_import_nothing_from_the_working_folder(tmp_path: FilePath) -> None:
    """A folder may hold files with the names of modules: they are not run."""
    for name in ("nesting", "numpy", "random"):
        (tmp_path / f"{name}.py").write_text("open('run.txt', 'w').close()\n", encoding="utf-8")
    script = (
        "from test_pool import LAYS\n"
        "from nesting.planning.laying import lay_all\n"
        "from nesting.planning.pool import processes\n"
        "with processes(1) as executor:\n"
        "    found = lay_all({'b': LAYS['b']}, executor=executor, seconds=None, rounds=1)\n"
        "print(len(found['b'].marker.placements))\n"
    )
    code = f"import sys; sys.path[:1] = [{str(FilePath(__file__).parent)!r}]\n{script}"
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=tmp_path, capture_output=True, text=True, check=False
    )
    assert done.stdout.strip() == "6", done.stderr
    assert not (tmp_path / "run.txt").exists()


def test_a_worker_is_there_before_the_clock_of_a_search_starts() -> None:
    with processes(1) as executor:
        os.kill(worker_of(executor), 0)
