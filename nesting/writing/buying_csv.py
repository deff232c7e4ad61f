"""The buying list as comma-separated values (RFC 4180), for a spreadsheet."""

from __future__ import annotations

import csv
import io
from pathlib import Path as FilePath

from nesting.planning.shopping import Purchase, ShoppingList
from nesting.writing.files import one_line, whole_file

__all__ = ["buying_csv", "write_buying_csv"]

_HEAD = ("item", "unit", "width_cm", "net", "gross", "at_hand", "to_buy", "cost")
# How a line's own unit is written, and how many of its units make one of those.
_UNITS = {"mm": ("m", 1000.0), "mm²": ("m²", 1e6)}


def write_buying_csv(bought: ShoppingList, path: FilePath, *, overwrite: bool = False) -> None:
    """Write the buying list, whole or not at all."""
    with whole_file(path, overwrite=overwrite) as temporary:
        temporary.write_text(buying_csv(bought), encoding="utf-8", newline="")


def buying_csv(bought: ShoppingList) -> str:
    """Return the buying list as text; lengths in m, areas in m²."""
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(_HEAD)
    writer.writerows(_row(line) for line in bought.lines)
    return out.getvalue()


def _row(line: Purchase) -> list[str]:
    unit, factor = _UNITS.get(line.unit, (line.unit, 1.0))
    return [
        _plain(line.name),
        _plain(unit),
        "" if line.width is None else f"{line.width / 10:g}",
        *(f"{value / factor:.3f}" for value in (line.net, line.gross, line.stock, line.to_buy)),
        "" if line.cost is None else f"{line.cost:.2f}",
    ]


def _plain(text: str) -> str:
    """Keep a spreadsheet from taking a name for a formula."""
    line = one_line(text)
    return f"'{line}" if line[:1] in {"=", "+", "-", "@"} else line
