from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from dataclasses import replace
from pathlib import Path as FilePath

import pytest

from nesting.errors import NestingError
from nesting.marker.lay import Lay, Part, Sheet, Sheets, Strip
from nesting.marker.marker import Marker, Placement
from nesting.pattern.path import Path
from nesting.pattern.piece import Hand, Mark, MarkKind, Piece
from nesting.pattern.shapes import rectangle
from nesting.planning.running.laying import lay_all
from nesting.planning.running.run import Run
from nesting.planning.running.store import Store
from nesting.planning.running.worker import SearchTask
from nesting.quantity import of_length
from nesting.search.result import Progress, Result, Stopped

PIECE = Piece(
    name="square",
    cut=Path.polyline([(0, 0), (100, 0), (100, 100), (0, 100)], closed=True),
    marks=(
        Mark(
            kind=MarkKind.DRILL,
            at=(50, 50),
            hands=frozenset(Hand),
            materials=frozenset({"felt", "canvas", "foam"}),
        ),
    ),
)


def lay(name: str, parts: int) -> Lay:
    return Lay(
        name=name,
        parts=tuple(Part(name=f"square {i}", piece=PIECE) for i in range(parts)),
        stock=Strip(width=100),
    )


def result(task: SearchTask, length: float, stopped: Stopped = Stopped.TIME) -> Result:
    marker = Marker(
        lay=task.lay,
        placements=tuple(Placement(part=i, x=100.0 * i, y=0) for i in range(len(task.lay.parts))),
    )
    return Result(
        marker=marker,
        stopped=stopped,
        bound=of_length(1.0),
        seconds=0.0,
        first_seconds=0.0,
        rounds=1,
        seed=task.seed,
        workers=1,
        history=((0.0, length),),
    )


class Pretended:
    """An executor of threads whose searches are given functions."""

    def __init__(self, slots: int, search: Callable[[SearchTask], Result]) -> None:
        self.slots = slots
        self.search = search
        self.tasks: list[SearchTask] = []
        self.stopped = False
        self._pool = ThreadPoolExecutor(slots)

    def submit(self, task: SearchTask) -> Future[Result]:
        self.tasks.append(task)
        return self._pool.submit(self.search, task)

    def progress(self) -> Iterator[tuple[str, int, Progress]]:
        return iter(())

    def stop(self) -> None:
        self.stopped = True


def test_every_lay_has_a_result_and_the_large_one_the_most_time() -> None:
    executor = Pretended(1, lambda task: result(task, 1.0))
    lays = {name: lay(name, parts) for name, parts in [("big", 40), ("one", 1), ("mid", 8)]}
    results = lay_all(lays, Run(executor=executor, seconds=10.0))
    assert set(results) == set(lays)
    shares = {task.name: task.limits.seconds or 0.0 for task in executor.tasks}
    assert [task.name for task in executor.tasks] == ["one", "mid", "big"]
    assert shares["one"] < shares["mid"] < shares["big"]
    # What the small ones did not use is there for the large one.
    assert shares["big"] > 9.0


def test_with_rounds_for_a_limit_the_longest_lay_comes_first() -> None:
    executor = Pretended(1, lambda task: result(task, 3.0, Stopped.ROUNDS))
    lays = {name: lay(name, parts) for name, parts in (("b", 7), ("a", 2), ("c", 20))}
    found = lay_all(lays, Run(executor=executor, rounds=1))
    assert [task.name for task in executor.tasks] == ["c", "b", "a"]
    assert list(found) == ["b", "a", "c"]


def test_sheets_come_first_and_leave_their_time_to_cloths() -> None:
    """All parts on one sheet is as good as can be: such a search ends at once."""
    executor = Pretended(1, lambda task: result(task, 1.0))
    board = Sheet(name="board", outline=rectangle(1000, 1000))
    sheets = replace(lay("sheet", 40), stock=Sheets(sheets=(board,)))
    lay_all(
        {"cloth": lay("cloth", 2), "sheet": sheets, "small": lay("small", 1)},
        Run(executor=executor, seconds=10.0),
    )
    assert [task.name for task in executor.tasks] == ["sheet", "small", "cloth"]
    assert (executor.tasks[-1].limits.seconds or 0.0) > 9.0


def test_rounds_ask_for_no_time_and_no_further_seeds() -> None:
    executor = Pretended(2, lambda task: result(task, 1.0))
    lay_all({"a": lay("a", 3)}, Run(executor=executor, rounds=5, seed=7))
    assert [(t.limits.seconds, t.limits.rounds, t.seed) for t in executor.tasks] == [(None, 5, 7)]


def test_an_idle_core_tries_another_seed_and_the_better_marker_wins() -> None:
    def search(task: SearchTask) -> Result:
        time.sleep(0.3)
        return result(task, 500.0 if task.seed == 1 else 400.0)

    executor = Pretended(2, search)
    results = lay_all({"a": lay("a", 9)}, Run(executor=executor, seconds=4.0, seed=1))
    assert {task.seed for task in executor.tasks} >= {1, 2}
    assert results["a"].history[-1][1] == 400.0


def test_a_lost_worker_costs_a_retry() -> None:
    lost: list[str] = []

    def search(task: SearchTask) -> Result:
        if task.name == "b" and len(lost) < 2:
            lost.append(task.name)
            raise BrokenProcessPool("killed")
        return result(task, 1.0)

    executor = Pretended(2, search)
    lays = {name: lay(name, 2 + n) for n, name in enumerate("abc")}
    assert set(lay_all(lays, Run(executor=executor, rounds=1))) == set("abc")
    assert lost == ["b", "b"]


def test_lays_that_are_alike_are_searched_once() -> None:
    executor = Pretended(1, lambda task: result(task, 1.0))
    lays = {"moss": lay("moss", 3), "rust": lay("rust", 3), "lining": lay("lining", 2)}
    results = lay_all(lays, Run(executor=executor, rounds=1))
    assert sorted(task.name for task in executor.tasks) == ["lining", "moss"]
    assert {name: found.marker.lay.name for name, found in results.items()} == {
        name: name for name in lays
    }
    assert results["rust"].marker.placements == results["moss"].marker.placements


def test_a_worker_that_is_always_lost_is_named() -> None:
    def search(task: SearchTask) -> Result:
        raise BrokenProcessPool("killed")

    with pytest.raises(NestingError, match="'a' was lost 3 times"):
        lay_all({"a": lay("a", 2)}, Run(executor=Pretended(1, search), rounds=1))


def test_stopping_reaches_the_executor() -> None:
    executor = Pretended(1, lambda task: result(task, 1.0, Stopped.INTERRUPTED))
    lay_all({"a": lay("a", 2)}, Run(executor=executor, seconds=5.0, stop=lambda: True))
    assert executor.stopped


def test_finished_searches_are_not_searched_again(tmp_path: FilePath) -> None:
    store = Store(tmp_path / "kept", asked="seed 1")
    first = Pretended(1, lambda task: result(task, 3.0))
    lays = {"a": lay("a", 2), "b": lay("b", 3)}
    before = lay_all(lays, Run(executor=first, rounds=1, store=store))
    second = Pretended(1, lambda task: result(task, 9.0))
    lays["c"] = lay("c", 5)
    after = lay_all(lays, Run(executor=second, rounds=1, store=store))
    assert [task.name for task in second.tasks] == ["c"]
    assert after["a"] == before["a"]
    other = Store(tmp_path / "kept", asked="seed 2")
    assert other.get(lays["a"]) is None
    for file in (tmp_path / "kept").iterdir():
        file.write_bytes(b"{")
    assert store.get(lays["a"]) is None
    store.clear()
    assert not (tmp_path / "kept").exists()


def test_all_of_a_result_is_kept(tmp_path: FilePath) -> None:
    store = Store(tmp_path / "kept", asked="")
    task = SearchTask(name="a", lay=lay("a", 2), limits=None, seed=1)  # type: ignore[arg-type]
    found = replace(result(task, 200.0), bound_by="by area", rounds=7, first_seconds=0.5)
    store.put(task.lay, found)
    assert store.get(task.lay) == found


def test_an_interrupted_search_is_not_kept(tmp_path: FilePath) -> None:
    store = Store(tmp_path / "kept", asked="")
    task = SearchTask(name="a", lay=lay("a", 1), limits=None, seed=1)  # type: ignore[arg-type]
    store.put(task.lay, result(task, 1.0, Stopped.INTERRUPTED))
    assert store.get(task.lay) is None
