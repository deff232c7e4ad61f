"""What a rule of the cloth costs: the same parts laid without it, as is done for a print."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from nesting.errors import JobError
from nesting.job.job import Cut, Job
from nesting.marker.lay import Lay
from nesting.material.material import Nap
from nesting.planning.lay.lays import lays
from nesting.planning.lay.loads import grid_of, in_loads, joined
from nesting.planning.lay.matching import is_bound, unprinted
from nesting.planning.on_width import OnWidth
from nesting.planning.running.laying import lay_all
from nesting.planning.running.run import Run
from nesting.search.result import Result

__all__ = ["RULES", "laid_without", "lays_without"]

RULES: dict[str, float] = {"print": 0.2, "nap": 0.1, "bias": 0.1}
"""What is tried without, and the share of the time that goes into it."""


def lays_without(rule: str, job: Job, cases: Mapping[str, OnWidth]) -> dict[str, Lay]:
    """Return the lays of the cloths that a rule binds, as they would be without it.

    `rule`: one of `RULES`. Of cloth on which it binds no part there is none.
    """
    free = {"print": unprinted, "nap": _unnapped, "bias": _unbiased}[rule](job)
    widths = {name: case.width for name, case in cases.items() if case.lay is not None}
    if rule == "print":
        widths = {n: w for n, w in widths.items() if (one := cases[n].lay) and is_bound(one)}
    elif free == job:
        return {}
    found: dict[str, Lay] = {}
    for name, width in widths.items():
        try:
            (lay,) = lays(free, only=[name], widths={name: width})
        except JobError:  # a strap that fits on the bias only: nothing to compare
            continue
        rest = cases[name].lay
        assert rest is not None
        if cases[name].offcut is not None:  # what is cut from remnants is so without the rule
            names = {part.name for part in rest.parts}
            lay = replace(lay, parts=tuple(part for part in lay.parts if part.name in names))
        # Plies that are shared otherwise belong to what a print costs, and to no other rule.
        shared = rule == "print" and cases[name].offcut is None
        if len(lay.parts) != len(rest.parts) and not shared:
            continue
        if rule == "print" or _differs(lay, rest):
            found[name] = lay
    return found


def laid_without(rule: str, free: Mapping[str, Lay], job: Job, run: Run) -> dict[str, Result]:
    """Lay what a rule does not bind, in the rule's share of the time."""
    grids = {name: grid_of(lay, job) for name, lay in free.items()}
    found = lay_all(
        {name: in_loads(lay, grids[name]) for name, lay in free.items()},
        run.part(f"without the {rule}", share=RULES[rule]),
    )
    return {name: joined(lay, grids[name], found[name]) for name, lay in free.items()}


def _differs(free: Lay, bound: Lay) -> bool:
    """Whether any part has another freedom, or lies another way on the grain."""
    return any(
        one.turns != other.turns or one.piece != other.piece
        for one, other in zip(free.parts, bound.parts, strict=True)
    )


def _unnapped(job: Job) -> Job:
    """Return the job as if no cloth had a right way up."""
    cloths = {cloth.name for cloth in job.cloths}

    def cut_free(cut: Cut) -> Cut:
        bound = cut.nap is Nap.ONE_WAY and cut.material in cloths
        return replace(cut, nap=Nap.NONE) if bound else cut

    return replace(
        job,
        materials=tuple(
            replace(material, nap=Nap.NONE)
            if material.name in cloths and material.nap is Nap.ONE_WAY
            else material
            for material in job.materials
        ),
        bags=tuple(replace(bag, cuts=tuple(map(cut_free, bag.cuts))) for bag in job.bags),
    )


def _unbiased(job: Job) -> Job:
    """Return the job as if what its cutting list turns onto the bias lay along the grain."""
    cloths = {cloth.name for cloth in job.cloths}

    def straight(cut: Cut) -> Cut:
        biased = cut.on_bias and cut.material in cloths
        return replace(cut, grain=0.0) if biased else cut

    return replace(
        job,
        bags=tuple(replace(bag, cuts=tuple(map(straight, bag.cuts))) for bag in job.bags),
    )
