"""What a plan asks to be bought, added up a second time, and whether every list says so."""

from __future__ import annotations

import csv
import math
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

from ..asked.amounts import MILLIMETRES, SQUARE, Units
from ..asked.cutting_list import Job
from ..asked.goods import Goods, spot_of
from ..rules.answer import Entry
from ..rules.buying import gross_of, needed_of, taken_of

__all__ = ["Line", "csv_wrong", "lines_of", "report_wrong", "told_wrong"]

_INCHES = ("in", "ft", "yd")


@dataclass(frozen=True)
class Line:
    """A line of the buying list: mm, mm² or how many; `cost` None without a price."""

    name: str
    unit: str
    net: float
    gross: float
    stock: float
    to_buy: float
    cost: float | None
    width: float | None = None
    owned: tuple[str, ...] = ()


def lines_of(entries: Sequence[Entry], job: Job) -> list[Line]:
    """Return the buying list of a plan."""
    names = dict.fromkeys(entry.material for entry in entries)
    lines = [_goods([e for e in entries if e.material == name], job.goods[name]) for name in names]
    return lines + list(_notions(job))


def _goods(entries: Sequence[Entry], goods: Goods) -> Line:
    owned = tuple(name for entry in entries for name in _owned(entry, goods))
    if goods.kind == "cloth":
        return _cloth([e for e in entries if e.from_roll], goods, owned)
    if goods.kind == "sheet":
        new = float(sum(name == goods.name for entry in entries for name in entry.sheets))
        held = min(new, float(goods.at_hand))
        cost = _price(goods.price, new - held)
        return Line(goods.name, "sheets", new, new, held, new - held, cost, owned=owned)
    opened = {name for entry in entries for name in entry.sheets}
    spots = {spot.name: spot for name in opened if (spot := spot_of(goods, name)) is not None}
    area = sum(spot.whole for spot in spots.values() if not spot.owned)
    cost = _price(None if goods.price is None else goods.price / 1e6, area)
    return Line(goods.name, "mm²", area, area, 0.0, area, cost, owned=owned)


def _owned(entry: Entry, goods: Goods) -> list[str]:
    """Return the names of what is used up: left-overs, and hides from stock."""
    spots = {spot_of(goods, name) for name in entry.sheets}
    return sorted(spot.name for spot in spots if spot is not None and spot.owned)


def _cloth(entries: Sequence[Entry], goods: Goods, owned: tuple[str, ...]) -> Line:
    if not entries:
        return Line(goods.name, "mm", 0.0, 0.0, 0.0, 0.0, 0.0, owned=owned)
    net, gross = (math.fsum(of(e, goods) for e in entries) for of in (needed_of, gross_of))
    held = math.fsum(sum(taken_of(entry, goods).values()) for entry in entries)
    short = max(0.0, gross - held)
    bought = math.ceil((short - 1e-3) / goods.step) * goods.step if goods.step else short
    booked = entries[0].width["booked"] if entries[0].width else None
    each = next((w[2] for w in goods.widths if booked and abs(w[0] - booked) < 1e-6), None)
    cost = 0.0 if bought <= 0.0 else _price(each, bought / 1000.0)
    return Line(goods.name, "mm", net, gross, held, max(bought, 0.0), cost, booked, owned)


def _price(each: float | None, amount: float) -> float | None:
    if amount == 0.0:
        return 0.0
    return None if each is None else each * amount


def _notions(job: Job) -> Iterator[Line]:
    """Yield a line a notion; what is at hand is used once."""
    needed: dict[tuple[str, float | None], float] = {}
    for name, amount, price in job.notions:
        needed[name, price] = needed.get((name, price), 0.0) + amount
    held = {name: job.shelf.number(name) if job.shelf else 0.0 for name, _ in needed}
    for (name, price), amount in needed.items():
        used = min(held[name], amount)
        held[name] -= used
        bought = amount - used
        yield Line(name, "", amount, amount, used, bought, _price(price, bought))


def told_wrong(told: dict[str, Any], lines: Sequence[Line], job: Job) -> Iterator[str]:
    """Yield what is wrong in the list that commands print for machines; mm and mm²."""
    if len(told["buying"]) != len(lines):
        yield f"{len(told['buying'])} lines are told, {len(lines)} there are"
        return
    for said, line in zip(told["buying"], lines, strict=True):
        near = 2.0 if line.unit == "mm²" else 0.06
        for key in ("net", "gross", "stock", "to_buy", "cost", "width"):
            if not _same(said[key], getattr(line, key), within=0.011 if key == "cost" else near):
                yield f"{line.name}: {key} is {getattr(line, key)}, told: {said[key]}"
        if (said["name"], said["unit"]) != (line.name, line.unit):
            yield f"{line.name} in {line.unit!r} is told as {said['name']} in {said['unit']!r}"
        if tuple(sorted(said["remnants"])) != line.owned:
            yield f"{line.name}: {line.owned} are used up, told: {said['remnants']}"
    unpriced = [line.name for line in lines if line.cost is None]
    if list(told["unpriced"]) != unpriced:
        yield f"{unpriced} have no price, told: {told['unpriced']}"
    total = None if unpriced else sum(round(line.cost or 0.0, 2) for line in lines)
    each = None if total is None else total / job.bags
    for key, wanted in (("cost", total), ("cost_per_bag", each)):
        if not _same(told[key], wanted, within=0.011):
            yield f"{key} is {wanted}, told: {told[key]}"
    if total is not None:
        paid = sum(one["count"] * sum(p for _, p in one["parts"]) for one in told["bag_costs"])
        if abs(paid - total) > 0.01 * len(lines) + 0.01:
            yield f"all bags cost {paid:.2f}, all that is bought {total:.2f}"


def _same(said: float | None, wanted: float | None, *, within: float) -> bool:
    if said is None or wanted is None:
        return said is wanted
    return abs(said - wanted) <= within + 1e-7 * abs(wanted)


def csv_wrong(path: Path, lines: Sequence[Line], job: Job) -> Iterator[str]:
    """Yield what is wrong in the buying list for a spreadsheet."""
    with path.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    if len(rows) != len(lines):
        yield f"{path.name} has {len(rows)} lines, {len(lines)} are bought"
        return
    for row, line in zip(rows, lines, strict=True):
        factor = _factor(row["unit"], line.unit)
        if factor is None:
            yield f"{path.name} has {line.name} in {row['unit']}"
            continue
        inches = job.units.unit in _INCHES
        if line.unit in ("mm", "mm²") and (row["unit"] in ("yd", "ft²")) != inches:
            yield f"{path.name} has {line.name} in {row['unit']}, the job is in {job.units.unit}"
        keys = (("net", "net"), ("gross", "gross"), ("from_stock", "stock"), ("to_buy", "to_buy"))
        for column, key in keys:
            if abs(float(row[column]) * factor - getattr(line, key)) > 0.00051 * factor + 0.06:
                yield f"{path.name}: {column} of {line.name} is {row[column]} {row['unit']}"
        cost = float(row["cost"]) if row["cost"] else None
        if row["item"] != line.name or not _same(cost, line.cost, within=0.011):
            yield f"{path.name}: {line.name} costs {line.cost}, told: {row['item']}, {row['cost']}"
        wide = float(row["width"]) * MILLIMETRES[row["width_unit"]] if row["width"] else None
        if not _same(wide, line.width, within=1.0):
            yield f"{path.name}: {line.name} is {line.width} wide, told: {row['width']}"
        if sorted(filter(None, row["remnants"].split("; "))) != list(line.owned):
            yield f"{path.name}: {line.owned} of {line.name} are used up, told: {row['remnants']}"


def _factor(unit: str, of: str) -> float | None:
    """Return mm, or mm², of a unit of a table; 1 of what is counted."""
    if of == "mm":
        return MILLIMETRES.get(unit)
    return SQUARE.get(unit) if of == "mm²" else 1.0 if unit == of else None


class _Tables(HTMLParser):
    """The rows of a page's tables by caption, a list of cells each."""

    def __init__(self) -> None:
        super().__init__()
        self.tables: dict[str, list[list[str]]] = {}
        self._rows: list[list[str]] = []
        self._text: list[str] | None = None
        self._caption = ""

    def handle_starttag(self, tag: str, attrs: Any) -> None:
        """Begin a table, a row or a cell."""
        if tag == "table":
            self._rows, self._caption = [], ""
        elif tag == "tr":
            self._rows.append([])
        elif tag in ("td", "th", "caption"):
            self._text = []

    def handle_data(self, data: str) -> None:
        """Keep what a cell says."""
        if self._text is not None:
            self._text.append(data)

    def handle_endtag(self, tag: str) -> None:
        """End a cell or a table."""
        said = "".join(self._text or []).strip()
        if tag == "caption":
            self._caption = said
        elif tag in ("td", "th") and self._text is not None:
            self._rows[-1].append(said)
        elif tag == "table":
            self.tables.setdefault(self._caption, self._rows)
        if tag in ("td", "th", "caption"):
            self._text = None


def report_wrong(path: Path, lines: Sequence[Line], job: Job) -> Iterator[str]:
    """Yield what is wrong in the report's table of what to buy."""
    reader = _Tables()
    reader.feed(path.read_text(encoding="utf-8"))
    _, *rows = reader.tables.get("What to buy", [[]])
    if len(rows) < len(lines):
        yield f"the report has {len(rows)} lines to buy, {len(lines)} are bought"
        return
    for row, line in zip(rows, lines, strict=False):
        name, needed, stock, bought, cost = row
        if name.split(",")[0] != line.name.split(",")[0]:
            yield f"the report has {name} for {line.name}"
        for said, amount in ((needed, line.gross), (bought, line.to_buy)):
            if not _amount_said(said, amount, line.unit):
                yield f"the report says {said!r} of {line.name}, it is {amount:.3f} {line.unit}"
        if line.stock and not _amount_said(stock.split(", ")[0], line.stock, line.unit):
            yield f"the report takes {stock!r} of {line.name} from stock, it is {line.stock:.3f}"
        yield from _cost_said(cost, line)
    if any(line.cost is None for line in lines):
        return
    total = sum(round(line.cost or 0.0, 2) for line in lines)
    wanted = [total, total / job.bags] if job.bags > 1 else [total]
    feet = [row[-1] for row in rows[len(lines) :]]
    if len(feet) != len(wanted) or any(
        abs(_number(said) - cost) > 0.011 for said, cost in zip(feet, wanted, strict=False)
    ):
        yield f"the report's sums are {feet}, they are {wanted}"


def _cost_said(said: str, line: Line) -> Iterator[str]:
    if (line.cost is None) != (said == "no price given"):
        yield f"the report says {said!r} for {line.name}, it costs {line.cost}"
    elif line.cost is not None and abs(_number(said) - line.cost) > 0.011:
        yield f"the report says {said!r} for {line.name}, it costs {line.cost:.2f}"


def _number(said: str) -> float:
    found = re.match(r"[-\d.,]+", said)
    return float(found[0].replace(",", "")) if found else math.nan


def _amount_said(said: str, amount: float, unit: str) -> bool:
    """Whether words say an amount: lengths rounded up by a little, areas to what is shown."""
    if said == "nothing":
        return amount < 1e-6
    if unit == "mm":
        told = Units("mm").mm(said)
        up = 0.01 * 914.4 if said.endswith("yd") else 3.2 if said.endswith("in") else 10.0
        return -0.06 <= told - amount <= up + 0.06
    if unit == "mm²":
        every = re.findall(r"([\d.]+) (dm²|ft²)", said)
        return bool(every) and all(
            abs(float(n) * SQUARE[u] - amount) <= (0.0501 if u == "dm²" else 0.00501) * SQUARE[u]
            for n, u in every
        )
    return math.isclose(_number(said), amount)
