"""Random lays with some parts held, searched, and judged by `nesting.check` and a second judge.

Run ``python -m benchmarks.campaigns.holds --size N --seed S [--json FILE]``.

Legal lays as the campaign of judges builds them; some of their parts are held where they lie,
or all of them go on from there. Wrong is: a held part that moved by the last digit, a fault
that either judge is sure of, a part that is not laid though all lay before, a marker longer
than the one it goes on from, and a bound above that.
"""

from __future__ import annotations

import random
from collections.abc import Iterator

from nesting import Limits, Marker, Part, check, figures, hold, lay_parts, push_together

from .lays import Trial, trial
from .row import Tally, options
from .second import verdicts

__all__ = ["main", "run", "wrong"]


def wrong(one: Trial, rng: random.Random) -> Iterator[str]:
    """Yield what is wrong with what comes of a legal lay of which some parts are held."""
    names = [part.name for part in one.marker.lay.parts]
    kept = hold(one.marker, rng.sample(names, rng.randint(0, len(names))))
    start = kept if rng.random() < 0.7 else None
    found = lay_parts(
        kept.lay,
        limits=Limits(seconds=None, rounds=1),
        workers=1,
        seed=rng.randrange(99),
        start=start,
    )
    yield from _judged(found.marker, one, "searched")
    if found.unplaced and start is not None:
        yield f"not laid: {found.unplaced}"
    if start is not None and not found.unplaced and _longer(found.marker, kept):
        yield f"{figures(found.marker).length} mm, it went on from {figures(kept).length}"
    most = figures(kept).length if kept.lay.stock.open_ended else float(len(kept.sheets))
    if found.bound.value > most * (1.0 + 1e-9):
        yield f"bound {found.bound.value} above {most}"
    pushed = push_together(kept)
    yield from _judged(pushed, one, "pushed together")
    if _longer(pushed, kept):
        yield "longer by being pushed together"


def _judged(marker: Marker, one: Trial, how: str) -> Iterator[str]:
    """Yield what was moved though it is held, and faults that a judge is sure of."""
    for place in marker.placements:
        part: Part = marker.lay.parts[place.part]
        if part.held is not None and (place.x, place.y, place.angle, place.flipped) != (
            part.held.x, part.held.y, part.held.angle, part.held.flipped,
        ):  # fmt: skip
            yield f"{how}: {part.name} was held and moved"
    laid = {place.part for place in marker.placements}
    for finding in check(marker):
        missing = finding.kind == "missing" and len(laid) < len(marker.lay.parts)
        if finding.severity.value == "fault" and not missing:
            yield f"{how}: {finding.kind}: {finding.text}"
    for verdict in verdicts(marker, one.drawn):
        if verdict.surely and verdict.kind != "missing":
            yield f"{how}: false good: {verdict}"


def _longer(marker: Marker, than: Marker) -> bool:
    one, other = figures(marker), figures(than)
    return (one.sheets, one.last_length) > (other.sheets, other.last_length + 1e-9)


def run(size: int, seed: int) -> Tally:
    """Lay so many lays again with parts held."""
    tally, k = Tally("holds", seed), 0
    while tally.tried["lays"] < size:
        rng = random.Random(f"holds {seed}/{k}")
        one = trial(rng)
        k += 1
        if not one.legal:
            continue
        tally.tried["lays"] += 1
        tally.tried["parts"] += len(one.marker.placements)
        tally.found["cloth" if one.marker.lay.stock.open_ended else "sheets"] += 1
        tally.faults += [f"lay {seed}/{k - 1}: {line}" for line in wrong(one, rng)]
    return tally


def main() -> int:
    """Run the campaign."""
    asked = options("Lays with parts held.", size=200).parse_args()
    return run(asked.size, asked.seed).tell(asked.json)


if __name__ == "__main__":
    raise SystemExit(main())
