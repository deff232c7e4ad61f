"""Finished searches kept on disk, so that an interrupted plan goes on where it stopped.

One small JSON file for each search: placements and how they came about, named by a
digest of the lay and of what was asked of the search. Nothing of the lay itself is
stored: whoever asks has it at hand.
"""

from __future__ import annotations

import dataclasses
import hashlib
import shutil
from collections.abc import Iterator
from enum import Enum
from pathlib import Path

from pydantic import TypeAdapter, ValidationError

from nesting.marker.lay import Lay
from nesting.marker.marker import Marker, Placement
from nesting.search.result import Result, Stopped, Unplaced

__all__ = ["Store"]


@dataclasses.dataclass(frozen=True, slots=True, kw_only=True)
class _Kept:
    """A result without its lay."""

    placements: tuple[Placement, ...]
    sheets: tuple[int, ...]
    stopped: Stopped
    bound: float
    seconds: float
    first_seconds: float
    rounds: int
    seed: int
    workers: int
    unplaced: tuple[Unplaced, ...]
    history: tuple[tuple[float, float], ...]


_ADAPTER = TypeAdapter(_Kept)


class Store:
    """Finished searches in a folder; `asked` names what was asked of them (time, seed)."""

    def __init__(self, folder: Path, *, asked: str) -> None:
        self.folder = folder
        self.asked = asked

    def part(self, name: str) -> Store:
        """Return the same store for another part of the plan: a lay may come up in several."""
        return Store(self.folder, asked=f"{self.asked}, {name}")

    def get(self, lay: Lay) -> Result | None:
        """Return the kept result of a search of this lay, if there is one that can be read."""
        try:
            kept = _ADAPTER.validate_json(self._file(lay).read_bytes())
        except (OSError, ValidationError):
            return None
        fields = {f.name: getattr(kept, f.name) for f in dataclasses.fields(kept)}
        placements, sheets = fields.pop("placements"), fields.pop("sheets")
        return Result(marker=Marker(lay=lay, placements=placements, sheets=sheets), **fields)

    def put(self, lay: Lay, result: Result) -> None:
        """Keep a result, unless the search was interrupted: that one is to go on."""
        if result.stopped is Stopped.INTERRUPTED:
            return
        self.folder.mkdir(parents=True, exist_ok=True)
        fields = {f.name: getattr(result, f.name) for f in dataclasses.fields(result)}
        marker = fields.pop("marker")
        kept = _Kept(placements=marker.placements, sheets=marker.sheets, **fields)
        file = self._file(lay)
        temporary = file.with_suffix(".part")
        temporary.write_bytes(_ADAPTER.dump_json(kept))
        temporary.replace(file)

    def clear(self) -> None:
        """Forget everything: the plan is finished."""
        shutil.rmtree(self.folder, ignore_errors=True)

    def _file(self, lay: Lay) -> Path:
        digest = hashlib.sha256(self.asked.encode())
        for word in _words(lay):
            digest.update(word.encode())
            digest.update(b"\0")
        return self.folder / f"{digest.hexdigest()[:32]}.json"


def _words(value: object) -> Iterator[str]:
    """Yield a value as words that are the same in every process (sets have no order)."""
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        yield type(value).__name__
        for field in dataclasses.fields(value):
            yield from _words(getattr(value, field.name))
    elif isinstance(value, Enum):
        yield str(value.value)
    elif isinstance(value, frozenset):
        yield from sorted(word for item in value for word in _words(item))
    elif isinstance(value, tuple):
        yield f"({len(value)}"
        for item in value:
            yield from _words(item)
    else:
        yield repr(value)
