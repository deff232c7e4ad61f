"""Live progress on standard error: a line per lay, rewritten in place on a terminal.

Elsewhere a line is added when a lay has its first marker, and now and then for those that
got better.
"""

from __future__ import annotations

import sys
import time
from typing import TYPE_CHECKING, Self, TextIO

from rich.console import Console, Group
from rich.live import Live
from rich.text import Text

if TYPE_CHECKING:
    from nesting.amounts import Amounts
    from nesting.search.result import Progress

__all__ = ["Display"]

# Seconds between plain lines where the output is no terminal.
_PLAIN_EVERY = 5.0
_LIVE_A_SECOND = 4
# Lines of the terminal left to what stood there before.
_LEFT_ALONE = 3


class Display:
    """Shows how far each lay is; `seconds` is the time for all of them, if limited.

    On a terminal it shows something from the first second on, is never wider or higher
    than the terminal, and leaves nothing behind when its ``with`` block ends.
    """

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
        self._after = ""
        self._live: Live | None = None
        self._console = Console(file=self._out, highlight=False, markup=False)

    def __enter__(self) -> Self:
        """Show that work has begun."""
        if self._console.is_terminal and not self._console.is_dumb_terminal:
            self._live = Live(
                get_renderable=self._lines,
                console=self._console,
                refresh_per_second=_LIVE_A_SECOND,
                transient=True,
                redirect_stdout=False,
                redirect_stderr=False,
            )
            self._live.start(refresh=True)
        return self

    def __exit__(self, *_: object) -> None:
        """Clear what is shown."""
        if self._live is not None:
            self._live.stop()
            self._live = None

    def __call__(self, progress: Progress) -> None:
        """Take a report; show it if the last one is old enough."""
        name = progress.lay
        first = self._latest.get(name) is None
        self._latest = {**self._latest, name: progress}  # a new one: another thread draws it
        if self._live is not None:
            return
        now = time.monotonic()
        due = now - self._shown >= _PLAIN_EVERY
        self._changed[name] = None
        if due or first:
            self._shown = now
            for shown in list(self._changed) if due else [name]:
                self._changed.pop(shown, None)
                self._out.write(f"{self._line(shown)}   {self._left()}".rstrip() + "\n")
            self._out.flush()

    def say(self, what: str) -> None:
        """Show, in place of the time left, what is done after the search."""
        self._after = what
        if self._live is not None:
            self._live.refresh()
        else:
            self._out.write(f"{what}\n")
            self._out.flush()

    def writing(self, name: str, number: int, count: int) -> None:
        """Show which file is being written; elsewhere than on a terminal, once how many."""
        if self._live is not None:
            self.say(f"writing {name} ({number} of {count})")
        elif number == 1:
            self.say(f"writing {count} files")

    def _lines(self) -> Group:
        """Return what a terminal shows: what goes on, then as many lays as there is room for."""
        names = list(self._latest)
        room = max(1, self._console.height - _LEFT_ALONE)
        shown = names[-room:]
        spent = f"{time.monotonic() - self._began:.0f} s"
        state = self._after or self._left() or f"{spent} so far"
        if not self._after and all(entry is None for entry in self._latest.values()):
            state = f"getting ready   {state}"
        hidden = len(names) - len(shown)
        head = f"{state}   ({hidden} lays more)" if hidden else state
        lines = [head, *(self._line(name) for name in shown)]
        return Group(*(Text(line, no_wrap=True, overflow="ellipsis") for line in lines))

    def _line(self, name: str) -> str:
        width = max(len(other) for other in self._latest)
        return f"{_state(self._latest[name], self._amounts)}  {name:<{width}}".rstrip()

    def _left(self) -> str:
        """Return the time left, or that the last searches are ending."""
        if self._seconds is None:
            return ""
        left = self._seconds - (time.monotonic() - self._began)
        return f"{left:.0f} s left" if left >= 0.5 else "ending the searches"


def _state(progress: Progress | None, amounts: Amounts) -> str:
    if progress is None:
        return f"{'waiting':>7}  {'':>10}"
    sheets = f" on sheet {progress.sheets}" if progress.sheets > 1 else ""
    length = amounts.needed(progress.length) if progress.length else ""  # of sheets there is none
    return f"{100 * progress.density:5.1f} %  {length:>10}{sheets}"
