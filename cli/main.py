"""The command: parsing and exit codes; each of ``commands`` is a module with `add` and `run`."""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Sequence
from contextlib import suppress
from importlib import import_module

from nesting.errors import NestingError
from nesting.program import program

from .arguments import Parser, meant
from .interrupt import ENDED, NEWS, SAVED, as_before, end_on_the_spot, no_more
from .say import any_terminal, say

__all__ = ["IN_OPTIONS", "in_options", "main", "parser"]

GOOD, FAULTY, BAD_INPUT = 0, 1, 2

# The commands and their modules. Only the one that is asked for is imported.
COMMANDS = {
    "pieces": "pieces",
    "hide": "hide",
    "repeat": "repeat",
    "lay": "lay",
    "compare": "compare",
    "advise": "advise",
    "order": "order",
    "pattern": "pattern",
    "check": "check",
    "write": "write",
    "cut": "cut",
    "print": "printing",
    "done": "done",
    "page": "page",
    "samples": "samples",
    "schema": "schema",
    "completion": "completion",
}

# The library's errors speak to its callers: what they say there is an option here.
IN_OPTIONS = {"overwrite=True": "--replace", "sds_read=True": "--safety-sheet-read"}

FIRST = """new here?
  thriftlay samples --out samples    jobs to try and to change; then read
                                     samples/WORDS.md (what is a lay, a ply, a nap?)
                                     and samples/FORMAT.md (how a job file is written)"""

STATUSES = f"""exit status:
  {GOOD}    good
  {FAULTY}    a marker has faults, is incomplete, or nothing fits
  {BAD_INPUT}    something given is wrong, or a file can't be written
  {SAVED}    interrupted (Ctrl-C, SIGTERM): the best found so far was saved, or is printed
  {ENDED}  interrupted, and nothing was saved; a second interrupt ends a search so"""


def parser(asked: str = "") -> argparse.ArgumentParser:
    """Return the parser of the command that is asked for, or of all of them."""
    top = Parser(
        prog="thriftlay",
        description="Lay pattern pieces on cloth, sheets and hides, and write files to cut from.",
        epilog=f"example:\n  thriftlay lay tote.toml --out tote\n\n{FIRST}\n\n{STATUSES}",
    )
    top.add_argument("--version", action="version", version=program())
    commands = top.add_subparsers(dest="command", required=True, metavar="COMMAND")
    modules = [COMMANDS[asked]] if asked in COMMANDS else list(COMMANDS.values())
    for module in modules:
        import_module(f".commands.{module}", __package__).add(commands)
    return top


def main(argv: Sequence[str] | None = None) -> int:
    """Run the command and return its exit status: one of those that ``--help`` names.

    Without `argv` this is the process's own command line, and its end is near.
    """
    if argv is None:
        end_on_the_spot()
        return _main(sys.argv[1:])
    with as_before():
        return _main(list(argv))


def _main(words: list[str]) -> int:
    any_terminal()
    try:
        status = _run(words)
        sys.stdout.flush()
    except NestingError as error:
        status = _say(in_options(error))
    except BrokenPipeError:
        _give_up(sys.stdout)
        status = GOOD
    except KeyboardInterrupt:
        no_more()
        _say(NEWS)
        status = ENDED
    except OSError as error:
        _give_up(sys.stdout)
        where = f"{error.filename}: " if error.filename else ""
        status = _say(f"{where}{(error.strerror or str(error)).lower()}")
    no_more()  # no second thoughts
    return status


def _run(words: list[str]) -> int:
    if not words:
        parser().print_help()
        return GOOD
    if not words[0].startswith("-") and words[0] not in COMMANDS:
        return _say(
            f"no command is named {words[0]!r}{meant(words[0], COMMANDS)} (see thriftlay --help)"
        )
    arguments = parser(words[0]).parse_args(words)
    status: int = arguments.run(arguments)
    return status


def in_options(error: NestingError) -> str:
    """Return what an error says, its hint in the command's words."""
    for keyword, option in IN_OPTIONS.items():
        error.hint = error.hint and error.hint.replace(keyword, option)
    return str(error)


def _say(what: str) -> int:
    with suppress(OSError):  # where even that can't be said the status says it
        say(f"thriftlay: {what}", trouble=True)
    return BAD_INPUT


def _give_up(stream: object) -> None:
    """Throw away what could not be written, which Python would try again at its end."""
    try:
        number = stream.fileno()  # type: ignore[attr-defined]
    except (OSError, ValueError, AttributeError):
        return
    nothing = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nothing, number)
    os.close(nothing)


if __name__ == "__main__":
    sys.exit(main())
