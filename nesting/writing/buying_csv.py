"""The buying list as comma-separated values (RFC 4180), for a spreadsheet."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence
from pathlib import Path as FilePath

from nesting.amounts import METRIC, Amounts
from nesting.planning.buying.shopping import Purchase, ShoppingList
from nesting.quantity import Unit
from nesting.units import AREA_UNITS, LENGTH_UNITS
from nesting.writing.files import one_line, whole_file

__all__ = ["buying_csv", "cost_csv", "write_buying_csv", "write_cost_csv"]

_HEAD = (
    *("item", "unit", "width", "width_unit", "net", "gross"),
    *("from_stock", "remnants", "to_buy", "cost"),
)
_COST_HEAD = ("bag", "how_many", "item", "cost_of_one_bag")


def write_buying_csv(
    bought: ShoppingList, path: FilePath, *, amounts: Amounts = METRIC, overwrite: bool = False
) -> None:
    """Write the buying list, whole or not at all, in the job's units."""
    with whole_file(path, overwrite=overwrite) as temporary:
        temporary.write_text(buying_csv(bought, amounts=amounts), encoding="utf-8", newline="")


def write_cost_csv(bought: ShoppingList, path: FilePath, *, overwrite: bool = False) -> None:
    """Write what one bag of each design costs, part by part."""
    with whole_file(path, overwrite=overwrite) as temporary:
        temporary.write_text(cost_csv(bought), encoding="utf-8", newline="")


def buying_csv(bought: ShoppingList, *, amounts: Amounts = METRIC) -> str:
    """Return the buying list as text; lengths in m or yd, leather in dm² or ft²."""
    return _csv(_HEAD, (_row(line, amounts) for line in bought.lines))


def cost_csv(bought: ShoppingList) -> str:
    """Return the costs of one bag of each design as text, the sum last."""
    rows = []
    for cost in bought.bag_costs:
        named = (_plain(cost.bag), str(cost.count))
        rows += [[*named, _plain(item), f"{share:.2f}"] for item, share in cost.parts]
        rows.append([*named, "sum", f"{cost.each:.2f}"])
    return _csv(_COST_HEAD, rows)


def _csv(head: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(head)
    writer.writerows(rows)
    return out.getvalue()


def _row(line: Purchase, amounts: Amounts) -> list[str]:
    known: dict[str, tuple[str, float]] = {
        Unit.LENGTH: (amounts.length_unit, LENGTH_UNITS[amounts.length_unit]),
        Unit.AREA: (amounts.leather_unit, AREA_UNITS[amounts.leather_unit]),
    }
    unit, factor = known.get(line.net.unit, (line.net.unit, 1.0))
    width = (
        ["", ""]
        if line.width is None
        else [f"{line.width / LENGTH_UNITS[amounts.width_unit]:.5g}", amounts.width_unit]
    )
    return [
        _plain(line.name),
        _plain(unit),
        *width,
        *(f"{one.value / factor:.3f}" for one in (line.net, line.gross, line.stock)),
        _plain("; ".join(line.remnants)),
        f"{line.to_buy.value / factor:.3f}",
        "" if line.cost is None else f"{line.cost:.2f}",
    ]


def _plain(text: str) -> str:
    """Keep a spreadsheet from taking a name for a formula."""
    line = one_line(text)
    return f"'{line}" if line[:1] in {"=", "+", "-", "@"} else line
