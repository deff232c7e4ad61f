"""The files of an order: the plan's own, the work sheet and the buying list."""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import partial
from pathlib import Path as FilePath

from nesting.planning.buying.shopping import ShoppingList
from nesting.planning.plan import Plan
from nesting.writing.buying_csv import write_buying_csv, write_cost_csv
from nesting.writing.pages.wording import entry_title
from nesting.writing.pages.work_sheet import write_work_sheet
from nesting.writing.write import KINDS, Tell, WrittenFile, entry_file_stems, write_plan

__all__ = ["ORDER_FILES", "write_order"]

_MOST_NAMED = 4

ORDER_FILES = ("work-sheet.html", "buying.csv", "costs.csv")


def write_order(
    plan: Plan,
    bought: ShoppingList,
    folder: FilePath | str,
    *,
    kinds: Sequence[str] = KINDS,
    overwrite: bool = False,
    insist: bool = False,
    tell: Tell | None = None,
) -> tuple[FilePath, ...]:
    """Write everything an order needs into one folder; all of it, or nothing.

    Parameters
    ----------
    plan
        Of the order.
    bought
        Its buying list (`shopping_list`).
    folder
        Where to; it is made if it isn't there.
    kinds, overwrite, insist, tell
        As for `write_plan`; the work sheet and the lists are written whatever `kinds`.

    Returns
    -------
    tuple of Path
        The files written, the plan first.

    Raises
    ------
    WriteError
        As for `write_plan`.

    Examples
    --------
    >>> bought = shopping_list(plan)
    >>> [file.name for file in write_order(plan, bought, "order", kinds=["report"])]
    ['plan.json', 'report.html', 'work-sheet.html', 'buying.csv', 'costs.csv']

    """
    stems = entry_file_stems(plan)

    def further(names: Sequence[str]) -> list[WrittenFile]:
        files = {
            entry_title(entry): _files(stem, names)
            for entry, stem in zip(plan.entries, stems, strict=True)
        }
        writers = (
            partial(write_work_sheet, plan, files=files),
            partial(write_buying_csv, bought, amounts=plan.job.amounts),
            partial(write_cost_csv, bought),
        )
        return [
            WrittenFile(name, writer) for name, writer in zip(ORDER_FILES, writers, strict=True)
        ]

    return write_plan(
        plan,
        folder,
        kinds=kinds,
        overwrite=overwrite,
        insist=insist,
        bought=bought,
        tell=tell,
        further=further,
    )


def _files(stem: str, names: Sequence[str]) -> str:
    """Return which of the files are a marker's, in the order of its sheets."""
    mine = [n for n in names if re.fullmatch(re.escape(stem) + r"(-\d+-of-\d+)?\.dxf", n)]
    if len(mine) > _MOST_NAMED:
        return f"{mine[0]} to {mine[-1]}"
    return ", ".join(mine)
