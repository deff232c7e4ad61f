"""What the command prints: text of files is shown, and acts on nothing."""

from __future__ import annotations

import io
import json
import sys
import unicodedata
from contextlib import suppress
from typing import Any

__all__ = ["any_terminal", "plain", "say", "say_json"]


def any_terminal() -> None:
    """Let characters that a terminal lacks be written as escapes rather than fail."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            with suppress(ValueError, OSError):
                stream.reconfigure(errors="backslashreplace")


def plain(text: str) -> str:
    """Return the text without characters that a terminal would act on, but line ends."""
    return "".join(
        c if c == "\n" or c.isprintable() or unicodedata.category(c) == "Zs" else "?" for c in text
    )


def say(text: object = "", *, trouble: bool = False) -> None:
    """Print a text, as trouble on standard error."""
    print(plain(str(text)), file=sys.stderr if trouble else sys.stdout)


def say_json(data: Any, *, indent: int | None = None) -> None:
    """Print JSON for machines, in ASCII: the same on every terminal."""
    print(json.dumps(data, indent=indent, allow_nan=False))
