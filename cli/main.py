"""The command: parsing and exit codes; every command is a module with `add` and `run`."""

from __future__ import annotations

import argparse
import os
import signal
import sys
from collections.abc import Sequence
from importlib import import_module

from nesting import NestingError, program

from .arguments import Parser, meant
from .say import any_terminal, say

__all__ = ["main", "parser"]

GOOD, FAULTY, BAD_INPUT, INTERRUPTED = 0, 1, 2, 130

# The commands and their modules. Only the one that is asked for is imported.
COMMANDS = {
    "pieces": "pieces",
    "lay": "lay",
    "compare": "compare",
    "order": "order",
    "check": "check",
    "write": "write",
    "cut": "cut",
    "print": "printing",
    "done": "done",
    "samples": "samples",
    "schema": "schema",
    "completion": "completion",
}

FIRST = """new here?
  thriftlay samples --out samples    jobs to try and to change; then read
                                     samples/WORDS.md (what is a lay, a ply, a nap?)
                                     and samples/FORMAT.md (how a job file is written)"""

STATUSES = """exit status:
  0    good
  1    a marker has faults, is incomplete, or nothing fits
  2    something given is wrong, or a file can't be written
  130  interrupted before anything was saved (an interrupt of a search keeps the
       best so far, and the status is 0 or 1 as ever)"""


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
        import_module(f".{module}", __package__).add(commands)
    return top


def main(argv: Sequence[str] | None = None) -> int:
    """Run the command and return its exit status.

    0 good; 1 a marker has findings or is incomplete, or nothing fits; 2 bad input;
    130 interrupted before anything was saved.
    """
    any_terminal()
    try:
        status = _run(sys.argv[1:] if argv is None else list(argv))
        sys.stdout.flush()
    except NestingError as error:
        status = _say(str(error))
    except BrokenPipeError:
        _give_up(sys.stdout)
        status = GOOD
    except KeyboardInterrupt:
        _say("interrupted; nothing was written")
        status = INTERRUPTED
    except OSError as error:
        _give_up(sys.stdout)
        where = f"{error.filename}: " if error.filename else ""
        status = _say(f"{where}{(error.strerror or str(error)).lower()}")
    if argv is None:  # the process is about to end: no second thoughts
        signal.signal(signal.SIGINT, signal.SIG_IGN)
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


def _say(what: str) -> int:
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
