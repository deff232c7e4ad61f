"""The plan: every marker of a job, what they add up to, and how they came about."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from nesting.errors import Finding
from nesting.job.job import Job, refuse_unknown
from nesting.marker.figures import Figures, figures
from nesting.marker.marker import Marker
from nesting.material.material import Material, Width
from nesting.planning.records import (
    BedLoad,
    Buying,
    LaidFrom,
    MaterialBound,
    SearchRecord,
    WidthTried,
)
from nesting.quantity import Quantity
from nesting.shown import Brief, shown

__all__ = ["PLAN_VERSION", "Entry", "Plan"]

PLAN_VERSION = 2


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
