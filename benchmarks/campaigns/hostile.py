"""Spoilt files, given to the command: refused in one line, or used and nothing wrong.

Run ``python -m benchmarks.campaigns.hostile --size N --seed S [--begin K] [--workers N]
[--keep FOLDER] [--json FILE]``. Case K of a seed is the same whichever other cases are tried, so
that a long run may be done in chunks, and one case again with ``--begin K --size 1``.

Job, pattern (SVG, DXF plain and sewn), plan, stock and machine files of ours are spoilt in
bytes, structure, sizes or encoding (`spoil`) and given to a command in a process of its own,
forked from one that has everything loaded, with 10 s of CPU time and 1 GB. Wrong is: a
traceback; too much time or memory; another exit status than 0, 1 or 2; on 2 more or less than
one clear line; a character that a terminal acts on; files left half-written; a plan that the
judge calls good and that surely breaks a rule (`again`); a drawing or report that is not XML.
"""

from __future__ import annotations

import io
import json
import os
import shutil
import sys
import tempfile
from collections.abc import Callable, Iterator
from concurrent.futures import Future
from contextlib import contextmanager, redirect_stderr, redirect_stdout
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from random import Random
from unittest.mock import patch
from xml.etree import ElementTree

import nesting
from cli.main import main as command
from nesting.planning.buying.stock import read_stock
from nesting.planning.running import server
from nesting.planning.running.worker import SearchTask
from nesting.search import warm as kernels
from nesting.search.solve import search

from .again import broken_rules
from .confined import Outcome, confined
from .row import Tally, options
from .sources import write_sources
from .spoil import spoilt

__all__ = ["Case", "main", "prepared", "run", "wrong"]

_SAMPLES = Path(__file__).resolve().parents[2] / "sample_markers"
_LONGEST_LINE = 1500


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """A file to be spoilt, and the words of the command that reads it.

    In the words ``FILE`` is the spoilt file and ``OUT`` the folder it may write into.
    """

    kind: str
    file: Path
    words: tuple[str, ...]


class _Here:
    """Searches in this process instead of others, which could not be held to a limit."""

    slots = 1

    def submit(self, task: SearchTask) -> Future[nesting.Result]:
        future: Future[nesting.Result] = Future()
        try:
            result = search(task.lay, limits=task.limits, seed=task.seed, workers=1)
            future.set_result(result)
        except Exception as error:
            future.set_exception(error)
        return future

    def progress(self) -> Iterator[tuple[str, int, nesting.Progress]]:
        return iter(())

    def stop(self) -> None:
        return


@contextmanager
def _here(_slots: int | None = None) -> Iterator[_Here]:
    yield _Here()


@contextmanager
def _search_here() -> Iterator[None]:
    """Have the command search in its own process for the length of a ``with`` block."""
    with (
        patch.object(nesting, "processes", _here),
        patch.object(server, "start_server", lambda: None),
    ):
        yield


_BRIEF = ("--time", "1s", "--rounds", "1", "--workers", "1")


def _ways(base: Path, kind: str, file: Path, rng: Random) -> tuple[str, ...]:
    """Return words of a command that reads a file of a kind."""
    made = ("--out", "OUT/made")
    kit = str(base / "kit/laid/plan.json")
    if kind == "job":
        written = rng.choice(("svg", "svg", "dxf", "report", "remnants", "dxf,svg,report,remnants"))
        if rng.random() < 0.15:
            return ("order", "FILE", *made, *_BRIEF)
        if rng.random() < 0.1:
            return ("compare", "FILE", *_BRIEF)
        return ("lay", "FILE", *made, *_BRIEF, "--write", written)
    if kind == "pattern":
        unit = rng.choice(((), ("--unit", "mm"), ("--unit", "mm"), ("--unit", "in")))
        return ("pieces", "FILE", *unit, "--out", "OUT/made.toml")
    if kind == "stock":
        if rng.random() < 0.4:
            job = str(base / "kit/bare.toml")
            return ("lay", job, "--stock", "FILE", *made, *_BRIEF, "--write", "svg")
        return ("done", kit, "--stock", "FILE")
    if kind == "machine":
        safe = rng.choice(((), ("--safety-sheet-read", "--common-lines")))
        only = ("--only", rng.choice(("canvas", "foam", "print")))
        return ("cut", kit, "--machine", "FILE", *made, *safe, *only)
    return rng.choice(
        (
            ("check", "FILE"),
            ("check", "FILE"),
            ("check", "FILE", "--json"),
            ("write", "FILE", *made, "--write", rng.choice(("dxf", "svg", "report", "remnants"))),
            ("write", "FILE", *made, "--insist", "--write", rng.choice(("svg", "png", "dxf"))),
            ("cut", "FILE", "--machine", str(base / "kit/table.toml"), *made),
            ("cut", "FILE", "--machine", str(base / "shops/rotary_table.toml"), *made),
            ("print", "FILE", "--out", "OUT/made.pdf", "--what", "markers"),
            ("print", "FILE", "--out", "OUT/made.pdf", "--what", "templates"),
            ("print", "FILE", "--out", "OUT/made.pdf", "--what", "labels"),
            ("done", "FILE", "--stock", "OUT/stock.toml"),
        )
    )


_FILES = {
    "job": ("kit/kit.toml", "kit/kit.toml", "*/*.toml"),
    "pattern": ("kit/*.dxf", "kit/*.svg", "*/laid/*.dxf", "*/laid/*.svg"),
    "plan": ("kit/laid/plan.json", "rucksack/laid/plan.json", "tool_roll/laid/plan.json"),
    "stock": ("kit/stock.toml",),
    "machine": ("kit/table.toml", "shops/*.toml"),
}
_NO_JOBS = frozenset({"shops", "order"})
"""No jobs stand there, or some that take seconds to lay as they are."""
_NOT_JOBS = frozenset({"pieces.toml", "shelf.toml", "stock.toml", "table.toml", "remnants.toml"})
_SHARES = ("job",) * 3 + ("pattern",) * 4 + ("plan",) * 6 + ("stock",) * 2 + ("machine",) * 2


def case(base: Path, rng: Random, *, kind: str | None = None) -> Case:
    """Return a random file of ours, and the command that reads it."""
    kind = kind or rng.choice(_SHARES)
    files = sorted(base.glob(rng.choice(_FILES[kind])))
    if kind == "job":
        files = [f for f in files if f.parent.name not in _NO_JOBS and f.name not in _NOT_JOBS]
    if kind == "pattern":
        files = [f for f in files if f.stat().st_size < 300_000]
    file = rng.choice(files)
    return Case(kind=kind, file=file, words=_ways(base, kind, file, rng))


@contextmanager
def prepared() -> Iterator[Path]:
    """Give a folder of sound files of all kinds, with all that reads them loaded."""
    with _search_here(), tempfile.TemporaryDirectory() as folder:
        base = Path(shutil.copytree(_SAMPLES, Path(folder) / "base"))
        write_sources(base / "kit")
        kit = base / "kit/kit.toml"
        bare = kit.read_text(encoding="utf-8").removeprefix('include = "stock.toml"\n')
        (base / "kit/bare.toml").write_text(bare, encoding="utf-8")
        laid = str(base / "kit/laid")
        # In this process, so that its children find kernels and modules loaded.
        kernels.warm()
        quiet = _quietly(lambda: command(["lay", str(kit), "--out", laid, *_BRIEF]))
        if quiet != 0:
            raise RuntimeError(f"our own job can't be laid: status {quiet}")
        plan = f"{laid}/plan.json"
        warm = Path(folder) / "warm"
        for words in (
            ("check", plan),
            ("write", plan, "--out", str(warm / "a"), "--write", "dxf,svg,png,report"),
            ("cut", plan, "--machine", str(base / "kit/table.toml"), "--out", str(warm / "b")),
            ("print", plan, "--out", str(warm / "c.pdf")),
            ("pieces", str(base / "kit/plain.dxf"), "--unit", "mm"),
            ("pieces", str(base / "kit/sewn.dxf")),
            ("pieces", str(base / "kit/pattern.svg")),
            ("compare", str(kit), *_BRIEF),
        ):
            _quietly(partial(command, words))
        yield base


def _quietly(what: Callable[[], int]) -> int:
    """Do something that prints, without its printing."""
    with redirect_stdout(io.StringIO()), redirect_stderr(io.StringIO()):
        return what()


def tried(one: Case, data: bytes, base: Path, out: Path) -> tuple[Outcome, list[str]]:
    """Give a spoilt file to its command; return what came of it, and all that is wrong."""
    shutil.rmtree(out, ignore_errors=True)
    out.mkdir()
    file = one.file.with_name(f"spoilt{one.file.suffix}")
    shutil.copy(base / "kit/stock.toml", out / "stock.toml")
    if one.kind == "stock" and one.words[0] == "done":
        file = out / "stock.toml"
    file.write_bytes(data)
    words = [w.replace("OUT", str(out)).replace("FILE", str(file)) for w in one.words]
    before = (out / "stock.toml").read_bytes()
    outcome = confined(lambda: command(words))
    lines = list(wrong(outcome, words, out))
    if outcome.status == 2 and (out / "stock.toml").read_bytes() != before:
        lines.append("the stock file was changed all the same")
    if outcome.status in (0, 1) and one.words[0] == "done":
        lines += _unreadable(lambda: read_stock(out / "stock.toml"), "the stock file")
    if outcome.status == 0 and one.words[0] in ("check", "write", "cut") and one.kind == "plan":
        lines += [f"called good: {line}" for line in broken_rules(file)]
    if file.parent != out:
        file.unlink()
    return outcome, lines


def wrong(outcome: Outcome, words: list[str], out: Path) -> Iterator[str]:
    """Yield what is wrong with what a command said and left."""
    if outcome.trouble:
        last = outcome.trace.strip().splitlines()[-1:] or [""]
        yield f"{outcome.trouble}: {last[0][:200]}"
    elif outcome.status not in (0, 1, 2):
        yield f"exit status {outcome.status}"
    if any(c != "\n" and not c.isprintable() for c in outcome.out + outcome.err):
        yield "a character that a terminal acts on"
    made = sorted(path.name for path in out.iterdir() if path.name != "stock.toml")
    if outcome.status == 2:
        said = outcome.err.strip().split("\n")
        said = [line for line in said if line.startswith("thriftlay: ")]
        if len(said) != 1:
            yield f"{len(said)} lines of trouble instead of one"
        elif len(said[0]) > _LONGEST_LINE:
            yield f"a line of {len(said[0])} characters"
        elif words[0] != "lay" and outcome.err.count("\n") > 1:
            yield "more than a line"
        if made:
            yield f"refused, and left {made}"
    if outcome.status in (0, 1):
        yield from _finished(out, words, outcome.status)


def _finished(out: Path, words: list[str], status: int) -> Iterator[str]:
    """Yield what is wrong with files that were written."""
    for path in sorted(out.rglob("*")):
        if path.name.startswith(".") or not (path.is_dir() or path.stat().st_size):
            yield f"left {path.name}"
        elif path.suffix in (".svg", ".html"):
            yield from _not_xml(path)
        elif path.suffix == ".pdf" and not path.read_bytes().rstrip().endswith(b"%%EOF"):
            yield f"{path.name} is cut short"
    plan = out / "made/plan.json"
    if words[0] == "lay":
        if not plan.exists():
            yield "no plan was written"
            return
        yield from _unreadable(lambda: nesting.load_plan(plan), "the plan")
        if status == 0:
            yield from (f"called good: {line}" for line in broken_rules(plan))


def _not_xml(path: Path) -> Iterator[str]:
    text = path.read_text(encoding="utf-8")
    if any((c < " " and c not in "\n\t\r") or c in "\ufffe\uffff" for c in text):
        yield f"{path.name} has characters that XML has not"
    elif path.suffix == ".svg":
        try:
            ElementTree.fromstring(text)
        except ElementTree.ParseError as error:
            yield f"{path.name} is no XML: {error}"


def _unreadable(read: Callable[[], object], what: str) -> Iterator[str]:
    try:
        read()
    except nesting.NestingError as error:
        yield f"{what} can't be read back: {error}"


def run(
    size: int,
    seed: int,
    *,
    begin: int = 0,
    keep: Path | None = None,
    workers: int = 1,
    kind: str | None = None,
) -> Tally:
    """Try so many spoilt files, from case `begin` of the seed on."""
    tally = Tally("hostile", seed)
    with prepared() as base:
        if workers == 1:
            _some(tally, range(begin, begin + size), base, keep=keep, kind=kind)
            return tally
        parts = [range(begin + i, begin + size, workers) for i in range(workers)]
        children = []
        for i, part in enumerate(parts):
            told = base.parent / f"told{i}.json"
            child = os.fork()
            if child == 0:
                mine = Tally("hostile", seed)
                own = Path(shutil.copytree(base, base.parent / f"base{i}"))
                _some(mine, part, own, keep=keep, kind=kind)
                told.write_text(json.dumps([mine.tried, mine.found, mine.faults]))
                os._exit(0)
            children.append((child, told))
        for child, told in children:
            os.waitpid(child, 0)
            counted, found, faults = json.loads(told.read_text())
            tally.tried.update(counted)
            tally.found.update(found)
            tally.faults += faults
    return tally


def _some(
    tally: Tally, numbers: range, base: Path, *, keep: Path | None, kind: str | None = None
) -> None:
    out = base.parent / f"out-{base.name}"
    for k in numbers:
        rng = Random(f"{tally.seed}/{k}")
        one = case(base, rng, kind=kind)
        data = spoilt(one.file.read_bytes(), one.file.suffix, rng)
        outcome, lines = tried(one, data, base, out)
        tally.tried[one.kind] += 1
        said = {0: "accepted", 1: "accepted with faults", 2: "refused"}
        tally.found[outcome.trouble or said.get(outcome.status or 0, "other status")] += 1
        if not lines:
            continue
        name = one.file.relative_to(base)
        words = " ".join(one.words).replace(str(base), "BASE")
        tally.faults += [f"{tally.seed}/{k} {name}: {words}: {line}" for line in lines]
        print(*tally.faults[-len(lines) :], sep="\n", file=sys.stderr, flush=True)
        if keep is not None:
            keep.mkdir(parents=True, exist_ok=True)
            stem = keep / f"{tally.seed}-{k}"
            stem.with_name(stem.name + one.file.suffix).write_bytes(data)
            told = "\n".join((words, *lines, outcome.trace, outcome.err[:3000]))
            stem.with_name(stem.name + ".txt").write_text(told, encoding="utf-8")


def main() -> int:
    """Run the campaign."""
    parser = options("Spoilt files, given to the command.", size=500)
    parser.add_argument("--begin", type=int, default=0, help="number of the first case")
    parser.add_argument("--workers", type=int, default=1, help="processes (default: 1)")
    parser.add_argument("--keep", type=Path, help="folder for files that went wrong")
    parser.add_argument("--kind", choices=sorted(_FILES), help="files of this kind only")
    asked = parser.parse_args()
    tally = run(
        asked.size,
        asked.seed,
        begin=asked.begin,
        keep=asked.keep,
        workers=asked.workers,
        kind=asked.kind,
    )
    return tally.tell(asked.json)


if __name__ == "__main__":
    raise SystemExit(main())
