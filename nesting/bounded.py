"""Files read whole, but only ordinary ones of a bounded size."""

from __future__ import annotations

import re
import stat
from pathlib import Path

from nesting.errors import NestingError

__all__ = ["bytes_of", "endless_key", "text_of", "unread_value"]


# A key of so many steps serves no job, and takes a reader of TOML minutes.
_ENDLESS_KEY = re.compile(
    r"""(?:^|[{,])[ \t]*+\[{0,2}+(?:["']?[\w-]++["']?[ \t]*+\.[ \t]*+){100}""", re.MULTILINE
)


def endless_key(text: str) -> int | None:
    """Return the line of a TOML text in which a key has no end of steps, None if none has."""
    found = _ENDLESS_KEY.search(text)
    return None if found is None else text.count("\n", 0, found.start() + 1) + 1


def unread_value(error: ValueError) -> str:
    """Return why a value of a TOML file can't be read, in words of ours where Python's are odd."""
    why = str(error)
    return "a whole number of thousands of digits" if "digits" in why else why


def bytes_of(path: Path, *, most: int, what: str, error: type[NestingError]) -> bytes:
    """Return what is in an ordinary file of at most `most` bytes.

    A device or a pipe is never opened: it may hang, or have no end. `what` names the kind
    of file that is wanted, with its article; `error` is raised for all others.

    Raises
    ------
    NestingError
        Of the class `error`: the file can't be had, is no ordinary file, or too large.

    """
    where = str(path)
    try:
        mode = path.stat().st_mode
        if stat.S_ISDIR(mode):
            raise error("this is a folder", file=where, hint=f"name {what}")
        if not stat.S_ISREG(mode):
            raise error("this is not an ordinary file", file=where, hint=f"name {what}")
        with path.open("rb") as file:
            data = file.read(most + 1)
    except FileNotFoundError:
        raise error("there is no such file", file=where, hint="check the name") from None
    except (OSError, ValueError) as trouble:
        if isinstance(trouble, NestingError):
            raise
        why = (getattr(trouble, "strerror", None) or "the name is not usable").lower()
        raise error(f"the file can't be read: {why}", file=where) from None
    if len(data) > most:
        raise error(
            f"the file is larger than {most // 1_000_000} MB",
            file=where,
            hint=f"{what} is far smaller",
        )
    return data


def text_of(path: Path, *, most: int, what: str, error: type[NestingError]) -> str:
    """Return the text of such a file, in UTF-8."""
    try:
        return bytes_of(path, most=most, what=what, error=error).decode("utf-8-sig")
    except UnicodeDecodeError:
        raise error(
            "this is not a text file in UTF-8", file=str(path), hint="save it as UTF-8"
        ) from None
