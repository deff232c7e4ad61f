"""The plan: every marker of a job, what they add up to, and how they came about."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from nesting.errors import Finding
from nesting.job.job import Job, refuse_unknown
from nesting.marker.figures import Figures, figures
from nesting.marker.marker import Marker
from nesting.material.material import Material, Width
from nesting.quantity import NO_LENGTH, NOTHING, Quantity
from nesting.shown import Brief, shown

__all__ = [
    "PLAN_VERSION",
    "BedLoad",
    "Buying",
    "Entry",
    "LaidFrom",
    "MaterialBound",
    "Plan",
    "SearchRecord",
    "WidthTried",
]

PLAN_VERSION = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class SearchRecord:
    """How a marker was found: lengths in mm; `bound`: what no marker of its parts is below."""

    stopped: str
    seconds: float
    first_seconds: float
    first_length: float
    rounds: int
    seed: int
    workers: int
    bound: Quantity


@dataclass(frozen=True, slots=True, kw_only=True)
class Buying:
    """What to buy. `sheets`: how many sheets or hides are used, of remnants none.

    `needed`: marker length + ends, before shrinkage, of hides their area; `gross`: with shrinkage
    and the overlap of splices; `from_stock`: what of it is at hand; `to_buy`: the rest, in what
    the material is sold in, rounded up to the `step`. Of a material with several markers all is
    bought at once: then `step` is 0, and `to_buy` the new cloth that this marker takes.
    `cost` in the job's currency, None without a price, or where it is bought with others.
    """

    needed: Quantity
    gross: Quantity
    to_buy: Quantity
    step: Quantity
    sheets: int = 0
    cost: float | None = None
    from_stock: Quantity = NOTHING


@dataclass(frozen=True, slots=True, kw_only=True)
class LaidFrom:
    """Plies of a spread (numbered from 0) that come from the same rolls.

    `rolls`: the roll (from 1; 0 is new cloth), or two where the ply is spliced.
    `splice`: the second length starts at the first number (mm from the marker's start)
    and the first one reaches to the second.
    """

    spread: int
    plies: int
    rolls: tuple[int, ...]
    splice: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class MaterialBound:
    """What no plan of the order can go below under its rules."""

    material: str
    amount: Quantity


@dataclass(frozen=True, slots=True, kw_only=True)
class WidthTried:
    """What a plan would take of a cloth at one width: in all, at hand, to buy.

    Of the `chosen` width what the plan takes; of the others by markers laid in part of the
    time. `needed` is None where the width can't be used; `why` says why.
    """

    material: str
    width: Width
    needed: Quantity | None = None
    from_stock: Quantity = NO_LENGTH
    to_buy: Quantity = NO_LENGTH
    cost: float | None = None
    chosen: bool = False
    why: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class BedLoad:
    """What is cut at once on a bed smaller than the lay: its place and size (mm), its parts.

    `sheet`: which of the marker's sheets it is on (0 on a strip).
    """

    x: float
    y: float
    length: float
    width: float
    parts: tuple[str, ...]
    sheet: int = 0


@dataclass(frozen=True, slots=True, kw_only=True, repr=False)
class Entry(Brief):
    """One material: its marker, judged, and what it comes to.

    `width`: the width of cloth it was laid on. `unplaced`: parts that could not be
    laid, and why. `bags`: how many of each bag one ply of the marker holds (empty: the
    whole job, once); face to face two plies. `spreads`: the plies of each spread that is
    cut with this marker. `laid_from`: which rolls the plies come from, where rolls are
    known. `unmatched`: how long the marker would be without the print's centring and
    matching (mm), where that was tried; `freed`: the same without ("nap", "bias"). `loads`: of a
    bed smaller than the lay.

    Examples
    --------
    >>> entry.material.name, entry.good
    ('canvas', True)
    >>> entry.buying.needed
    Quantity(400.0, 'mm')

    """

    material: Material
    width: Width | None
    marker: Marker
    search: SearchRecord
    buying: Buying
    findings: tuple[Finding, ...] = ()
    unplaced: tuple[tuple[str, str], ...] = ()
    bags: tuple[tuple[str, int], ...] = ()
    spreads: tuple[int, ...] = (1,)
    laid_from: tuple[LaidFrom, ...] = ()
    unmatched: float | None = None
    freed: tuple[tuple[str, float], ...] = ()
    loads: tuple[BedLoad, ...] = ()

    @property
    def figures(self) -> Figures:
        """The figures of its marker, selvedges and ends counted."""
        booked = None if self.width is None else self.width.booked
        return figures(self.marker, booked_width=booked, ends=self.material.ends)

    @property
    def taken(self) -> Quantity:
        """What the marker takes: a length, or sheets or hides."""
        found = figures(self.marker)
        taken = found.length if self.marker.lay.stock.open_ended else float(found.sheets)
        return Quantity(taken, self.material.taken_in)

    @property
    def bound(self) -> Quantity:
        """What no marker of these parts can go below."""
        return self.search.bound

    @property
    def good(self) -> bool:
        """Whether the marker is complete and without faults."""
        return not self.unplaced and not any(f.severity == "fault" for f in self.findings)


@dataclass(frozen=True, slots=True, kw_only=True, repr=False)
class Plan(Brief):
    """The answer to a job. `bounds`: of the whole order, where one was planned.

    `widths_tried`: of each cloth that is on sale, or at hand, in several widths. `spare`:
    the share that is bought more of each material.

    Examples
    --------
    >>> plan.job is job, len(plan.entries)
    (True, 1)
    >>> plan.wanted(["canvas"]) == plan.entries
    True

    """

    job: Job
    entries: tuple[Entry, ...]
    seconds: float
    program: str
    version: int = PLAN_VERSION
    bounds: tuple[MaterialBound, ...] = ()
    widths_tried: tuple[WidthTried, ...] = ()
    spare: float = 0.0

    def entries_of(self, material: str) -> tuple[Entry, ...]:
        """Return the markers of a material, by its name: those on its remnants, too."""
        return tuple(entry for entry in self.entries if entry.material.name == material)

    def _repr_html_(self) -> str:
        return shown(self, "plan_html")

    def wanted(self, only: Collection[str] | None = None) -> tuple[Entry, ...]:
        """Return the entries of materials of these names (None: all).

        Raises
        ------
        JobError
            No entry is of a material of one of the names.

        """
        refuse_unknown(only, list(dict.fromkeys(e.material.name for e in self.entries)))
        return tuple(e for e in self.entries if only is None or e.material.name in only)
