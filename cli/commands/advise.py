"""``thriftlay advise JOB``: what holds each marker's length, and what would save goods."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING, Any

import nesting

from ..arguments import add_only, add_replace, add_search, add_stock, new_command, widths
from ..interrupt import SAVED, stopping
from ..running import add_running, executor, start_workers
from ..say import say
from ..table import table
from ..told import tell

if TYPE_CHECKING:
    from nesting.advice.advise import Advice, AsItIs

__all__ = ["add", "run"]

_TIME = 120.0


def add(commands: Any) -> None:
    """Add the command to the parser."""
    parser = new_command(
        commands,
        "advise",
        about="say what holds each marker's length, and what changes would save goods",
        example='thriftlay advise tote.toml --material canvas --widths "112 cm, 150 cm" --time 5m',
    )
    parser.add_argument("job", type=Path, metavar="JOB.toml")
    add_only(parser, "--material")
    parser.add_argument(
        "--widths",
        metavar="LIST",
        help='other booked widths that you could buy: "112 cm, 54 in"',
    )
    parser.add_argument(
        "--out",
        type=Path,
        metavar="FOLDER",
        help="write a page, and pictures of what holds each marker; beside a plan of the same job"
        " its report tells the three best",
    )
    add_replace(parser)
    add_stock(parser)
    add_search(parser, default="2m")
    add_running(parser)
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Lay the job, and every change of it that promises to save; say what does."""
    from nesting.advice.advise import advise

    job = nesting.read_job(arguments.job, stock=arguments.stock)
    job.wanted(arguments.only)  # or refused, before anything is made ready
    booked = widths(arguments.widths, unit=job.unit) or ()
    if arguments.out is not None:
        _refuse_files(arguments.out, overwrite=arguments.replace)
    start_workers(arguments)
    limit = arguments.time
    if limit is None and arguments.rounds is None:
        limit = _TIME
    with stopping() as stop:
        stop.worth = True  # it tells of nothing until its end
        with executor(arguments) as where:
            advice = advise(
                job,
                only=arguments.only,
                widths=booked,
                seconds=limit,
                rounds=arguments.rounds,
                seed=arguments.seed,
                stop=stop,
                executor=where,
            )
    files = _written(advice, arguments)
    if arguments.json:
        from ..advised import advice_result

        tell("advise", advice_result(advice, files=files), currency=job.currency)
    else:
        _tell(advice)
        if arguments.out:
            say(f"\nfiles are in {arguments.out}")
    if stop.asked:
        say("thriftlay: interrupted; this is what is known so far", trouble=True)
        return SAVED
    return (
        0 if all(one.laid and all(laid.good for laid in one.laid) for one in advice.as_it_is) else 1
    )


def _refuse_files(folder: Path, *, overwrite: bool) -> None:
    """Refuse, before any work, a folder that holds an advice already."""
    from nesting.advice.kept import ADVICE_FILE

    there = folder / ADVICE_FILE
    if there.exists() and not overwrite:
        raise nesting.WriteError(
            "exists already", file=str(there), hint="name another folder, or say overwrite=True"
        )


def _written(advice: Advice, arguments: argparse.Namespace) -> tuple[str, ...]:
    """Write the files that were asked for, and return their names."""
    if arguments.out is None:
        return ()
    from nesting.writing.advice.files import write_advice

    files = write_advice(advice, arguments.out, overwrite=arguments.replace)
    return tuple(map(str, files))


def _tell(advice: Advice) -> None:
    """Print what holds each material, what saves, and what is not known."""
    from nesting.advice.words import criterion

    for one in advice.as_it_is:
        _tell_held(one, advice)
    if advice.proposals:
        say(f"\nwhat would save, the best first ({criterion(advice)}):")
        _tell_all(advice, certain=True)
    elif advice.vain or advice.open:
        say("\nnothing was found that surely saves")
    if advice.open:
        say("\nnot certain, for time was up before all seeds were laid:")
        _tell_all(advice, certain=False)
    for head, changes in (
        ("laid, and no saving beyond chance", [(c, "") for c in advice.vain]),
        ("not tried", advice.left_out),
        ("no time for, the most promising first", [(c, "") for c in advice.untried]),
    ):
        if changes:
            say(f"\n{head}:")
        for change, why in changes:
            say(f"  {change.material}: {change.what}" + (f" ({why})" if why else ""))


def _tell_held(one: AsItIs, advice: Advice) -> None:
    from nesting.advice.words import base_words, chain_rows, chain_words

    say(base_words(one, advice.job.amounts, currency=advice.job.currency))
    if any(not laid.good for laid in one.laid):
        say(
            "  not all parts found room in the time, or the judge found faults: give it more --time"
        )
    if one.chain is None:
        return
    say(f"  {chain_words(one.chain)}")
    rows = chain_rows(one.chain)
    if rows:
        head = ["  of 1 less, as it lies, it gets shorter by", "along", "across"]
        say(table(head, [[f"  {row[0]}", *row[1:]] for row in rows]))


def _tell_all(advice: Advice, *, certain: bool) -> None:
    from nesting.advice.words import advised

    for number, proposal in enumerate(advice.proposals if certain else advice.open, start=1):
        one = advised(proposal, advice)
        money = f"; {one.money}" if one.money else ""
        say(f"{number:3}  {one.material}: {one.what}")
        say(f"     saves {one.saves}{money}")
        say(f"     write {one.write}")
        if one.beware:
            say(f"     mind: {one.beware}")
