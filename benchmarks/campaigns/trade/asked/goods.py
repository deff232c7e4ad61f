"""Materials of a job file: where parts may lie on them, how far apart, which way round."""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace
from typing import Any, cast

import shapely
from shapely import Polygon

from .amounts import MILLIMETRES, Units, direction, share
from .shapes import drawn, holes_of

__all__ = [
    "Goods",
    "Print",
    "Spot",
    "Zone",
    "goods_of",
    "hide_of",
    "left_over_of",
    "remnant_of",
    "spot_of",
    "whole_of",
]

_SPACING = {"cloth": 2.0, "sheet": 2.0, "leather": 3.0}
_MARGIN = 5.0
"""Of leather (FORMAT.md says all these defaults)."""


@dataclass(frozen=True)
class Print:
    """A print's repeat, mm; if it is not `placed` a lay may begin anywhere in it."""

    along: float | None
    across: float | None
    drop: float
    origin: tuple[float, float]
    placed: bool
    drift: float
    off_centre: float


@dataclass(frozen=True)
class Zone:
    """A graded area of a hide as it lies; `tight`: its direction of tightness there."""

    grade: str
    area: Polygon
    tight: float | None
    slack: float


@dataclass(frozen=True)
class Spot:
    """A sheet, remnant or hide as it lies (mm): all that can be cut from, flaws left out.

    `zones`: None where they are guessed. `whole`: mm² within its outline, flaws and all.
    `owned`: a left-over, or a hide from the shelf, which is used up and costs nothing.
    """

    name: str
    area: Polygon
    zones: tuple[Zone, ...] | None = ()
    grain_known: bool = True
    count: int | None = 1
    whole: float = 0.0
    owned: bool = False


@dataclass(frozen=True)
class Goods:
    """A material. `widths`: (booked, usable, price by the metre) of each; `larger`: how parts
    are cut larger, along and across. `rolls`: (length, width) of each length at hand, of any
    width where that is None; `at_hand`: how many sheets.
    """

    kind: str
    name: str
    nap: str
    spacing: float
    turn_slack: float
    faces_alike: bool
    wrong_side_up: bool
    spots: tuple[Spot, ...] = ()
    margin: float = 0.0
    widths: tuple[tuple[float, float, float | None], ...] = ()
    ends: float = 0.0
    step: float = 0.0
    longest: float | None = None
    thickness: float = 0.0
    shrinks: tuple[float, float] = (0.0, 0.0)
    larger: tuple[float, float] = (1.0, 1.0)
    folded: bool = False
    print: Print | None = None
    price: float | None = None
    rolls: tuple[tuple[float, float | None], ...] = ()
    at_hand: int = 0
    remnants: tuple[Spot, ...] = field(default=())


def spot_of(goods: Goods, name: str) -> Spot | None:
    """Return what a sheet of a marker is, or is a bit of, by its name."""
    spots = {spot.name: spot for spot in (*goods.spots, *goods.remnants)}
    return spots.get(name) or spots.get(re.sub(r" bit \d+$", "", name))


def goods_of(job: dict[str, Any], units: Units) -> dict[str, Goods]:
    """Return all materials of a job file by name."""
    loose: dict[str, list[dict[str, Any]]] = {}
    for remnant in job.get("remnant", []):
        loose.setdefault(remnant["material"], []).append(remnant)
    makers = (("cloth", _cloth), ("sheet", _sheet), ("leather", _leather))
    return {
        table["name"]: make(
            table, [*table.get("remnant", []), *loose.get(table["name"], [])], units
        )
        for kind, make in makers
        for table in job.get(kind, [])
    }


def _common(kind: str, table: dict[str, Any], units: Units) -> dict[str, Any]:
    usual = "any" if kind == "leather" else "one-way" if "print" in table else "none"
    return {
        "kind": kind,
        "name": table["name"],
        "nap": table.get("nap", usual),
        "spacing": units.mm(table["spacing"]) if "spacing" in table else _SPACING[kind],
        "turn_slack": float(table.get("turn_slack", 0)),
        "faces_alike": table.get("faces_alike", False),
        "wrong_side_up": table.get("wrong_side_up", False),
    }


def _cloth(table: dict[str, Any], remnants: list[dict[str, Any]], units: Units) -> Goods:
    factor = 1.0 / 0.9144 if table.get("price_per") == "yd" else 1.0
    said = table.get("widths", [{**table, "booked": table.get("width")}])
    widths = []
    for one in said:
        one = one if isinstance(one, dict) else {"booked": one}
        booked = units.mm(one["booked"])
        selvedge = units.mm(table["selvedge"]) if "selvedge" in table else 10.0
        usable = units.mm(one["usable"]) if "usable" in one else booked - 2.0 * selvedge
        price = one.get("price", table.get("price"))
        widths.append((booked, usable, None if price is None else price * factor))
    shrinkage = table.get("shrinkage", {})
    if not isinstance(shrinkage, dict):
        shrinkage = {"along": shrinkage, "across": shrinkage}
    lost = (share(shrinkage.get("along", 0)), share(shrinkage.get("across", 0)))
    cut_larger = shrinkage.get("cut_larger", False)
    motif = table.get("print")
    up_wrong = table.get("wrong_side_up", False)
    rolls = table.get("rolls", [])
    inches = MILLIMETRES[units.unit] in (25.4, 304.8, 914.4)
    return Goods(
        **_common("cloth", table, units),
        widths=tuple(widths),
        ends=units.mm(table["ends"]) if "ends" in table else 10.0,
        step=units.mm(table["step"]) if "step" in table else 914.4 / 8.0 if inches else 100.0,
        longest=units.mm(table["longest"]) if "longest" in table else None,
        thickness=units.mm(table["thickness"]) if "thickness" in table else 0.0,
        shrinks=(0.0, 0.0) if cut_larger else lost,
        larger=(1.0 / (1.0 - lost[0]), 1.0 / (1.0 - lost[1])) if cut_larger else (1.0, 1.0),
        folded=table.get("fold") == "folded",
        print=None if motif is None else _print(motif, units),
        rolls=tuple((units.mm(r), None) for r in (rolls if isinstance(rolls, list) else [rolls])),
        remnants=tuple(remnant_of(one, up_wrong, units) for one in remnants),
    )


def _print(table: dict[str, Any], units: Units) -> Print:
    return Print(
        along=units.mm(table["along"]) if "along" in table else None,
        across=units.mm(table["across"]) if "across" in table else None,
        drop=share(table.get("drop", 0)),
        origin=units.point(table["origin"]) if "origin" in table else (0.0, 0.0),
        placed="origin" in table,
        drift=units.mm(table.get("drift", 0)),
        off_centre=units.mm(table.get("off_centre", 0)),
    )


def whole_of(table: dict[str, Any], units: Units) -> Polygon:
    """Return what a table's shape holds, its holes left out."""
    outlines = sorted((one.area for one in drawn(table, units)), key=lambda one: -one.area)
    gone = [*outlines[1:], *holes_of(table, units)]
    return cast(Polygon, outlines[0].difference(shapely.union_all(gone)))


def _turned(area: Polygon, degrees: float, *, mirrored: bool = False) -> Polygon:
    """Return an area turned about the origin, then reflected in the x axis if asked."""
    found: Polygon = shapely.affinity.rotate(area, degrees, origin=(0.0, 0.0))
    return shapely.affinity.scale(found, 1.0, -1.0, origin=(0.0, 0.0)) if mirrored else found


def remnant_of(table: dict[str, Any], up_wrong: bool, units: Units) -> Spot:
    """Return a left-over as it is laid: its grain along x, the face up that the goods have up."""
    grain = table.get("grain", 0)
    known = grain != "unknown"
    other = "face" in table and (table["face"] == "wrong") != up_wrong
    area = _turned(whole_of(table, units), -direction(grain) if known else 0.0, mirrored=other)
    return Spot(table["name"], area, grain_known=known, owned=True)


def _sheet(table: dict[str, Any], remnants: list[dict[str, Any]], units: Units) -> Goods:
    spots = [remnant_of(one, table.get("wrong_side_up", False), units) for one in remnants]
    if "size" in table:
        whole = shapely.box(0.0, 0.0, *units.point(table["size"]))
        spots.append(Spot(table["name"], whole, count=table.get("count")))
    return Goods(
        **_common("sheet", table, units),
        spots=tuple(spots),
        margin=units.mm(table.get("margin", 0)),
        price=table.get("price"),
    )


def _leather(table: dict[str, Any], remnants: list[dict[str, Any]], units: Units) -> Goods:
    spots = [left_over_of(one, table.get("wrong_side_up", False), units) for one in remnants]
    for hide in table["hide"]:
        spots.append(hide_of(hide, units))
    area = {"m²": 1.0, "dm²": 0.01, "ft²": 0.09290304}[table.get("price_per", "m²")]
    price = table.get("price")
    return Goods(
        **_common("leather", table, units),
        spots=tuple(spots),
        margin=units.mm(table["margin"]) if "margin" in table else _MARGIN,
        price=None if price is None else price / area,
    )


def left_over_of(table: dict[str, Any], up_wrong: bool, units: Units) -> Spot:
    """Return a left-over of leather, with its zones."""
    spot = remnant_of(table, up_wrong, units)
    zones = tuple(_zone(one, 0.0, units) for one in table.get("zone", []))
    if "grade" in table:
        zones = (Zone(table["grade"], Polygon(spot.area.exterior), None, 180.0),)
    return replace(spot, zones=zones)


def hide_of(table: dict[str, Any], units: Units) -> Spot:
    """Return a hide as it lies, its backbone along x."""
    backbone = float(table.get("backbone", 0))
    flaws = [one.area for flaw in table.get("flaw", []) for one in drawn(flaw, units)]
    whole = whole_of(table, units)
    area = cast(Polygon, whole.difference(shapely.union_all(flaws)))
    zones = tuple(_zone(one, backbone, units) for one in table.get("zone", []))
    lies = _turned(area, -backbone)
    guessed = "guess_zones" in table
    return Spot(table["name"], lies, zones=None if guessed else zones, whole=whole.area)


def _zone(table: dict[str, Any], backbone: float, units: Units) -> Zone:
    tight = table.get("tight")
    slack = table.get("slack", 180.0 if tight is None else 15.0)
    area = _turned(drawn(table, units)[0].area, -backbone)
    return Zone(table["grade"], area, None if tight is None else tight - backbone, float(slack))
