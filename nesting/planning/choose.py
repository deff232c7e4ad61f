"""Which of its widths each cloth of a plan is laid on: each is tried briefly."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from nesting.job.job import Job
from nesting.material.material import Cloth, Width
from nesting.planning.buying.settle import best_width
from nesting.planning.on_width import OnWidth, cases_of, remnants_first, to_lay, tried_case
from nesting.planning.records import WidthTried
from nesting.planning.running.laying import lay_all
from nesting.planning.running.run import Run
from nesting.search.result import Result

__all__ = ["Chosen", "on_best_widths"]

# Share of the time that goes into choosing among several widths on sale.
_CHOOSING = 0.25


@dataclass(frozen=True, slots=True, kw_only=True)
class Chosen:
    """A cloth on the width it is laid on, what its remnants take already laid.

    Of several widths `trial` is what was found on it, and `tried` what each came to.
    """

    case: OnWidth
    trial: Result | None = None
    tried: tuple[WidthTried, ...] = ()


def on_best_widths(
    job: Job, cloths: Sequence[Cloth], run: Run, *, widths: Mapping[str, Width] | None = None
) -> dict[str, Chosen]:
    """Return each cloth on the width that a plan takes, by name; nothing if none is cut from it.

    `widths`: of cloths whose width is settled.

    Raises
    ------
    JobError
        A cloth can be laid on none of its widths; says why not on the widest.

    """
    settled = widths or {}
    cases, refused = cases_of(job, cloths, settled=settled)
    cases = remnants_first(cases, run)
    several = {c.name for c in cloths if len(c.widths) > 1 and c.name not in settled}
    rivals = {key: case for key, case in cases.items() if case.cloth.name in several}
    trials = lay_all(to_lay(rivals), run.part("widths", share=_CHOOSING))
    chosen: dict[str, Chosen] = {}
    for cloth in cloths:
        mine = [key for key, case in cases.items() if case.cloth is cloth]
        if not mine:
            continue
        best, tried = 0, []
        if cloth.name in several:
            tried = [tried_case(cases[key], trials.get(key)) for key in mine]
            tried += [one for one in refused if one.material == cloth.name]
            taken = best_width(tried)
            # Where no width is good the one that leaves out the fewest parts shows the most.
            best = _fewest_left(mine, trials) if taken is None else taken
        chosen[cloth.name] = Chosen(
            case=cases[mine[best]],
            trial=trials.get(mine[best]),
            tried=tuple(replace(one, chosen=i == best) for i, one in enumerate(tried)),
        )
    return chosen


def _fewest_left(keys: Sequence[str], trials: Mapping[str, Result]) -> int:
    """Return which of the trials left out the fewest parts."""
    return min(range(len(keys)), key=lambda i: len(trials[keys[i]].unplaced))
