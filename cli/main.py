"""The command: parsing and exit codes; every command is a module with `add` and `run`."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from importlib import import_module

from nesting import NestingError

from .arguments import Parser

__all__ = ["main"]

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
    "schema": "schema",
}


def parser(asked: str = "") -> argparse.ArgumentParser:
    """Return the parser of the command that is asked for, or of all of them."""
    top = Parser(
        prog="thriftlay",
        description="Lay pattern pieces on cloth, sheets and hides, and write files to cut from.",
    )
    commands = top.add_subparsers(dest="command", required=True, metavar="COMMAND")
    modules = [COMMANDS[asked]] if asked in COMMANDS else list(COMMANDS.values())
    for module in modules:
        import_module(f".{module}", __package__).add(commands)
    return top


def main(argv: Sequence[str] | None = None) -> int:
    """Run the command and return its exit status.

    0 good; 1 a marker has findings or is incomplete; 2 bad input; 130 interrupted.
    """
    words = sys.argv[1:] if argv is None else list(argv)
    try:
        arguments = parser(words[0] if words else "").parse_args(words)
        status: int = arguments.run(arguments)
    except NestingError as error:
        print(f"thriftlay: {error}", file=sys.stderr)
        return BAD_INPUT
    except BrokenPipeError:
        sys.stderr.close()
        return GOOD
    except KeyboardInterrupt:
        print("thriftlay: interrupted; nothing was written", file=sys.stderr)
        return INTERRUPTED
    return status


if __name__ == "__main__":
    sys.exit(main())
