"""One lay searched once and judged: what the tables of copies, freedom and jigsaws are made of."""

from __future__ import annotations

import json
import time
from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path as File

from benchmarks.search.strip import seconds_of, total_area
from nesting.marker.check import check
from nesting.marker.figures import figures
from nesting.marker.lay import Lay, Strip
from nesting.search.result import Limits
from nesting.search.solve import search

__all__ = ["Trial", "ended", "limits_of", "tried"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Trial:
    """One case searched once: density (%), length (mm), seconds, what the judge found.

    `kind`: what of the case is varied (how many copies, which turns).
    """

    case: str
    kind: str
    parts: int
    density: float
    length: float
    seconds: float
    rounds: int
    seed: int
    findings: int


def tried(
    lay: Lay,
    *,
    limits: Limits,
    seed: int,
    kind: str = "",
    workers: int = 1,
    clock: Callable[[], float] = time.process_time,
) -> Trial:
    """Search a lay on cloth and judge the marker."""
    begin = clock()
    result = search(lay, limits=limits, seed=seed, workers=workers)
    spent = clock() - begin
    length = figures(result.marker).length
    assert isinstance(lay.stock, Strip)
    return Trial(
        case=lay.name,
        kind=kind,
        parts=len(lay.parts),
        density=100.0 * total_area(lay) / (length * lay.stock.width),
        length=length,
        seconds=spent,
        rounds=result.rounds,
        seed=seed,
        findings=len(check(result.marker)) + len(result.unplaced),
    )


def limits_of(*, rounds: int | None, said: str | None) -> Limits:
    """Return limits by a time that is said, else by rounds."""
    if said:
        return Limits(seconds=seconds_of(said))
    return Limits(seconds=None, rounds=rounds)


def ended(done: Sequence[Trial], file: str | None) -> int:
    """Write all as JSON if a file is named; return the exit code, 1 if the judge found anything."""
    if file:
        rows = json.dumps([asdict(one) for one in done], indent=1)
        File(file).write_text(rows + "\n", encoding="utf-8")
    return 0 if all(one.findings == 0 for one in done) else 1
