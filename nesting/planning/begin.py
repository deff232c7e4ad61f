"""Where in the repeat of its print a lay begins: searched unless the job says where a motif lies.

A lay that is shortest can be moved towards its start until a part that is bound touches it,
as far as the bound parts count. So only places at which one of them does are tried, a short
search each; the best is where the print lies from then on.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from nesting.amounts import Amounts
from nesting.errors import JobError
from nesting.job.job import Job
from nesting.job.materials import NO_ORIGIN
from nesting.marker.figures import figures
from nesting.marker.lay import Lay, Part
from nesting.material.material import Cloth, Material
from nesting.names import listed
from nesting.pattern.path import Affine
from nesting.pattern.polygon import piece_polygon
from nesting.planning.lay.lays import lays
from nesting.planning.running.laying import lay_all
from nesting.planning.running.run import Run
from nesting.quantity import Unit
from nesting.search.result import Result

__all__ = ["as_before", "begin_of", "begun", "best_begun", "is_open", "placed", "told"]

_SHARE = 0.1
"""Share of the time in which places to begin are tried."""

_ROUNDS = 2
"""Rounds of each where rounds are the limit."""

_MOST = 8
"""So many places are tried beside a motif's middle."""

_STEP, _STEP_INCH = 1.0, 25.4 / 16.0
"""What a place to begin is measured in (mm)."""


def begun(job: Job, cloths: Sequence[Cloth], run: Run) -> Job:
    """Return a job whose prints lie where lays of some cloths are best begun.

    Left as they are: prints whose place is known, and those of cloth on which something is held.
    """
    held = {part.material for part in job.held}
    todo: dict[str, Lay] = {}
    for cloth in cloths:
        if cloth.name in held or not is_open(cloth):
            continue
        try:
            some = lays(job, only=[cloth.name])
        except JobError:  # it fits another width only
            continue
        for lay in some:
            todo[cloth.name] = lay
    return placed(job, best_begun(todo, run, amounts=job.amounts))


def best_begun(todo: Mapping[str, Lay], run: Run, *, amounts: Amounts) -> dict[str, float]:
    """Return how far behind the start the middle of a motif lies (mm) where each lay is best begun.

    Lays on prints whose place is not known, by any names; those that no motif is centred on are
    left out.
    """
    trials: dict[str, Lay] = {}
    at: dict[str, dict[str, float]] = {}
    for name, lay in todo.items():
        for place in _places(lay, amounts):
            key = f"{name} begun at {place:g}"
            trials[key] = _moved(lay, place)
            at.setdefault(name, {})[key] = place
    if not trials:
        return {}
    rounds = None if run.rounds is None else min(run.rounds, _ROUNDS)
    trial = replace(run.untold().part("begin", share=_SHARE), rounds=rounds)
    found = lay_all(trials, trial)
    return {
        name: places[min(places, key=lambda key: _rank(found[key]))] for name, places in at.items()
    }


def as_before(job: Job, before: Job) -> Job:
    """Return a job whose prints lie where those of a job that was laid do."""
    known = {
        cloth.name: cloth.print.origin[0]
        for cloth in before.cloths
        if cloth.print is not None and not cloth.print.placed
    }
    return placed(job, known)


def told(job: Job) -> Job:
    """Return a job that says where on its prints lays begin, of prints whose place is not known."""
    named: dict[str, list[str]] = {}
    for cloth in job.cloths:
        if cloth.print is not None and not cloth.print.placed:
            named.setdefault(_said(cloth.print.origin[0], job.amounts), []).append(cloth.name)
    if not named:
        return job
    begins = [f"{listed(names)}: {said}" for said, names in named.items()]
    lines = list(job.assumptions)
    at = next((i for i, line in enumerate(lines) if line.endswith(NO_ORIGIN)), None)
    if at is not None:
        lines[at : at + 1] = begins
    return replace(job, assumptions=tuple(lines))


def _said(place: float, amounts: Amounts) -> str:
    where = f"{amounts.setting(place)} before" if place else "at"
    return (
        f"lay the marker so that it begins {where} the middle of a motif; where motifs lie across"
        " is not given, so one is taken to lie on the low edge of the usable cloth"
    )


def is_open(cloth: Cloth) -> bool:
    """Whether a cloth's lay may begin anywhere in the repeat of its print."""
    motif = cloth.print
    return motif is not None and not motif.placed and motif.along is not None


def begin_of(goods: Material, lay: Lay) -> float | None:
    """Return how far before the middle of a motif a lay begins (mm).

    None where nothing of it is centred on a motif, or the job says where motifs lie.
    """
    centred = any(p.binding is not None and p.binding.phase is None for p in lay.parts)
    if not centred or goods.taken_in is not Unit.LENGTH or not is_open(goods):
        return None
    return None if goods.print is None else goods.print.origin[0]


def _places(lay: Lay, amounts: Amounts) -> Iterator[float]:
    """Yield how far behind the start a motif's middle may lie (mm): at it, or so that a part is."""
    step = _STEP_INCH if amounts.inches else _STEP
    found = {
        math.ceil(place / step - 1e-6) * step
        for part in dict.fromkeys(
            replace(part, name="", copy=1, bag=1, match=None) for part in lay.parts
        )
        for place in _flush(part)
    }
    every = sorted(found - {0.0})
    if not every:
        return
    yield 0.0
    many = min(_MOST, len(every))
    yield from (every[k * len(every) // many] for k in range(many))


def _flush(part: Part) -> Iterator[float]:
    """Yield where the first motif may lie so that a part centred on one touches the start."""
    binding = part.binding
    if binding is None or binding.phase is not None or part.turns.slack:
        return
    along = binding.lattice.along
    if along is None:
        return
    for angle in part.turns.angles:
        turn = Affine.turn(angle)
        left = piece_polygon(part.piece, by=turn).bounds[0] - turn(binding.anchor)[0]
        for shift in {0.0, binding.lattice.drop * along}:
            yield (-left - shift) % along


def _moved(lay: Lay, place: float) -> Lay:
    """Return a lay whose print lies elsewhere along."""

    def bound(part: Part) -> Part:
        if part.binding is None:
            return part
        lattice = replace(part.binding.lattice, origin=(place, part.binding.lattice.origin[1]))
        return replace(part, binding=replace(part.binding, lattice=lattice))

    return replace(lay, parts=tuple(map(bound, lay.parts)))


def _rank(result: Result) -> tuple[int, float]:
    return len(result.unplaced), round(figures(result.marker).length, 6)


def placed(job: Job, at: Mapping[str, float]) -> Job:
    """Return a job whose prints lie so far along, by their cloths' names."""
    moved = {
        cloth.name: replace(
            cloth, print=replace(cloth.print, origin=(at[cloth.name], cloth.print.origin[1]))
        )
        for cloth in job.cloths
        if cloth.name in at and cloth.print is not None and not cloth.print.placed
    }
    if not moved:
        return job
    return replace(job, materials=tuple(moved.get(m.name, m) for m in job.materials))
