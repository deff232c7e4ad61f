"""Good leather is kept for what needs it: parts that accept a poorer grade lie in it if they can.

A marker on hides is laid a second time, with some parts held to the poorest grade that they
accept, those that would take most of the good leather first, as long as they fill no more
than a share of what there is of that grade. Those that find no room there are let go and laid
beside the others, wherever they may lie. It is taken if all parts find room on hides that cost no
more, and more of the good leather is left.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from nesting.job.job import Job
from nesting.marker.check import is_good
from nesting.marker.lay import Lay
from nesting.marker.marker import Marker
from nesting.material.material import Goods, Grade
from nesting.planning.lay.lays import lays
from nesting.planning.lying import good_leather
from nesting.planning.running.laying import lay_all
from nesting.planning.running.run import Run
from nesting.search.result import Result

__all__ = ["SPARING", "may_spare", "spared"]

SPARING = 0.2
"""Share of the time that goes into laying parts in the poorest leather they accept."""

_FILLS = (0.75, 0.45)
"""How full the poorer leather may get with the parts held to it, tried one after the other.

Hides of small articles are filled to four fifths (leather-dictionary.com, "Leather cutting
waste"); the second is for those with many flaws (own choice).
"""


_HELD = 0.6
"""Share of the time of each try in which parts are held to it, before some are let go."""


def may_spare(job: Job, goods: Goods) -> bool:
    """Whether something is cut from hides of several grades that accepts a poorer one."""
    grades = {zone.grade for hide in goods.hides for zone in hide.zones}
    cuts = [cut for bag in job.bags for cut in bag.cuts if cut.material == goods.name]
    return bool(grades) and any((cut.grade or Grade.D) is not Grade.A for cut in cuts)


def spared(
    job: Job,
    results: Mapping[str, Result],
    run: Run,
) -> dict[str, Result]:
    """Return the results, those on hides replaced where one that spares good leather was found."""
    goods = {
        m.name: m
        for m in job.materials
        if m.name in results and not results[m.name].unplaced and may_spare(job, m)
    }
    best = dict(results)
    for fill in _FILLS if goods else ():
        todo = {lay.name: lay for lay in lays(job, only=list(goods), sparing=fill)}
        todo = {
            name: lay for name, lay in todo.items() if lay.parts != results[name].marker.lay.parts
        }
        part = run.part(share=1.0 / len(_FILLS))
        found = lay_all(todo, part.part(f"sparing {fill:g}", share=_HELD))
        released = {n: _released(results[n].marker.lay, result) for n, result in found.items()}
        starts = {name: marker for name, marker in released.items() if marker is not None}
        again = {name: marker.lay for name, marker in starts.items()}
        found |= lay_all(again, part.rest().part(f"released {fill:g}"), starts=starts)
        for name, result in found.items():
            if _better(result, best[name], goods[name]):
                best[name] = result
    return best


def _released(free: Lay, result: Result) -> Marker | None:
    """Return what was laid, what found no room free to lie wherever it may; None if all lie."""
    left = {unplaced.part for unplaced in result.unplaced}
    if not left or not result.marker.placements:
        return None
    lay = result.marker.lay
    parts = tuple(free.parts[i] if i in left else part for i, part in enumerate(lay.parts))
    return replace(result.marker, lay=replace(lay, parts=parts))


def _better(one: Result, other: Result, goods: Goods) -> bool:
    if one.unplaced or _cost(one.marker) > _cost(other.marker) * (1.0 + 1e-9):
        return False
    # Mates that are held to leather of different sheets can't lie together.
    if not is_good(one.marker):
        return False
    return good_leather(one.marker, goods) < good_leather(other.marker, goods) * (1.0 - 1e-3)


def _cost(marker: Marker) -> float:
    """Return what it costs to open the hides used; bits of one cost once."""
    return sum({sheet.origin: sheet.cost for sheet in marker.used}.values())
