"""Random whole jobs, laid, written and read back: do the files show what the job asks for.

Run ``python -m benchmarks.campaigns.jobs --size N --seed S [--json FILE] [--keep FOLDER]
[--first K] [--workers N] [--rounds N]``.

Each job is laid in a round or none, or with `--rounds` in up to so many (a search that has gone
on for a while shows other faults than a first marker). Its files are written into a folder and
read by other readers (`trade`), and compared with the job file, which is read a second time for
that. Lists of what to buy are made of each, of some a report, a print, files for a machine, and a
plan with a stock file, which is taken off it (`more_files`). Wrong
is: a traceback, a rule of the job that what was written breaks, a part that is missing
without being told. A job may be refused in one line; how often and why is counted. Jobs are
numbered from 0; `--first` goes on where another run has ended.
"""

from __future__ import annotations

import json
import re
import shutil
import sys
import tempfile
import traceback
from collections import Counter
from collections.abc import Iterable, Iterator
from concurrent.futures import Future, ProcessPoolExecutor
from dataclasses import dataclass, field, replace
from pathlib import Path
from random import Random

from nesting import NestingError, Plan, Result, lay_parts, make_plan, read_job, write_plan
from nesting.planning.running.worker import SearchTask
from nesting.search.result import Progress

from .made.held import held_tables
from .made.job import made_job
from .made.toml import toml
from .more_files import Asked, asked_more, cut_off, further_wrong
from .row import Tally, options
from .trade.asked.cutting_list import Job, read
from .trade.rules.answer import entries_of, told_of
from .trade.rules.judge import broken, matched
from .trade.shown.drawings import drawn_wrong

__all__ = ["Here", "Told", "kind_of", "main", "one_job", "run"]


@dataclass(slots=True)
class Here:
    """Runs searches in this process, one after the other."""

    slots: int = 1

    def submit(self, task: SearchTask) -> Future[Result]:
        """Search, and return what was found."""
        done: Future[Result] = Future()
        limits, start = task.limits, task.start
        done.set_result(lay_parts(task.lay, limits=limits, seed=task.seed, workers=1, start=start))
        return done

    def progress(self) -> Iterator[tuple[str, int, Progress]]:
        """Tell nothing."""
        return iter(())

    def stop(self) -> None:
        """There is nothing to stop."""


@dataclass(slots=True)
class Told:
    """What came of one job: counts, why it was refused, and what is wrong, a line each."""

    counts: Counter[str] = field(default_factory=Counter)
    refused: str = ""
    faults: list[str] = field(default_factory=list)


def one_job(name: str, folder: Path, *, rounds: int | None = None) -> Told:
    """Make, lay, write and judge the job of a seed (``"1/17"``) in an empty folder.

    It is laid in a fifth of `rounds` to all of them, without them in one or none.
    """
    told, files = Told(), made_job(Random(name))
    asked = asked_more(name, files)
    for file, text in files.items():
        (folder / file).write_text(text, encoding="utf-8")
    try:
        _plain(name, folder, asked, told, rounds)
        if asked.stock and not told.refused:
            (folder / "stock.toml").write_text(asked.stock, encoding="utf-8")
            _stocked(folder, asked, told)
    except Exception:
        told.faults.append(traceback.format_exc())
    return told


def _plain(name: str, folder: Path, asked: Asked, told: Told, most: int | None) -> None:
    """Lay a job without stock, and judge all that is made of it."""
    rng = Random(f"files of {name}")
    rounds = rng.choice((0, 0, 1)) if most is None else rng.randint(most // 5, most)
    plan = _laid(folder, told, rounds=rounds)
    if plan is None:
        return
    _write(plan, folder / "laid", rng)
    told.counts["jobs"] += 1
    job = read(folder / "job.toml")
    told.faults += _judged(folder / "laid", job, told.counts)
    told.faults += further_wrong(plan, folder / "laid", job, asked, told.counts)
    told.faults += [f"held: {line}" for line in _held(name, folder, plan, told.counts)]


def _held(name: str, folder: Path, plan: Plan, counts: Counter[str]) -> Iterator[str]:
    """Hold some parts of one plan in four where they lie, lay the job again, judge that."""
    rng = Random(f"held of {name}")
    if rng.random() > 0.25 or not all(entry.good for entry in plan.entries):
        return
    answer = json.loads((folder / "laid" / "plan.json").read_text(encoding="utf-8"))
    cloths = {cloth.name for cloth in plan.job.cloths}
    tables = held_tables(
        rng, [e for e in entries_of(answer) if e.from_roll or e.material not in cloths]
    )  # what lies on a remnant of cloth can't be held
    if not tables:
        return
    text = (folder / "job.toml").read_text(encoding="utf-8")
    (folder / "held.toml").write_text(text + toml({"held": tables}), encoding="utf-8")
    start = plan if rng.random() < 0.5 else None
    try:
        job = read_job(folder / "held.toml")
        again = make_plan(job, seconds=None, rounds=0, executor=Here(), start=start)
    except NestingError as error:
        yield f"refused: {error}"
        return
    write_plan(again, folder / "held", kinds=("svg",))
    counts["jobs with held parts"] += 1
    yield from _judged(folder / "held", read(folder / "held.toml"), counts)
    if start is not None and not all(entry.good for entry in again.entries):
        yield "it goes on from a good plan and is not good"


def _stocked(folder: Path, asked: Asked, told: Told) -> None:
    """Lay the job with its stock file, and take it off that."""
    stock, laid = folder / "stock.toml", folder / "from stock"
    plan = _laid(folder, told, rounds=0, stock=stock)
    if plan is None:
        return
    write_plan(plan, laid, kinds=("svg",))
    told.counts["jobs with stock"] += 1
    job = read(folder / "job.toml", stock=stock)
    there = [*_judged(laid, job, told.counts)]
    there += further_wrong(plan, laid, job, replace(asked, print="", machine=""), told.counts)
    if all(entry.good for entry in plan.entries):
        there += cut_off(laid, job, told.counts)
    told.faults += [f"with stock: {line}" for line in there]


def _laid(folder: Path, told: Told, *, rounds: int, stock: Path | None = None) -> Plan | None:
    """Lay a job; None if it is refused, which is told."""
    try:
        job = read_job(folder / "job.toml", stock=stock)
        return make_plan(job, seconds=None, rounds=rounds, executor=Here())
    except NestingError as error:
        told.counts["refused" if stock is None else "refused with stock"] += 1
        told.refused = kind_of(str(error))
        if "\n" in str(error):
            told.faults.append(f"more than a line: {error}")
        return None


def kind_of(said: str) -> str:
    """Return a complaint without what differs from job to job."""
    said = re.sub(r"^.*?job\.toml(:\d+)?:? ?", "", said)
    said = re.sub(
        r'"[^"]*"|piece (own|\d)|(cloth|print|folded|sheet|leather) (\d|other)', "…", said
    )
    return re.sub(r"[\d./]+( (mm|cm|in|m|yd))?", "#", said)[:110]


def _write(plan: Plan, folder: Path, rng: Random) -> None:
    """Write the files of a plan: SVG and plan always, DXF for one in four."""
    write_plan(plan, folder, kinds=("svg", "dxf") if rng.random() < 0.25 else ("svg",))


def _judged(folder: Path, job: Job, counts: Counter[str]) -> Iterator[str]:
    """Yield what is wrong in the files of a plan."""
    plan = json.loads((folder / "plan.json").read_text(encoding="utf-8"))
    entries = entries_of(plan)
    every = matched(entries, job)
    yield from broken(entries, job, told_of(plan))
    yield from drawn_wrong(folder, every)
    for entry, laid in every.laid:
        counts["parts"] += len(laid)
        counts["not laid, and told"] += len(entry.unplaced)
        for fault in entry.faults:
            if fault["kind"] != "missing":
                yield f"the judge itself finds: {fault['text']}"


def run(
    size: int,
    seed: int,
    *,
    first: int = 0,
    workers: int = 1,
    keep: Path | None = None,
    rounds: int | None = None,
) -> Tally:
    """Try so many jobs."""
    tally = Tally("jobs", seed)
    names = [f"{seed}/{k}" for k in range(first, first + size)]
    told: Iterator[Told]
    if workers > 1:
        with ProcessPoolExecutor(workers) as pool:
            told = pool.map(_tried, names, [keep] * size, [rounds] * size, chunksize=10)
            _count(tally, names, told)
    else:
        _count(tally, names, (_tried(name, keep, rounds) for name in names))
    return tally


def _tried(name: str, keep: Path | None, rounds: int | None) -> Told:
    with tempfile.TemporaryDirectory() as folder:
        told = one_job(name, Path(folder), rounds=rounds)
        if told.faults and keep is not None:
            shutil.copytree(folder, keep / name.replace("/", "-"), dirs_exist_ok=True)
        return told


def _count(tally: Tally, names: list[str], every: Iterable[Told]) -> None:
    refused: Counter[str] = Counter()
    for number, (name, told) in enumerate(zip(names, every, strict=True), start=1):
        refused[told.refused] += 1
        tally.tried["jobs"] += told.counts.pop("jobs", 0)
        tally.tried["parts"] += told.counts.pop("parts", 0)
        tally.found.update(told.counts)
        tally.faults += [f"job {name}: {line}" for line in told.faults]
        for line in told.faults:
            print(f"job {name}: {line}", file=sys.stderr, flush=True)
        if number % 100 == 0:
            print(
                f"{number} of {len(names)}, to {name}: {tally.row()}", file=sys.stderr, flush=True
            )
    for why, often in refused.most_common():
        if why:
            print(f"refused {often} times: {why}", file=sys.stderr)


def main() -> int:
    """Run the campaign."""
    parser = options("Whole jobs, laid, written, read back and judged.", size=1000)
    parser.add_argument("--first", type=int, default=0, help="number of the first job (default: 0)")
    parser.add_argument("--workers", type=int, default=1, help="processes (default: 1)")
    parser.add_argument("--keep", type=Path, help="keep the jobs with faults in this folder")
    parser.add_argument("--rounds", type=int, help="lay each in up to so many (default: one)")
    asked = parser.parse_args()
    tally = run(
        asked.size,
        asked.seed,
        first=asked.first,
        workers=asked.workers,
        keep=asked.keep,
        rounds=asked.rounds,
    )
    return tally.tell(asked.json)


if __name__ == "__main__":
    raise SystemExit(main())
