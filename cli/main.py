"""The command: parsing and exit codes; every command is a module with `add` and `run`."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence

from nesting import NestingError

from . import check, compare, cut, done, lay, order, pieces, printing, schema, write
from .arguments import Parser

__all__ = ["main"]

GOOD, FAULTY, BAD_INPUT, INTERRUPTED = 0, 1, 2, 130

COMMANDS = (pieces, lay, compare, order, check, write, cut, printing, done, schema)


def parser() -> argparse.ArgumentParser:
    """Return the parser of the whole command."""
    top = Parser(
        prog="thriftlay",
        description="Lay pattern pieces on cloth, sheets and hides, and write files to cut from.",
    )
    commands = top.add_subparsers(dest="command", required=True, metavar="COMMAND")
    for command in COMMANDS:
        command.add(commands)
    return top


def main(argv: Sequence[str] | None = None) -> int:
    """Run the command and return its exit status.

    0 good; 1 a marker has findings or is incomplete; 2 bad input; 130 interrupted.
    """
    try:
        arguments = parser().parse_args(argv)
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
