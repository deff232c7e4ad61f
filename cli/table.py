"""Plain tables on standard output."""

from __future__ import annotations

from collections.abc import Sequence
from io import StringIO

from .say import plain

__all__ = ["table"]

_WIDEST = 10_000  # letters


def table(head: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    """Return rows under their heads; the first column to the left, the others to the right."""
    from rich.console import Console
    from rich.table import Table
    from rich.text import Text

    grid = Table.grid(padding=(0, 3, 0, 0))
    for i in range(len(head)):
        grid.add_column(justify="right" if i else "left", no_wrap=True)
    for row in [head, *rows]:
        grid.add_row(*(Text(plain(cell).replace("\n", " ")) for cell in row))
    shown = StringIO()
    # As wide as it takes: who reads it breaks its lines, and a pipe has no width.
    Console(file=shown, width=_WIDEST, color_system=None).print(grid)
    return "\n".join(line.rstrip() for line in shown.getvalue().splitlines())
