"""What several commands take from the command line."""

from __future__ import annotations

import argparse
import difflib
import math
import re
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any, NoReturn

from nesting.errors import JobError
from nesting.units import length as parse_length

from .say import plain

__all__ = [
    "Parser",
    "add_json",
    "add_only",
    "add_replace",
    "add_search",
    "add_stock",
    "add_write",
    "duration",
    "grid",
    "kinds",
    "length",
    "meant",
    "new_command",
    "pages",
    "role",
    "share",
    "whole",
    "widths",
]

_UNITS = {"": 1.0, "s": 1.0, "m": 60.0, "h": 3600.0}
_TIME = r"\s*(\d+(?:\.\d+)?)\s*(?:(s)(?:ec(?:ond)?s?)?|(m)(?:in(?:ute)?s?)?|(h)(?:ours?)?)?\s*"
KINDS = ("dxf", "svg", "png", "report", "remnants")


class Parser(argparse.ArgumentParser):
    """A parser whose complaints are one line; options are written in full."""

    def __init__(self, *arguments: Any, **keywords: Any) -> None:
        keywords.setdefault("formatter_class", argparse.RawDescriptionHelpFormatter)
        keywords["allow_abbrev"] = False
        super().__init__(*arguments, **keywords)

    def parse_known_args(self, args: Any = None, namespace: Any = None) -> Any:
        """Refuse options that don't exist, before anything is missed."""
        if self._subparsers is None:
            self._refuse_unknown(args or ())
        return super().parse_known_args(args, namespace)

    def _refuse_unknown(self, words: Sequence[str]) -> None:
        known = list(self._option_string_actions)
        for word in words:
            if word == "--":
                return
            option = word.split("=")[0]
            if option.startswith("--") and option not in known:
                self.error(f"no option is named {option}{meant(option, known)}")

    def error(self, message: str) -> NoReturn:
        """End with exit status 2 and one line that says what is wrong."""
        self.exit(2, f"{self.prog}: {plain(message)[:400]} (see {self.prog} --help)\n")


def meant(word: str, known: Iterable[str]) -> str:
    """Return "; did you mean …?" where a known word is much like this one, or nothing."""
    alike = difflib.get_close_matches(word, list(known), n=1)
    return f"; did you mean {alike[0]}?" if alike else ""


def new_command(commands: Any, name: str, *, about: str, example: str) -> argparse.ArgumentParser:
    """Add a command with what it does and an example for its help."""
    parser: argparse.ArgumentParser = commands.add_parser(
        name,
        help=about,
        description=f"{about[0].upper()}{about[1:]}.",
        epilog=f"example:\n  {example}",
    )
    return parser


def duration(text: str) -> float:
    """Return seconds from "30s", "2m", "1 hour" or a bare number of seconds."""
    match = re.fullmatch(_TIME, text)
    value = float(match[1]) * _UNITS["".join(match.groups("")[1:])] if match else math.nan
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


def widths(text: str | None, *, unit: str) -> tuple[float, ...] | None:
    """Return widths in mm from a list such as "110 cm, 54 in"; plain numbers are in `unit`."""
    if text is None:
        return None
    found = tuple(length(item, unit=unit) for item in text.split(",") if item.strip())
    if not found or any(width <= 0 for width in found):
        raise JobError(f"{text!r} names no widths", hint='write "110 cm, 54 in"')
    return found


def length(text: str, *, unit: str) -> float:
    """Return mm from a length as it was typed; a plain number is in `unit`."""
    return parse_length(text.strip(), unit=unit)


def role(text: str) -> tuple[str, str]:
    """Return (layer, role) from "LAYER=ROLE"."""
    layer, equals, what = text.rpartition("=")
    if not equals or not layer.strip() or not what.strip():
        raise argparse.ArgumentTypeError(f'{text!r} names no role; write "LAYER=cut"')
    return layer.strip(), what.strip().lower()


def pages(text: str) -> tuple[int, ...]:
    """Return page numbers, from 1, of a list such as "3-14" or "3,5-8"."""
    found: list[int] = []
    for one in text.split(","):
        match = re.fullmatch(r"\s*(\d{1,4})\s*(?:[-–]\s*(\d{1,4}))?\s*", one)
        first, last = (int(match[1]), int(match[2] or match[1])) if match else (0, 0)
        if not 1 <= first <= last:
            raise argparse.ArgumentTypeError(f"{text!r} names no pages; write 3-14 or 3,5-8")
        found += range(first, last + 1)
    return tuple(dict.fromkeys(found))


def grid(text: str) -> tuple[int, int, bool]:
    """Return columns, rows and whether pages go on downwards, of "4x3" or "4x3 by columns"."""
    match = re.fullmatch(r"\s*(\d{1,3})\s*[x×]\s*(\d{1,3})\s*(by (?:columns|rows))?\s*", text)
    columns, rows = (int(match[1]), int(match[2])) if match else (0, 0)
    if match is None or not (columns and rows):
        raise argparse.ArgumentTypeError(
            f'{text!r} is no grid; write columns × rows, as 4x3, or "4x3 by columns"'
        )
    return columns, rows, match[3] == "by columns"


def place(text: str) -> tuple[float, float]:
    """Return the column and row of "120,1480"."""
    match = re.fullmatch(r"\s*(\d{1,5}(?:\.\d+)?)\s*,\s*(\d{1,5}(?:\.\d+)?)\s*", text)
    if match is None:
        raise argparse.ArgumentTypeError(
            f"{text!r} is no place in a picture; write column,row in pixels, as 120,1480"
        )
    return float(match[1]), float(match[2])


def add_search(
    parser: argparse.ArgumentParser,
    *,
    time: str = "how long to search, all markers together",
    default: str = "30s",
) -> None:
    """Add the options of commands that search; `time`: what for, `default`: how long, in words."""
    parser.add_argument(
        "--time",
        type=duration,
        metavar="T",
        help=f"{time} (default {default}); reading the job before and writing the files after take"
        " time besides",
    )
    parser.add_argument(
        "--rounds",
        type=whole,
        metavar="N",
        help="rounds for each marker, instead of a time: the same marker on any machine",
    )
    parser.add_argument(
        "--seed",
        type=whole,
        default=1,
        metavar="N",
        help="another number, another search (default 1)",
    )
    parser.add_argument(
        "--workers",
        type=whole,
        metavar="N",
        help="how many searches side by side (default: one a core)",
    )
    add_json(parser)


def add_json(parser: argparse.ArgumentParser) -> None:
    """Add the option of commands that tell machines what they tell people."""
    parser.add_argument("--json", action="store_true", help="print JSON for machines")


def add_only(parser: argparse.ArgumentParser, *names: str) -> None:
    """Add the option of commands that can keep to some of the materials, with its other names."""
    help_ = "this material only (may be repeated)"
    parser.add_argument("--only", *names, action="append", metavar="MATERIAL", help=help_)


def add_write(parser: argparse.ArgumentParser) -> None:
    """Add the options of commands that write a plan's files."""
    parser.add_argument(
        "--write", type=kinds, default=KINDS, metavar="KINDS", help=f"of {','.join(KINDS)}"
    )
    parser.add_argument(
        "--insist",
        action="store_true",
        help="write markers that have faults, too; the files say so",
    )


def add_replace(parser: argparse.ArgumentParser) -> None:
    """Add the option of commands that write files."""
    parser.add_argument("--replace", action="store_true", help="replace files that are there")


def add_stock(parser: argparse.ArgumentParser) -> None:
    """Add the option of commands that use what is at hand first."""
    parser.add_argument(
        "--stock", type=Path, metavar="FILE.toml", help="what is at hand, used first"
    )


def seconds(arguments: argparse.Namespace, *, usual: float = 30.0) -> float | None:
    """Return the time limit: the usual one (s) unless time or rounds are given."""
    if arguments.time is not None:
        return float(arguments.time)
    return None if arguments.rounds is not None else usual
