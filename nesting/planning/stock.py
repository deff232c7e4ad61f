"""Stock at hand: lengths, sheets and remnants in a file that a cut plan updates.

The file is TOML and ours::

    [at_hand]                    # lengths with units, sheets and notions as numbers
    "outer canvas" = "240 cm"
    "lining" = ["5 m", "80 cm"]  # several rolls or ends of the (first) width on sale
    "foam" = 3

    [[remnant]]                  # as in a job file, which may include this one
    name = "foam rest 1"
    material = "foam"
    outline = "M 0 0 L 300 0 L 300 180 L 0 180 Z"

    [book]
    cut = ["…"]                  # plans already taken off: none is taken off twice
"""

from __future__ import annotations

import hashlib
import math
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path as FilePath
from typing import Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from nesting.errors import JobError, WriteError
from nesting.job.job import Job
from nesting.material.material import Cloth, Material, Remnant, SheetGoods
from nesting.pattern.measure import clockwise, counter_clockwise
from nesting.pattern.svg_path import format_path, parse_path
from nesting.planning.cut_lengths import lengths_after
from nesting.planning.plan import Plan
from nesting.planning.plan_file import plan_text
from nesting.planning.remnants import plan_leftovers
from nesting.planning.shopping import shopping_list
from nesting.units import length

__all__ = [
    "Kept",
    "Stock",
    "after_cutting",
    "plan_mark",
    "quoted",
    "read_stock",
    "stock_text",
    "with_stock",
    "write_stock",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """A remnant on the shelf: its outline, then its holes, as path data (mm)."""

    name: str
    material: str
    outline: str
    grain_known: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Stock:
    """What is at hand, by name. `lengths` of each cloth in mm; `counts` of sheets and notions."""

    lengths: Mapping[str, tuple[float, ...]]
    counts: Mapping[str, float]
    remnants: tuple[Kept, ...] = ()
    cut: tuple[str, ...] = ()

    @property
    def at_hand(self) -> dict[str, float]:
        """Everything that is counted, for the buying list."""
        return {**self.counts, **{name: sum(mm) for name, mm in self.lengths.items()}}


class _RemnantTable(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True)
    name: str = Field(min_length=1)
    material: str
    outline: str
    grain: Literal["along", "unknown"] = "along"


class _Book(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True)
    cut: list[str] = []


class _StockTable(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True)
    at_hand: dict[str, str | int | float | list[str]] = {}
    remnant: list[_RemnantTable] = []
    book: _Book = _Book()


def read_stock(path: FilePath | str) -> Stock:
    """Read a stock file.

    Raises
    ------
    JobError
        It can't be read, or a value in it can't be used; says where.

    """
    name = str(path)
    try:
        table = _StockTable.model_validate(tomllib.loads(FilePath(path).read_text("utf-8")))
    except OSError as error:
        raise JobError(f"can't be read: {(error.strerror or '').lower()}", file=name) from error
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise JobError(f"is not TOML: {error}", file=name) from error
    except ValidationError as error:
        first = error.errors()[0]
        field = ".".join(str(part) for part in first["loc"])
        raise JobError(first["msg"], file=name, field=field) from error
    lengths: dict[str, tuple[float, ...]] = {}
    counts: dict[str, float] = {}
    for key, value in table.at_hand.items():
        try:
            if isinstance(value, int | float):
                counts[key] = float(value)
            else:
                lengths[key] = tuple(map(length, [value] if isinstance(value, str) else value))
        except JobError as error:
            raise error.located(file=name, field=f"at_hand.{key}") from error
        if not all(0.0 <= v < math.inf for v in (*lengths.get(key, ()), counts.get(key, 0.0))):
            raise JobError("there can't be less than nothing", file=name, field=f"at_hand.{key}")
    for index, remnant in enumerate(table.remnant):
        try:
            parse_path(remnant.outline)
        except ValueError as error:
            raise JobError(
                f"its outline can't be read: {error}", file=name, field=f"remnant.{index}.outline"
            ) from error
    return Stock(
        lengths=lengths,
        counts=counts,
        remnants=tuple(
            Kept(
                name=r.name,
                material=r.material,
                outline=r.outline,
                grain_known=r.grain != "unknown",
            )
            for r in table.remnant
        ),
        cut=tuple(table.book.cut),
    )


def with_stock(job: Job, stock: Stock) -> Job:
    """Return the job with what is at hand: remnants of sheets, and cloth as rolls."""
    return replace(job, materials=tuple(_at_hand(m, stock) for m in job.materials))


def _at_hand(material: Material, stock: Stock) -> Material:
    if isinstance(material, SheetGoods):
        return replace(material, remnants=(*material.remnants, *_remnants_of(material, stock)))
    if isinstance(material, Cloth) and not material.rolls:
        rolls = tuple(mm for mm in stock.lengths.get(material.name, ()) if mm > 0.0)
        return replace(material, rolls=rolls)
    return material


def _remnants_of(material: SheetGoods, stock: Stock) -> Iterator[Remnant]:
    for kept in stock.remnants:
        if kept.material == material.name:
            outline, *holes = parse_path(kept.outline)
            yield Remnant(
                name=kept.name,
                outline=counter_clockwise(outline),
                holes=tuple(clockwise(hole) for hole in holes),
                grain_known=kept.grain_known,
            )


def plan_mark(plan: Plan) -> str:
    """Return the mark by which a plan is known in the book of a stock file."""
    return hashlib.sha256(plan_text(plan).encode()).hexdigest()[:16]


def after_cutting(stock: Stock, plan: Plan) -> Stock:
    """Return the stock after a plan was cut: used remnants gone, left-overs added.

    Lengths and counts are taken off as far as they were there: the rest was bought, and
    what that leaves of cloth, at its full width, is at hand from now on.

    Raises
    ------
    JobError
        The plan was taken off before, or lays cloth from a length that is not there.

    """
    mark = plan_mark(plan)
    if mark in stock.cut:
        raise JobError(
            "this plan was taken off the stock before", hint="each plan is taken off once"
        )
    lengths, counts = dict(stock.lengths), dict(stock.counts)
    for line in shopping_list(plan).lines:
        if line.name in counts:
            counts[line.name] = max(0.0, counts[line.name] - line.gross)
    for cloth in (m for m in plan.job.materials if isinstance(m, Cloth)):
        entries = [
            entry
            for entry in plan.entries
            if entry.material.name == cloth.name and isinstance(entry.material, Cloth)
        ]
        # Rolls that the job itself names are not in a stock file that doesn't know the cloth.
        if entries and (cloth.name in lengths or not any(e.laid_from for e in entries)):
            rest = lengths_after(lengths.get(cloth.name, ()), entries, cloth)
            if rest or cloth.name in lengths:
                lengths[cloth.name] = rest
    used = _used_remnants(plan)
    kept = [r for r in stock.remnants if (r.material, r.name) not in used]
    names = {remnant.name for remnant in kept}
    for left in plan_leftovers(plan, tails=False):
        name = _fresh(left.name, names)
        names.add(name)
        data = " ".join(format_path(path) for path in (left.outline, *left.holes))
        one = Kept(name=name, material=left.material, outline=data, grain_known=left.grain_known)
        kept.append(one)
    return replace(
        stock, lengths=lengths, counts=counts, remnants=tuple(kept), cut=(*stock.cut, mark)
    )


def _used_remnants(plan: Plan) -> set[tuple[str, str]]:
    return {
        (entry.material.name, entry.material.remnants[kind].name)
        for entry in plan.entries
        if isinstance(entry.material, SheetGoods)
        for kind in entry.marker.sheets
        if kind < len(entry.material.remnants)
    }


def _fresh(name: str, taken: set[str]) -> str:
    number, fresh = 1, name
    while fresh in taken:
        number += 1
        fresh = f"{name} ({number})"
    return fresh


def stock_text(stock: Stock) -> str:
    """Return the stock as it stands in its file."""
    lines = ["[at_hand]"]
    for name, lengths in stock.lengths.items():
        listed = ", ".join(quoted(f"{round(mm, 1):.10g} mm") for mm in lengths)
        lines.append(f"{quoted(name)} = {listed if len(lengths) == 1 else f'[{listed}]'}")
    lines += [f"{quoted(name)} = {count:g}" for name, count in stock.counts.items()]
    for remnant in stock.remnants:
        lines += ["", "[[remnant]]", f"name = {quoted(remnant.name)}"]
        lines += [f"material = {quoted(remnant.material)}"]
        lines += [f"outline = {quoted(remnant.outline)}"]
        lines += [] if remnant.grain_known else ['grain = "unknown"']
    marks = ", ".join(quoted(mark) for mark in stock.cut)
    return "\n".join([*lines, "", "[book]", f"cut = [{marks}]", ""])


def write_stock(stock: Stock, path: FilePath | str) -> None:
    """Replace the stock file, whole or not at all.

    Raises
    ------
    WriteError
        It can't be written.

    """
    file = FilePath(path)
    temporary = file.with_name(f".{file.name}.part")
    try:
        temporary.write_text(stock_text(stock), encoding="utf-8")
        temporary.replace(file)
    except OSError as error:
        why = (error.strerror or str(error)).lower()
        raise WriteError(f"can't be written: {why}", file=str(file)) from error
    finally:
        temporary.unlink(missing_ok=True)


def quoted(text: str) -> str:
    """Return a TOML basic string."""
    escaped = text.replace("\\", "\\\\").replace('"', '\\"')
    return '"' + "".join(c if ord(c) >= 32 else f"\\u{ord(c):04x}" for c in escaped) + '"'
