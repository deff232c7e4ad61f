"""Finished searches kept on disk, so that an interrupted plan goes on where it stopped.

One small JSON file for each search: placements and how they came about, named by a
digest of the lay and of what was asked of the search. Nothing of the lay itself is
stored: whoever asks has it at hand.
"""

from __future__ import annotations

import dataclasses
import hashlib
import pathlib
import shutil
from enum import Enum

from pydantic import TypeAdapter, ValidationError

from nesting.marker.lay import Lay
from nesting.marker.marker import Marker, Placement
from nesting.pattern.path import Path
from nesting.pattern.path_words import words_of
from nesting.quantity import Quantity
from nesting.search.result import Result, Stopped, Unplaced
from nesting.whole import whole_file

__all__ = ["Store", "told"]


@dataclasses.dataclass(frozen=True, slots=True, kw_only=True)
class _Kept:
    """A result without its lay."""

    placements: tuple[Placement, ...]
    sheets: tuple[int, ...]
    stopped: Stopped
    bound: Quantity
    seconds: float
    first_seconds: float
    rounds: int
    seed: int
    workers: int
    bound_by: str = ""
    unplaced: tuple[Unplaced, ...]
    history: tuple[tuple[float, float], ...]


_ADAPTER = TypeAdapter(_Kept)


class Store:
    """Finished searches in a folder; `asked` names what was asked of them (time, seed)."""

    def __init__(self, folder: pathlib.Path, *, asked: str) -> None:
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
        fields["bound"] = kept.bound.of(lay.stock.taken_in)
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
        with whole_file(file, overwrite=True) as temporary:
            temporary.write_bytes(_ADAPTER.dump_json(kept))

    def clear(self) -> None:
        """Forget everything: the plan is finished."""
        shutil.rmtree(self.folder, ignore_errors=True)

    def _file(self, lay: Lay) -> pathlib.Path:
        name = f"{self.asked}\0{told(lay)}"
        return self.folder / f"{hashlib.sha256(name.encode()).hexdigest()[:32]}.json"


def told(value: object) -> str:
    """Return a value in words that are the same in every process, and differ if it does."""
    return _told(value, {})


def _told(value: object, known: dict[int, str]) -> str:
    """Return a value in words that are the same in every process (sets have no order).

    `known`: what was said of the objects met, by identity: parts share pieces, zones their leather.
    """
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        if id(value) not in known:
            if isinstance(value, Path):  # a hide's may have thousands of segments
                words = [words_of(value.segments)]
            else:
                words = [_told(getattr(value, f.name), known) for f in dataclasses.fields(value)]
            whole = "\0".join([type(value).__name__, *words])
            known[id(value)] = hashlib.sha256(whole.encode()).hexdigest()
        return known[id(value)]
    if isinstance(value, Enum):
        return str(value.value)
    if isinstance(value, frozenset):
        return "\0".join(["{", *sorted(_told(item, known) for item in value)])
    if isinstance(value, tuple):
        return "\0".join([f"({len(value)}", *(_told(item, known) for item in value)])
    return repr(value)
