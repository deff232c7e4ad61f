"""Where the searches of a command run, and what is kept of a plan that is interrupted."""

from __future__ import annotations

import argparse
import hashlib
import shutil
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager, suppress
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

import nesting
from nesting.leftover import locked
from nesting.names import listed
from nesting.program import program

from .arguments import seconds
from .interrupt import SAVED, Heard
from .say import say

if TYPE_CHECKING:
    from nesting import Job, Plan, ShoppingList
    from nesting.planning.running.pool import Executor
    from nesting.planning.running.store import Store

__all__ = [
    "add_running",
    "asked",
    "assumptions",
    "ended",
    "executor",
    "own_folder",
    "planned",
    "start_workers",
]

_MOST_ASSUMED = 12
"""Lines of assumptions on the terminal; all of them are in the report."""
_MOST_NAMED, _NAMED = 12, 5
"""Up to how many names stand before an assumption on the terminal; how many of more."""


def add_running(parser: argparse.ArgumentParser) -> None:
    """Add the option of commands that search many lays."""
    parser.add_argument(
        "--cluster",
        metavar="ADDRESS",
        help="search on a Dask cluster instead: its scheduler, tcp://HOST:PORT",
    )


def executor(arguments: argparse.Namespace) -> AbstractContextManager[Executor]:
    """Return where to search: processes of this machine, or the cluster that was named."""
    if arguments.cluster:
        return nesting.cluster(arguments.cluster, lost=_say_lost)
    return nesting.processes(arguments.workers)


def start_workers(arguments: argparse.Namespace) -> None:
    """Start what workers come from, before there are threads, unless a cluster searches."""
    from nesting.planning.running.server import start_server

    if not arguments.cluster:
        start_server()


def asked(arguments: argparse.Namespace, *, usual: float = 30.0) -> dict[str, Any]:
    """Return what was asked of all searches: their time (`usual` s), or rounds, and their seed."""
    return {
        "seconds": seconds(arguments, usual=usual),
        "rounds": arguments.rounds,
        "seed": arguments.seed,
    }


def planned(
    arguments: argparse.Namespace,
    job: Job,
    stop: Heard,
    *,
    names: list[str],
    make: Callable[..., Plan],
    write: Callable[..., object],
) -> tuple[Plan, ShoppingList]:
    """Make a plan and write its files into the folder that was asked for; `names` of its lays."""
    from .progress import Display

    limit = seconds(arguments)
    with _plans_folder(arguments.out, overwrite=arguments.replace):
        start_workers(arguments)
        store = _kept(arguments, limit=limit)
        with Display(names, limit, amounts=job.amounts) as display:
            with executor(arguments) as where:
                plan = make(
                    job,
                    **asked(arguments),
                    only=arguments.only,
                    observer=stop.noting(display),
                    stop=stop,
                    executor=where,
                    store=store,
                )
            stop.worth = True
            display.say("judging what was found")
            bought = nesting.shopping_list(plan)
            write(
                plan,
                folder=arguments.out,
                bought=bought,
                kinds=arguments.write,
                overwrite=arguments.replace,
                insist=arguments.insist,
                tell=display.writing,
            )
        store.clear()
    return plan, bought


def _say_lost() -> None:
    say("thriftlay: the cluster is lost; all else is searched on this machine", trouble=True)


def _kept(arguments: argparse.Namespace, *, limit: float | None) -> Store:
    """Return the store of finished searches in the folder that the plan goes to."""
    from nesting.planning.running.store import Store
    from nesting.writing.folder import UNFINISHED

    asked = f"{program()}, time {limit}, rounds {arguments.rounds}, seed {arguments.seed}"
    if getattr(arguments, "start", None) is not None:  # the same searches from elsewhere
        asked += f", from {hashlib.sha256(arguments.start.read_bytes()).hexdigest()}"
    return Store(arguments.out / UNFINISHED, asked=asked)


@contextmanager
def own_folder(folder: Path, ready: Callable[[], object]) -> Iterator[None]:
    """Have a folder to oneself that is made `ready` before any work.

    If nothing comes of it none is left behind, unless it holds what an interrupted plan goes on
    from.
    """
    new = not folder.exists()
    try:
        ready()
        with locked(folder):
            yield
    except BaseException:
        if new:
            with suppress(OSError):
                folder.rmdir()
        raise


@contextmanager
def _plans_folder(folder: Path, *, overwrite: bool) -> Iterator[None]:
    """Have a plan's folder to oneself; a job that is refused leaves nothing to go on from."""
    from nesting.writing.folder import UNFINISHED, ready_folder

    waiting = (folder / UNFINISHED).exists()
    with own_folder(folder, partial(ready_folder, folder, overwrite=overwrite)):
        try:
            yield
        except nesting.NestingError as error:
            if not waiting and not isinstance(error, nesting.WriteError):
                shutil.rmtree(folder / UNFINISHED, ignore_errors=True)
            raise


def ended(plan: Plan, stop: Heard) -> int:
    """Say that a plan was interrupted, if it was, and return the exit status."""
    if stop.asked:
        say("thriftlay: interrupted; the best so far was saved", trouble=True)
        return SAVED
    return 0 if all(entry.good for entry in plan.entries) else 1


def assumptions(plan: Plan, *, reported: bool = True) -> str:
    """Return what was assumed of a job, the weighty first; nothing if it said everything.

    `reported`: a report is written, in which one may read on.
    """
    short = _few_named if reported else str
    said = [_shown(short(sentence)) for sentence in plan.job.assumptions]
    if not said:
        return ""
    lines = said[:_MOST_ASSUMED] if reported else said
    more = len(said) - len(lines)
    end = [f"  and {more} more in the report"] if more else []
    return "\n".join(["", "assumed, as the job file does not say:", *lines, *end])


def _few_named(sentence: str) -> str:
    """Return a sentence with the first names of the many that it holds for, and their count."""
    of, colon, rest = sentence.partition(": ")
    names = of.split("; " if "; " in of else ", ")
    if not colon or len(names) <= _MOST_NAMED:
        return sentence
    more = len(names) - _NAMED
    return f"{listed(names[:_NAMED])} and {more} more, named in the report: {rest}"


def _shown(sentence: str) -> str:
    """Return a sentence as a line of its own: names in it can't move the terminal's cursor."""
    return "  " + "".join(c if c.isprintable() else " " for c in sentence)
