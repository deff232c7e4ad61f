"""Searches in real worker processes, some of which are killed."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from dataclasses import replace
from pathlib import Path as FilePath

import pytest

from nesting.marker.lay import Lay, Part, Strip, Turns
from nesting.pattern.path import Path
from nesting.pattern.piece import Piece
from nesting.planning.running.laying import lay_all
from nesting.planning.running.pool import Processes, processes
from nesting.planning.running.run import Run
from nesting.planning.running.worker import SearchTask
from nesting.search.result import Limits, Progress, Result

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
        return lay_all(LAYS, Run(executor=executor, rounds=3, seed=5))


def worker_of(executor: Processes) -> int:
    return executor.numbers()[0]


def test_killing_a_worker_in_the_middle_loses_nothing(undisturbed: dict[str, Result]) -> None:
    killed: list[int] = []
    with processes(2) as executor:

        def kill_once(progress: Progress) -> None:
            if not killed:
                killed.append(worker_of(executor))
                os.kill(killed[0], signal.SIGKILL)

        results = lay_all(LAYS, Run(executor=executor, rounds=3, seed=5, observer=kill_once))
    assert killed
    assert places(results) == places(undisturbed)


def test_a_worker_killed_while_idle_is_replaced(undisturbed: dict[str, Result]) -> None:
    with processes(1) as executor:
        lay_all({"b": LAYS["b"]}, Run(executor=executor, rounds=1, seed=5))
        os.kill(worker_of(executor), signal.SIGKILL)
        time.sleep(0.3)
        results = lay_all(LAYS, Run(executor=executor, rounds=3, seed=5))
    assert places(results) == places(undisturbed)


def test_the_number_of_workers_does_not_change_the_markers(
    undisturbed: dict[str, Result],
) -> None:
    with processes(1) as executor:
        results = lay_all(LAYS, Run(executor=executor, rounds=3, seed=5))
    assert places(results) == places(undisturbed)


def test_a_wish_to_stop_is_heard_soon() -> None:
    asked = time.monotonic()
    with processes(1) as executor:
        seen: list[str] = []

        def stop() -> bool:
            return bool(seen)

        def note(progress: Progress) -> None:
            seen.append(progress.lay)

        results = lay_all(
            {"a": LAYS["a"]}, Run(executor=executor, seconds=120.0, observer=note, stop=stop)
        )
    assert set(seen) == {"a"}
    assert not results["a"].unplaced
    assert time.monotonic() - asked < 60.0


class Deep:
    """A worker deep in one long call, as the pool sees it."""

    def __init__(self, said: list[object]) -> None:
        self.said = said

    def hang_up(self) -> None:
        self.said.append("hang up")

    def end(self, *, until: float) -> None:
        self.said.append(until)


def test_workers_do_not_wait_for_one_another_to_end() -> None:
    """Sixteen that are deep in long calls had a second each, one after another."""
    said: list[object] = []
    pool = Processes(0)
    pool._workers = [Deep(said) for _ in range(3)]  # type: ignore[misc]
    now = time.monotonic()
    pool.close()
    assert said[:3] == ["hang up"] * 3
    (until,) = set(said[3:])
    assert isinstance(until, float)
    assert until - now < 60.0


SEARCHING = f"""
import sys
sys.path.insert(0, {str(FilePath(__file__).parent)!r})
from test_pool import LAYS
from nesting.planning.running.laying import lay_all
from nesting.planning.running.run import Run
from nesting.planning.running.pool import processes
with processes(2) as executor:
    print(*executor.numbers(), flush=True)
    lay_all(LAYS, Run(executor=executor, seconds=100.0, observer=lambda *_: print(flush=True)))
"""


def children(number: int) -> list[int]:
    """Return all processes below one."""
    found: list[int] = []
    for task in FilePath(f"/proc/{number}/task").glob("*/children"):
        for child in map(int, task.read_text().split()):
            found += [child, *children(child)]
    return found


def alive(number: int) -> bool:
    try:
        stat = FilePath(f"/proc/{number}/stat").read_text()
    except (FileNotFoundError, ProcessLookupError):
        return False
    return stat.rpartition(")")[2].split()[0] != "Z"


@pytest.mark.skipif(sys.platform != "linux", reason="asks /proc")
@pytest.mark.parametrize("searching", [True, False])
def test_nothing_is_left_of_a_killed_parent(searching: bool, tmp_path: FilePath) -> None:
    """Killed while it searches, or while its workers are still being got ready."""
    process = subprocess.Popen(
        [sys.executable, "-c", SEARCHING],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        env={**os.environ, "TMPDIR": str(tmp_path)},
    )
    assert process.stdout is not None
    if searching:
        process.stdout.readline()
        process.stdout.readline()
    while not (below := children(process.pid)):
        time.sleep(0.01)
    assert len(below) == (3 if searching else 1)
    for number in (process.pid, *below):  # nothing is shared that could be left in memory
        assert "/dev/shm" not in FilePath(f"/proc/{number}/maps").read_text()
    process.kill()
    _, error = process.communicate()
    for _ in range(100):
        if not any(map(alive, below)):
            break
        time.sleep(0.1)
    assert not any(map(alive, below))
    assert list(tmp_path.iterdir()) == []
    assert "Traceback" not in error


@pytest.mark.skipif(sys.platform != "linux", reason="asks /proc")
def test_no_worker_is_left_when_the_block_ends_in_the_midst_of_a_search() -> None:
    with processes(2) as executor:
        numbers = executor.numbers()
        executor.submit(SearchTask(name="a", lay=LAYS["a"], limits=Limits(seconds=100.0), seed=1))
    assert not any(map(alive, numbers))


def test_what_a_search_ends_with_is_told_where_it_came_from() -> None:
    with processes(1) as executor:
        task = SearchTask(name="a", lay=None, limits=Limits(rounds=1), seed=1)  # type: ignore[arg-type]
        with pytest.raises(AttributeError) as told:
            executor.submit(task).result(60)
        assert "solve.py" in told.value.__notes__[0]
        assert not executor.submit(replace(task, lay=LAYS["a"])).result(60).unplaced


def test_workers_import_nothing_from_the_working_folder(tmp_path: FilePath) -> None:
    """A folder may hold files with the names of modules: they are not run."""
    for name in ("nesting", "numpy", "random"):
        (tmp_path / f"{name}.py").write_text("open('run.txt', 'w').close()\n", encoding="utf-8")
    script = (
        "from test_pool import LAYS\n"
        "from nesting.planning.running.laying import lay_all\n"
        "from nesting.planning.running.pool import processes\n"
        "from nesting.planning.running.run import Run\n"
        "with processes(1) as executor:\n"
        "    found = lay_all({'b': LAYS['b']}, Run(executor=executor, rounds=1))\n"
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


@pytest.mark.skipif(sys.platform != "linux", reason="workers are forked on Linux alone")
def test_searches_let_others_go_first_where_somebody_waits_for_answers() -> None:
    code = (
        "import os\n"
        "from nesting import processes\n"
        "from nesting.planning.running.server import start_server\n"
        "start_server(behind={})\n"
        "with processes(1) as workers:\n"
        "    print(*[os.getpriority(os.PRIO_PROCESS, n) for n in (0, *workers.numbers())])\n"
    )
    for behind in (False, True):
        asked = [sys.executable, "-c", code.format(behind)]
        told = subprocess.run(asked, capture_output=True, text=True, check=True).stdout.split()
        mine, theirs = map(int, told)
        assert theirs == (max(mine, 10) if behind else mine)
