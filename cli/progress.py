"""Live progress on standard error: a line per lay, rewritten in place on a terminal.

Elsewhere a line is added when a lay has its first marker, and now and then for those that
got better.
"""

from __future__ import annotations

import sys
import time
from typing import TextIO

from nesting import Amounts, Progress

__all__ = ["Display"]

# Seconds between plain lines where the output is no terminal.
_PLAIN_EVERY = 5.0
_LIVE_EVERY = 0.1


class Display:
    """Shows how far each lay is; `seconds` is the time for all of them, if limited."""

    def __init__(
        self,
        names: list[str],
        seconds: float | None,
        out: TextIO | None = None,
        *,
        amounts: Amounts,
    ) -> None:
        self._out = out or sys.stderr
        self._amounts = amounts
        self._latest: dict[str, Progress | None] = dict.fromkeys(names)
        self._changed: dict[str, None] = {}
        self._seconds = seconds
        self._began = self._shown = time.monotonic()
        self._live = self._out.isatty()
        self._lines = 0

    def __call__(self, name: str, progress: Progress) -> None:
        """Take a report; show it if the last one is old enough."""
        first = self._latest.get(name) is None
        self._latest[name] = progress
        now = time.monotonic()
        due = now - self._shown >= (_LIVE_EVERY if self._live else _PLAIN_EVERY)
        self._changed[name] = None
        if due or (first and not self._live):
            self._shown = now
            names = list(self._latest if self._live else self._changed if due else [name])
            for shown in names:
                self._changed.pop(shown, None)
            self._show(names)

    def close(self) -> None:
        """Show the last state and leave the cursor below it."""
        if self._live:
            self._show(list(self._latest))

    def _show(self, names: list[str]) -> None:
        width = max(len(name) for name in self._latest)
        left = ""
        if self._seconds is not None:
            left = f"   {max(0.0, self._seconds - (time.monotonic() - self._began)):.0f} s left"
        if self._live and self._lines:
            self._out.write(f"\x1b[{self._lines}A")
        clear = "\x1b[K" if self._live else ""
        for name in names:
            self._out.write(
                f"{clear}{name:<{width}}  {_state(self._latest[name], self._amounts)}{left}\n"
            )
        self._lines = len(names) if self._live else 0
        self._out.flush()


def _state(progress: Progress | None, amounts: Amounts) -> str:
    if progress is None:
        return "waiting"
    sheets = f" on sheet {progress.sheets}" if progress.sheets > 1 else ""
    return f"{100 * progress.density:5.1f} %  {amounts.needed(progress.length):>10}{sheets}"
