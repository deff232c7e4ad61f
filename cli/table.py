"""Plain tables on standard output."""

from __future__ import annotations

from collections.abc import Sequence

__all__ = ["table"]


def table(head: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    """Return rows under their heads; the first column to the left, the others to the right."""
    widths = [max(len(row[i]) for row in [head, *rows]) for i in range(len(head))]

    def line(cells: Sequence[str]) -> str:
        first, *rest = (
            cell.ljust(w) if i == 0 else cell.rjust(w)
            for i, (cell, w) in enumerate(zip(cells, widths, strict=True))
        )
        return "   ".join([first, *rest]).rstrip()

    return "\n".join([line(head), *(line(row) for row in rows)])
