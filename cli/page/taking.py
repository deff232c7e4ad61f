"""How long a search takes, in words and back."""

from __future__ import annotations

from argparse import ArgumentTypeError
from typing import Any

from nesting.errors import JobError

from ..arguments import duration

__all__ = ["searching_time", "time_said"]

_MOST = 24 * 3600.0
"""Seconds that a search may take."""


def searching_time(asked: dict[str, Any]) -> float | None:
    """Return the seconds that a page asks for as `time`: "2 min"; None leaves it as it is.

    Raises
    ------
    JobError
        It is no length of time, none at all or more than a day.

    """
    text = str(asked.get("time") or "").strip()
    if not text:
        return None
    try:
        seconds = duration(text)
    except ArgumentTypeError:
        raise JobError(
            f"{text[:40]!r} is no length of time", hint="say 30 s, 2 min or 1 h"
        ) from None
    if not 0.0 < seconds <= _MOST:
        raise JobError("a search takes some seconds, and a day at most", hint="say 2 min")
    return seconds


def time_said(seconds: float) -> str:
    """Return a length of time as people say it, which `searching_time` reads."""
    for unit, size in (("h", 3600.0), ("min", 60.0)):
        if seconds >= size and seconds % size == 0.0:
            return f"{seconds / size:g} {unit}"
    return f"{seconds:g} s"
