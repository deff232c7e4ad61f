"""What a person added to a file of pieces: kept when the pieces are written anew, or refused."""

from __future__ import annotations

import hashlib
import json
import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path as FilePath
from typing import Any

from tomlkit import parse
from tomlkit.exceptions import TOMLKitError
from tomlkit.items import Table

from nesting.bounded import text_of
from nesting.errors import WriteError
from nesting.limits import LARGEST_JOB

__all__ = ["FROM_FILE", "Kept", "checksum_line", "kept_of"]

FROM_FILE = "# from the file"
"""Stands beside every mark that the pattern file has; marks without it are a person's."""

_SUM = "# Checksum of what was written: "
_GIVEN = ("grain", "up_known")
"""Keys that a person is asked to look after, so a change to them is none to the rest."""
_WRITTEN = frozenset(
    {
        *("name", "outline", "line", "sewing_line", "up_known", "grain", "fold_axis", "motif"),
        *("hole", "mark"),
    }
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """What is kept of one piece, as TOML, and its grain if a person settled it."""

    keys: tuple[tuple[str, str], ...] = ()
    tables: tuple[tuple[str, str], ...] = ()
    marks: tuple[str, ...] = ()
    grain: float | None = None

    @property
    def words(self) -> list[str]:
        """What was added, for a sentence."""
        marks = f"{len(self.marks)} mark{'s' if len(self.marks) != 1 else ''}"
        return [*([marks] if self.marks else []), *(name for name, _ in self.keys + self.tables)]


def checksum_line(text: str) -> str:
    """Return the comment by which a later run knows what people changed since."""
    return f"{_SUM}{_checksum(tomllib.loads(text))}"


def kept_of(file: FilePath) -> dict[str, Kept]:
    """Return what people added to the pieces of a file, by the piece's name.

    Raises
    ------
    WriteError
        If something else in it was changed, or it holds pieces that this program didn't write.

    """
    try:
        text = text_of(file, most=LARGEST_JOB, what="a file of pieces", error=WriteError)
        data, document = tomllib.loads(text), parse(text)
    except (WriteError, tomllib.TOMLDecodeError, TOMLKitError, RecursionError, ValueError):
        return {}  # no file of pieces: whoever says so may replace it
    said = re.search(rf"^{_SUM}(\w+)$", text, re.MULTILINE)
    if said is None:
        if data.get("piece"):
            raise _refusal(file, "holds pieces that were not written by this command")
        return {}
    kept: dict[str, Kept] = {}
    for piece, plain in zip(document.get("piece", []), data.get("piece", []), strict=True):
        drawn = list(zip(plain.get("mark", []), piece.get("mark", []), strict=True))
        own = [mark for _, mark in drawn if FROM_FILE not in _comment(mark)]
        plain["mark"] = [inner for inner, mark in drawn if FROM_FILE in _comment(mark)]
        added = [key for key in plain if key not in _WRITTEN]
        items = [(key, piece.value.item(key)) for key in added]
        for key in added:
            del plain[key]
        settled = "up_known" not in plain and "grain" in plain
        kept[str(plain.get("name"))] = Kept(
            keys=tuple((k, str(i.as_string())) for k, i in items if not isinstance(i, Table)),
            tables=tuple((k, _body(i)) for k, i in items if isinstance(i, Table)),
            marks=tuple(_body(mark) for mark in own),
            grain=float(plain["grain"]) if settled else None,
        )
    if _checksum(data) != said[1]:
        raise _refusal(file, "was changed by hand, in more than marks added to it")
    return kept


def _checksum(data: Mapping[str, Any]) -> str:
    pieces = [
        {key: value for key, value in piece.items() if key not in _GIVEN and value != []}
        for piece in data.get("piece", [])
    ]
    plain = json.dumps({**data, "piece": pieces}, sort_keys=True, default=str)
    return hashlib.sha256(plain.encode()).hexdigest()[:16]


def _comment(mark: Any) -> str:
    return str(mark.trivia.comment)


def _body(mark: Any) -> str:
    """Return a mark's lines without its header."""
    return str(mark.as_string()).strip()


def _refusal(file: FilePath, what: str) -> WriteError:
    return WriteError(
        what,
        file=str(file),
        hint="write to another file and take over what you need, or remove this one",
    )
