"""A plan as ``plan.json`` has it: what lies where, and what is told about it."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import Any

import shapely
from shapely import Polygon

from ..asked.shapes import Pt, arc_points, bezier_point
from ..asked.variants import mapped, placed

__all__ = ["Entry", "Lying", "entries_of", "told_of"]

_NUMBERED = re.compile(r"\((?P<bag>.+) (?P<n>\d+)(?:\+(?P<other>\d+))?\)(?: #\d+)?$")
_BIT = re.compile(r"(?:, )?piece (\d+) of (\d+)$")


@dataclass(frozen=True)
class Lying:
    """One part where it lies. `outline`: as it is held, `lies`: as it lies (mm).

    `bit`: which one of how many the piece is put together from.
    """

    index: int
    name: str
    piece: str
    bag: str
    number: int
    copy: int
    copies: int
    hand: str
    variant: str
    bit: tuple[int, int] | None
    both_hands: bool
    on_fold: bool
    x: float
    y: float
    angle: float
    flipped: bool
    sheet: int
    outline: Polygon
    lies: Polygon

    def place(self, point: Pt) -> Pt:
        """Return where a point of the part lies."""
        return placed(self.x, self.y, self.angle, self.flipped)(point)


@dataclass(frozen=True)
class Entry:
    """One marker. `sheets`: the names of those it lies on; none on cloth from the roll.

    `spreads`: the plies of each. `laid_from`: how many of them come from which length at hand.
    `bags`: how many of which one ply gives, of an order.
    """

    material: str
    from_roll: bool
    width: dict[str, Any] | None
    sheets: tuple[str, ...]
    lying: tuple[Lying, ...]
    unplaced: tuple[str, ...]
    faults: tuple[dict[str, Any], ...]
    notes: tuple[dict[str, Any], ...]
    buying: dict[str, Any]
    loads: bool
    spreads: tuple[int, ...] = (1,)
    laid_from: tuple[dict[str, Any], ...] = ()
    bags: tuple[tuple[str, int], ...] = ()


def entries_of(plan: dict[str, Any]) -> list[Entry]:
    """Return the markers of a plan."""
    outlines = [_outline(piece) for piece in plan["pieces"]]
    names = [piece["name"] for piece in plan["pieces"]]
    several = len(plan["plan"]["job"]["bags"]) > 1
    return [_entry(one, outlines, names, several) for one in plan["plan"]["entries"]]


def told_of(plan: dict[str, Any]) -> list[str]:
    """Return every sentence that the plan says about itself."""
    said = list(plan["plan"]["job"].get("assumptions", []))
    for entry in plan["plan"]["entries"]:
        said += [finding["text"] for finding in entry.get("findings", [])]
        said += [f"{name}: {why}" for name, why in entry.get("unplaced", [])]
    return said


def _entry(one: dict[str, Any], outlines: list[Polygon], names: list[str], several: bool) -> Entry:
    marker = one["marker"]
    stock = marker["lay"]["stock"]
    sheets = [stock["sheets"][kind]["name"] for kind in marker.get("sheets", [])]
    findings = one.get("findings", [])
    parts = marker["lay"]["parts"]
    several = several or len(one.get("bags", ())) > 1
    return Entry(
        material=one["material"]["name"],
        from_roll="sheets" not in stock,
        width=one.get("width"),
        sheets=tuple(sheets),
        lying=tuple(
            _lying(p, parts[p["part"]], outlines, names, several) for p in marker["placements"]
        ),
        unplaced=tuple(name for name, _ in one.get("unplaced", [])),
        faults=tuple(f for f in findings if f.get("severity", "fault") == "fault"),
        notes=tuple(f for f in findings if f.get("severity", "fault") != "fault"),
        buying=one["buying"],
        loads=bool(one.get("loads")),
        spreads=tuple(one.get("spreads", (1,))),
        laid_from=tuple(one.get("laid_from", ())),
        bags=tuple((name, count) for name, count in one.get("bags", ())),
    )


def _lying(
    p: dict[str, Any],
    part: dict[str, Any],
    outlines: list[Polygon],
    names: list[str],
    several: bool,
) -> Lying:
    outline = outlines[part["piece"]]
    x, y, angle, flipped = p["x"], p["y"], p.get("angle", 0.0), p.get("flipped", False)
    said = _NUMBERED.search(part["name"])
    bit = _BIT.search(part.get("variant", ""))
    return Lying(
        index=p["part"],
        name=part["name"],
        piece=names[part["piece"]],
        bag=said["bag"] if several and said else "",
        number=part.get("bag", 1),
        copy=part.get("copy", 1),
        copies=part.get("copies", 1),
        hand=part.get("hand", "right"),
        variant=_BIT.sub("", part.get("variant", "")),
        bit=(int(bit[1]), int(bit[2])) if bit else None,
        both_hands=part.get("both_hands", False),
        on_fold=part.get("edge") == "low",
        x=x,
        y=y,
        angle=angle,
        flipped=flipped,
        sheet=p.get("sheet", 0),
        outline=outline,
        lies=mapped(outline, placed(x, y, angle, flipped)),
    )


def _outline(piece: dict[str, Any]) -> Polygon:
    return Polygon(_ring(piece["cut"]), [_ring(hole) for hole in piece.get("holes", [])])


def _ring(text: str) -> list[Pt]:
    """Return the points of a path of ``plan.json``: M, L, C, and A with centre and half axes."""
    words = iter(text.split())
    ring: list[Pt] = []
    for command in words:
        n = [float(next(words)) for _ in range({"M": 2, "L": 2, "C": 6, "A": 8}[command])]
        if command in "ML":
            ring.append((n[0], n[1]))
        elif command == "C":
            p = [ring[-1], (n[0], n[1]), (n[2], n[3]), (n[4], n[5])]
            steps = max(4, math.ceil(math.sqrt(sum(map(math.dist, p, p[1:])) / 0.004) * 0.9))
            ring += [bezier_point(p, k / steps) for k in range(1, steps + 1)]
        else:
            cx, cy, ux, uy, vx, vy, begin, sweep = n
            size = max(math.hypot(ux, uy), math.hypot(vx, vy))
            unit = arc_points((0.0, 0.0), (size, size), begin, sweep)
            turns = [(x / size, y / size) for x, y in unit]
            ring += [(cx + ux * c + vx * s, cy + uy * c + vy * s) for c, s in turns]
    kept = [p for k, p in enumerate(ring) if math.dist(p, ring[k - 1]) > 1e-9]
    return [(float(x), float(y)) for x, y in shapely.get_coordinates(shapely.LinearRing(kept))]
