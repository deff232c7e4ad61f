"""What a benchmark says: printed as it comes, and put into RESULTS.md under its own heading.

Other sections of the file stay as they are; a new one comes before the campaigns.
"""

from __future__ import annotations

import os
import subprocess
import sys
import textwrap
from datetime import date
from pathlib import Path as File

__all__ = ["CAMPAIGNS", "RESULTS", "Section", "commit", "replaced"]

RESULTS = File(__file__).parent / "RESULTS.md"
CAMPAIGNS = "## Campaigns"


class Section:
    """A section that is being measured.

    `what`: what its figures are, said after the command, the day, the commit and the load.
    """

    def __init__(self, heading: str, what: str) -> None:
        self.heading = heading
        self.what = what
        self.lines: list[str] = []
        self._began = os.getloadavg()[0]

    def say(self, line: str) -> None:
        """Print a line, and keep it."""
        print(line, flush=True)
        self.lines += line.split("\n")

    def put(self, file: File | None) -> None:
        """Put what was said into a file in the place of what stood there; None: don't."""
        if file is None:
            return
        loads = sorted((self._began, os.getloadavg()[0]))
        words = " ".join([_program(), *map(_plain, sys.argv[1:])])
        intro = (
            f"`{words}` on {date.today().isoformat()}, commit {commit()}, load {loads[0]:.1f} to "
            f"{loads[1]:.1f} on {os.cpu_count()} cores. {self.what}"
        )
        lines = [f"## {self.heading}", "", *textwrap.wrap(intro, 105), "", *self.lines, ""]
        there = file.read_text(encoding="utf-8") if file.exists() else "# What the search reaches\n"
        file.write_text(replaced(there, lines), encoding="utf-8")


def replaced(text: str, lines: list[str]) -> str:
    """Return a text of sections with those of `lines` in the place of their namesakes."""
    old, new = _sections(text.splitlines()), _sections(lines)
    head = new.pop("", None) or old.pop("", [])
    old.pop("", None)
    last = {name: old.pop(name) for name in (CAMPAIGNS,) if name in old and name not in new}
    whole = [*head]
    for section in {**old, **new, **last}.values():
        whole += ["", *section] if whole and whole[-1] else section
    return "\n".join(whole).rstrip("\n") + "\n"


def _sections(lines: list[str]) -> dict[str, list[str]]:
    """Return the lines of each section by its heading; what is above all by none."""
    found: dict[str, list[str]] = {}
    heading = ""
    for line in lines:
        if line.startswith("## "):
            heading = line
        if line or heading in found:
            found.setdefault(heading, []).append(line)
    return found


def _plain(word: str) -> str:
    """Return a word of the command without the folders of this machine."""
    return File(word).name if "/" in word else word


def _program() -> str:
    """Return how the benchmark was started, in words that work anywhere."""
    main = sys.modules["__main__"]
    spec = getattr(main, "__spec__", None)
    return f"python -m {spec.name}" if spec else f"python benchmarks/{File(sys.argv[0]).name}"


def commit() -> str:
    """Return the commit that is measured; "+" after it says that files differ from it."""
    told = subprocess.run(
        ["git", "describe", "--always", "--abbrev=7", "--dirty=+", "--exclude=*"],
        capture_output=True,
        text=True,
        check=False,
        cwd=RESULTS.parent,
    )
    return told.stdout.strip() or "unknown"
