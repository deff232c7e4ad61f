"""Packings of boxes from above: beams of skylines, ever wider, at shorter and shorter lengths."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from nesting.search.rectangles.boxes import Boxes
from nesting.search.rectangles.fill import Beam, Filler
from nesting.search.rectangles.race import Race

__all__ = ["beams_for", "fill", "pack_at_once", "squeeze"]
_WORK = 3_000_000  # states × ways a level: a kernel call stays well under a second
_MEMORY = 40_000_000  # steps kept of all states of two levels


def beams_for(boxes: Boxes, *, seed: int, upright: int) -> Iterator[Beam]:
    """Yield beams, ever wider, their guides varied."""
    rng = np.random.default_rng((seed, upright))
    total = len(boxes.items)
    ways = sum(len(sizes) for sizes in {box.sizes for box in boxes.items})
    widest = max(1, min(_WORK // ways, _MEMORY // (2 * total + 6)))
    width = 32.0
    turn = upright
    while True:
        yield Beam(
            width=min(widest, int(width)),
            flare=float(rng.choice([0.0, 0.5, 1.0])),
            rough=float(rng.choice([0.025, 0.05, 0.05, 0.1, 0.2])),
            tall=float(rng.choice([0.0, 0.1, 0.2, 0.4])),
            large=float(rng.choice([0.0, 0.1, 0.1, 0.3])),
            noise=float(rng.choice([0.0, 0.0, 0.02])),
            both=bool(rng.integers(2)),
            upright=turn % 3 == 1,
            seed=int(rng.integers(1 << 30)),
        )
        turn += 1
        width *= 1.3


def pack_at_once(race: Race, filler: Filler) -> None:
    """Find some packing at once: a narrow beam with no limit to the length."""
    far = sum(max(size[0] for size in box.sizes) for box in race.boxes.items)
    spots = filler.run(far, Beam(width=4 if len(race.boxes.items) <= 1000 else 1))
    assert spots is not None
    race.offer(spots)


def squeeze(race: Race, filler: Filler, beam: Beam) -> None:
    """Try the bound, then halve the range between what fails and the best found."""
    assert race.reach is not None
    failed, target = race.bound - 1, race.bound
    least = max(1, race.reach // 1000)
    while not race.over() and race.reach - failed > least:
        race.rounds += 1
        spots = filler.run(target, beam, race.over)
        if spots is not None:
            race.offer(spots)
        else:
            failed = target
        target = (failed + race.reach) // 2


def fill(race: Race, filler: Filler, beams: Iterator[Beam]) -> None:
    """Squeeze with one beam after another until the race is over."""
    for beam in beams:
        if race.over():
            return
        squeeze(race, filler, beam)
