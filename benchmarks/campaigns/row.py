"""What campaigns share: their options, and the row that they print."""

from __future__ import annotations

import argparse
import json
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path
from time import perf_counter

__all__ = ["Tally", "options"]


@dataclass(slots=True)
class Tally:
    """What one campaign has tried and found.

    `tried`, `found`: how many of what. `faults`: a line for each thing that is wrong, with
    the seed that shows it again. `notes`: what was measured.
    """

    name: str
    seed: int
    tried: Counter[str] = field(default_factory=Counter)
    found: Counter[str] = field(default_factory=Counter)
    faults: list[str] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    _started: float = field(default_factory=perf_counter)

    @property
    def seconds(self) -> float:
        """Since the campaign began."""
        return perf_counter() - self._started

    def row(self) -> str:
        """Return the campaign as a row: name, seed, seconds, tried, found, faults."""
        tried, found = (
            ", ".join(f"{n} {what}" for what, n in sorted(counts.items()))
            for counts in (self.tried, self.found)
        )
        faults = len(self.faults)
        return f"| {self.name} | {self.seed} | {self.seconds:.0f} | {tried} | {found} | {faults} |"

    def tell(self, file: Path | None = None, *, most: int = 40) -> int:
        """Print the row and the first faults; write all to a file. Return the exit status."""
        print("| campaign | seed | seconds | tried | found | faults |\n|---|---|---|---|---|---|")
        print(self.row())
        for line in self.faults[:most]:
            print(f"fault: {line}")
        if file is not None:
            told = {
                "name": self.name,
                "seed": self.seed,
                "seconds": round(self.seconds, 1),
                "tried": dict(self.tried),
                "found": dict(self.found),
                "faults": self.faults,
                "notes": self.notes,
            }
            file.write_text(json.dumps(told, indent=1) + "\n", encoding="utf-8")
        return 1 if self.faults else 0


def options(what: str, *, size: int) -> argparse.ArgumentParser:
    """Return a parser of the options that every campaign has."""
    parser = argparse.ArgumentParser(description=what)
    parser.add_argument("--size", type=int, default=size, help=f"how many (default: {size})")
    parser.add_argument("--seed", type=int, default=1, help="of all that is random (default: 1)")
    parser.add_argument("--json", type=Path, help="write what was found to this file")
    return parser
