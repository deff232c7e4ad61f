"""Stock at hand in a file that a cut plan updates; whatever else it says stays as it is.

The file is TOML and ours; a job may include it (`nesting.job.tables.job_table.IncludeTable`)::

    [at_hand]                    # cloth by lengths, sheets and notions by number
    "outer canvas" = [{ length = "240 cm", width = "145 cm" }, "90 cm"]
    "foam" = 3

    [[hide]]                     # as a job's [[leather.hide]]
    name = "calf 7"
    material = "calf"
    outline = "M 0 0 L 900 0 L 900 600 L 0 600 Z"

    [[remnant]]                  # as in a job file
    name = "foam rest 1"
    material = "foam"
    outline = "M 0 0 L 300 0 L 300 180 L 0 180 Z"

    [book]
    cut = ["…"]                  # plans already taken off: none is taken off twice
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from contextlib import ExitStack
from dataclasses import dataclass, replace
from pathlib import Path as FilePath

from tomlkit import TOMLDocument, dumps, parse, table

from nesting.errors import JobError
from nesting.job.at_hand import amount_at_hand
from nesting.job.opening import include_table
from nesting.job.source import Source, read_text
from nesting.job.tables.job_table import IncludeTable
from nesting.material.material import Cloth
from nesting.names import listed
from nesting.planning.buying.book import entered, plan_mark
from nesting.planning.buying.shopping import Purchase, shopping_list
from nesting.planning.buying.stock_lengths import StockLengths, cut_rolls, new_cloth_left
from nesting.planning.buying.stock_remnants import move_remnants, remnant_areas
from nesting.planning.plan import Plan
from nesting.shown import Brief
from nesting.whole import whole_file

__all__ = [
    "Stock",
    "Taken",
    "after_cutting",
    "after_cutting_all",
    "read_stock",
    "write_stock",
    "write_stocks",
]


@dataclass(frozen=True, slots=True, kw_only=True, repr=False)
class Stock(Brief):
    """A stock file: its text, and what it says."""

    text: str
    table: IncludeTable
    file: str | None = None

    @property
    def cut(self) -> tuple[str, ...]:
        """The marks of the plans that were taken off."""
        return tuple(self.table.book.cut)


@dataclass(frozen=True, slots=True, kw_only=True, repr=False)
class Taken(Brief):
    """The stock after a plan was cut, and what changed."""

    stock: Stock
    changes: tuple[str, ...]


def read_stock(path: FilePath | str) -> Stock:
    """Read a stock file.

    Raises
    ------
    JobError
        It can't be read, or a value in it can't be used; says where.

    """
    return stock_from_text(read_text(FilePath(path)), file=str(path))


def stock_from_text(text: str, *, file: str | None = None) -> Stock:
    """Read the text of a stock file; `file` is its name, if it has one."""
    source = Source(text, file=file)
    found = Stock(text=text, table=include_table(source), file=file)
    remnant_areas(found.table, source)
    return found


def after_cutting(stock: Stock, plan: Plan) -> Taken:
    """Return the stock after a plan was cut: what it used is gone, what it leaves is there.

    Exactly what the plan took from stock is taken off: plies from the lengths they were laid
    from, sheets, notions and remnants. What was bought and not cut comes to the stock, as
    do the left-overs worth keeping.

    Raises
    ------
    JobError
        The plan was taken off before, or uses more than is there: then nothing is taken.

    """
    return after_cutting_all((stock,), plan)[0]


def after_cutting_all(stocks: Sequence[Stock], plan: Plan) -> tuple[Taken, ...]:
    """Return several stock files after a plan was cut, each with the goods that stand in it.

    What stands in none comes to the first. A file that the plan was taken off already stays as
    it is, so that what was ended half-way can be done once more.

    Raises
    ------
    JobError
        The plan was taken off all of them, uses more than is there, or goods stand in several.

    """
    if all(entered(plan, stock.cut) for stock in stocks):
        raise JobError(
            "this plan was taken off the stock before", hint="each plan is taken off once"
        )
    goods = [line.name for line in shopping_list(plan).lines]
    home = {name: _home(name, stocks) for name in goods}
    known = {name for stock in stocks for name, _ in _left_overs(stock)}
    return tuple(
        Taken(stock=stock, changes=())
        if entered(plan, stock.cut)
        else _taken(stock, plan, of={name for name in goods if home[name] is stock}, known=known)
        for stock in stocks
    )


def _left_overs(stock: Stock) -> list[tuple[str, str | None]]:
    """Return the remnants and hides of a stock: each one's name and what it is of."""
    remnants = [(one.name, one.material) for one in stock.table.remnant]
    return remnants + [(one.name, one.material) for one in stock.table.hide]


def _home(name: str, stocks: Sequence[Stock]) -> Stock:
    """Return the stock that has some goods; the first if none has."""
    found = [
        stock
        for stock in stocks
        if name in stock.table.at_hand
        or any(material == name for _, material in _left_overs(stock))
    ]
    if len(found) > 1:
        files = listed([FilePath(stock.file or "?").name for stock in found])
        raise JobError(
            f"{name} stands in several stock files: {files}",
            hint="nothing was taken off; put all of it into one of them",
        )
    return (found or stocks)[0]


def _taken(stock: Stock, plan: Plan, *, of: Collection[str], known: Collection[str]) -> Taken:
    """Take the goods that are named off one stock; `known`: names that remnants have already."""
    document = parse(stock.text)
    changes: list[str] = []
    short: list[str] = []
    cloths = {cloth.name: cloth for cloth in plan.job.cloths}
    for line in shopping_list(plan).lines:
        goods = plan.job.material(line.name)
        if line.name not in of:
            continue
        if line.name in cloths:
            changes += _cut_cloth(document, stock, plan, cloths[line.name])
        elif goods is None or not goods.is_leather:
            _count(document, stock, line, changes, short)
    mine = replace(plan, entries=tuple(e for e in plan.entries if e.material.name in of))
    source = Source(stock.text, file=stock.file)
    changes += move_remnants(document, stock.table, source, mine, known=known)
    if short:
        raise JobError(
            f"too little is at hand: {listed(short)}",
            file=stock.file,
            hint="used meanwhile? Nothing was taken off: count again, put the file right",
        )
    book = document.setdefault("book", table())
    book["cut"] = [*stock.cut, plan_mark(plan)]
    text = dumps(document)
    return Taken(stock=stock_from_text(text, file=stock.file), changes=tuple(changes))


def _cut_cloth(document: TOMLDocument, stock: Stock, plan: Plan, cloth: Cloth) -> Iterator[str]:
    """Take the plies of a cloth off its lengths, and add what is left of the new cloth."""
    entries = [e for e in plan.entries_of(cloth.name) if e.marker.lay.stock.open_ended]
    lengths = StockLengths(document, stock.table, cloth, job_unit=plan.job.unit)
    if cloth.roll_widths:
        yield from lengths.take(cut_rolls(entries, cloth))
    left = new_cloth_left(entries, cloth, spare=plan.spare)
    if left > 0.0 and entries[0].width is not None:
        yield lengths.add(left, entries[0].width)
    lengths.write()


def _count(
    document: TOMLDocument, stock: Stock, line: Purchase, changes: list[str], short: list[str]
) -> None:
    """Take sheets or notions off, and add what was bought and not used."""
    have = stock.table.at_hand.get(line.name)
    unit = line.net.unit
    before = 0.0 if have is None else amount_at_hand(have, unit)
    # What is asked for as spare is at hand still, or was bought on top.
    used = min(line.stock, line.net)
    left = max(0.0, (line.to_buy - (line.net - used)).value)
    if used.value > before + 1e-9:
        short.append(f"the plan uses {used.value:g} of {line.name}, {before:g} are there")
    after = round(max(0.0, before - used.value) + left, 6)
    if after == before:
        return
    at_hand = document.setdefault("at_hand", table())
    number: int | float = int(after) if after == int(after) else after
    written_as_length = have is not None and have.number is None
    at_hand[line.name] = f"{number:g} {unit}" if written_as_length else number
    changes.append(f"{line.name}: {before:g} before, {after:g} now")


def write_stock(stock: Stock, path: FilePath | str) -> None:
    """Replace the stock file, whole or not at all.

    Raises
    ------
    WriteError
        It can't be written.

    """
    file = FilePath(path)
    with whole_file(file, overwrite=True) as temporary:
        temporary.write_text(stock.text, encoding="utf-8")


def write_stocks(stocks: Sequence[Stock]) -> None:
    """Replace several stock files, each known by its name: all of them or none.

    Raises
    ------
    WriteError
        One of them can't be written.

    """
    with ExitStack() as waiting:
        for stock in stocks:
            temporary = waiting.enter_context(
                whole_file(FilePath(stock.file or ""), overwrite=True)
            )
            temporary.write_text(stock.text, encoding="utf-8")
