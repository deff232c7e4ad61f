"""What several commands take from the command line."""

from __future__ import annotations

import argparse
import math
import re
from pathlib import Path
from typing import NoReturn

from nesting import JobError, parse_length

__all__ = [
    "Parser",
    "add_search",
    "add_stock",
    "duration",
    "kinds",
    "role",
    "share",
    "whole",
    "widths",
]

_UNITS = {"": 1.0, "s": 1.0, "m": 60.0, "min": 60.0, "h": 3600.0}
KINDS = ("dxf", "svg", "png", "report", "remnants")


class Parser(argparse.ArgumentParser):
    """A parser whose complaints are one line."""

    def error(self, message: str) -> NoReturn:
        """End with exit status 2 and one line that says what is wrong."""
        self.exit(2, f"{self.prog}: {message} (see {self.prog} --help)\n")


def duration(text: str) -> float:
    """Return seconds from "30s", "2m", "1h" or a bare number of seconds."""
    match = re.fullmatch(r"\s*(\d+(?:\.\d+)?)\s*(s|m|min|h)?\s*", text)
    value = float(match[1]) * _UNITS[match[2] or ""] if match else math.nan
    if not value >= 0 or math.isinf(value):
        raise argparse.ArgumentTypeError(f"{text!r} is no length of time; write 30s, 2m or 1h")
    return value


def share(text: str) -> float:
    """Return a share from "5 %" or 0.05."""
    match = re.fullmatch(r"\s*(\d+(?:\.\d+)?)\s*(%?)\s*", text)
    value = float(match[1]) / (100.0 if match[2] else 1.0) if match else math.nan
    if not 0.0 <= value <= 1.0:
        raise argparse.ArgumentTypeError(f'{text!r} is no share; write "5 %" or 0.05')
    return value


def whole(text: str) -> int:
    """Return a whole number of at least 1."""
    if not text.strip().isdecimal() or int(text) < 1:
        raise argparse.ArgumentTypeError(f"{text!r} is not a whole number of at least 1")
    return int(text)


def kinds(text: str) -> tuple[str, ...]:
    """Return the kinds of file in a list such as "dxf,svg"."""
    asked = tuple(kind.strip().lower() for kind in text.split(",") if kind.strip())
    unknown = [kind for kind in asked if kind not in KINDS]
    if unknown or not asked:
        what = repr(unknown[0]) if unknown else "an empty list"
        raise argparse.ArgumentTypeError(f"{what} is none of {', '.join(KINDS)}")
    return asked


def widths(text: str) -> tuple[float, ...]:
    """Return widths in mm from a list such as "110 cm, 137 cm, 54 in"."""
    try:
        found = tuple(parse_length(item.strip()) for item in text.split(",") if item.strip())
    except JobError as error:
        raise argparse.ArgumentTypeError(str(error)) from error
    if not found or any(width <= 0 for width in found):
        raise argparse.ArgumentTypeError(f'{text!r} names no widths; write "110 cm, 54 in"')
    return found


def role(text: str) -> tuple[str, str]:
    """Return (layer, role) from "LAYER=ROLE"."""
    layer, equals, what = text.rpartition("=")
    if not equals or not layer.strip() or not what.strip():
        raise argparse.ArgumentTypeError(f'{text!r} names no role; write "LAYER=cut"')
    return layer.strip(), what.strip().lower()


def add_search(parser: argparse.ArgumentParser) -> None:
    """Add the options of commands that search."""
    parser.add_argument(
        "--time", type=duration, metavar="T", help="time for the whole job (default 30s)"
    )
    parser.add_argument(
        "--rounds", type=whole, metavar="N", help="rounds per lay: the same marker on any machine"
    )
    parser.add_argument("--seed", type=whole, default=1, metavar="N", help="seed (default 1)")
    parser.add_argument(
        "--workers", type=whole, metavar="N", help="processes (default: one a core)"
    )
    parser.add_argument("--json", action="store_true", help="print JSON for machines")


def add_stock(parser: argparse.ArgumentParser) -> None:
    """Add the option of commands that use what is at hand first."""
    parser.add_argument(
        "--stock", type=Path, metavar="FILE.toml", help="what is at hand, used first"
    )


def seconds(arguments: argparse.Namespace) -> float | None:
    """Return the time limit: 30 s unless time or rounds are given."""
    if arguments.time is not None:
        return float(arguments.time)
    return None if arguments.rounds is not None else 30.0
