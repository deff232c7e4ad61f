"""Searches on a real Dask cluster, started here."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path as FilePath

import pytest
from thriftlay.main import main

from nesting.errors import JobError
from nesting.marker.lay import Lay, Part, Strip
from nesting.pattern.path import Path
from nesting.pattern.piece import Piece
from nesting.planning.running.cluster import cluster
from nesting.planning.running.laying import lay_all
from nesting.planning.running.run import Run

distributed = pytest.importorskip("distributed")


def lay(name: str, sides: tuple[float, ...]) -> Lay:
    parts = []
    for side in sides:
        ring = Path.polyline([(0, 0), (side, 0), (0, 0.7 * side)], closed=True)
        piece = Piece(name=f"corner {side:g}", cut=ring)
        parts += [Part(name=f"{side:g} {n}", piece=piece) for n in (1, 2)]
    return Lay(name=name, parts=tuple(parts), stock=Strip(width=150.0), spacing=2.0)


LAYS = {"a": lay("a", (40.0, 52.0, 61.0)), "b": lay("b", (45.0, 70.0)), "c": lay("c", (90.0, 35.0))}


@pytest.fixture(scope="module")
def local() -> Iterator[object]:
    with distributed.LocalCluster(
        n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None
    ) as made:
        yield made


def test_lays_are_searched_on_the_cluster_and_a_killed_worker_costs_a_retry(local) -> None:  # type: ignore[no-untyped-def]
    with cluster(local.scheduler_address) as executor:
        assert executor.slots == 2
        first = lay_all(LAYS, Run(executor=executor, rounds=2, seed=3))
    assert all(not found.unplaced for found in first.values())
    with cluster(local.scheduler_address) as executor:
        pids = executor._client.run(os.getpid)
        asked = iter([False, False, True])

        def kill_in_the_middle() -> bool:
            if next(asked, False):
                os.kill(next(iter(pids.values())), signal.SIGKILL)
            return False

        second = lay_all(LAYS, Run(executor=executor, rounds=2, seed=3, stop=kill_in_the_middle))
    assert {n: r.marker.placements for n, r in second.items()} == {
        n: r.marker.placements for n, r in first.items()
    }


SCHEDULER = """
import sys
from distributed import LocalCluster
if __name__ == "__main__":
    with LocalCluster(
        n_workers=1, threads_per_worker=1, processes=True, dashboard_address=None
    ) as made:
        print(made.scheduler_address, flush=True)
        sys.stdin.read()
"""


@pytest.fixture
def mortal(tmp_path: FilePath) -> Iterator[tuple[subprocess.Popen[str], str]]:
    """Start a cluster whose scheduler is another process; give that and its address."""
    script = tmp_path / "scheduler.py"
    script.write_text(SCHEDULER)
    with subprocess.Popen(
        [sys.executable, str(script)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
    ) as process:
        assert process.stdout is not None
        yield process, process.stdout.readline().strip()
        process.kill()


def test_a_cluster_that_loses_its_scheduler_is_gone_on_without(mortal) -> None:  # type: ignore[no-untyped-def]
    scheduler, address = mortal
    lost: list[bool] = []
    asked = iter([False, False, True])

    def kill_in_the_middle() -> bool:
        if next(asked, False):
            scheduler.kill()
        return False

    with cluster(address, lost=lambda: lost.append(True)) as executor:
        assert executor.slots == 1
        found = lay_all(LAYS, Run(executor=executor, rounds=40, seed=3, stop=kill_in_the_middle))
    assert lost == [True]
    assert all(not one.unplaced for one in found.values())


def test_a_cluster_without_workers_is_gone_on_without(  # type: ignore[no-untyped-def]
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr("nesting.planning.running.cluster._PATIENCE", 2.0)
    lost: list[bool] = []
    with distributed.LocalCluster(
        n_workers=1, threads_per_worker=1, processes=True, dashboard_address=":0"
    ) as made:
        asked = iter([False, False, True])

        def lose_all() -> bool:
            if next(asked, False):
                made.scale(0)
            return False

        with cluster(made.scheduler_address, lost=lambda: lost.append(True)) as executor:
            found = lay_all(LAYS, Run(executor=executor, rounds=40, seed=3, stop=lose_all))
    assert lost == [True]
    assert all(not one.unplaced for one in found.values())


def test_the_command_plans_an_order_on_the_cluster(  # type: ignore[no-untyped-def]
    local, tmp_path: FilePath, capsys: pytest.CaptureFixture[str]
) -> None:
    job = tmp_path / "order.toml"
    job.write_text(
        '[job]\nname = "sleeves"\n[table]\nplies = 3\n'
        '[[cloth]]\nname = "felt"\nwidth = "50 cm"\n'
        '[[piece]]\nname = "front"\noutline = "M 0,0 L 250,0 L 180,90 L 0,90 Z"\n'
        '[[cut]]\npiece = "front"\nmaterial = "felt"\ncopies = 2\n'
        '[[bag]]\nname = "sleeve"\ncount = 3\n'
    )
    out = tmp_path / "out"
    words = ["order", job, "--out", out, "--rounds", 1, "--cluster", local.scheduler_address]
    assert main([str(word) for word in words]) == 0
    assert "sleeve" in capsys.readouterr().out
    assert (out / "plan.json").exists()


def test_nobody_at_the_address_is_one_clear_line(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("nesting.planning.running.cluster._PATIENCE", 0.5)
    with (
        pytest.raises(JobError, match=r"no cluster answers at 'tcp://127.0.0.1:9'"),
        cluster("tcp://127.0.0.1:9"),
    ):
        pass


def test_an_address_that_is_none_is_refused() -> None:
    with pytest.raises(JobError, match="no cluster answers"), cluster("nonsense"):
        pass
