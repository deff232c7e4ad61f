"""The lengths that a designer prints in her instructions, for each width of cloth."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from nesting.material.material import Fold
from nesting.planning.compare import Trial
from nesting.units import LENGTH_UNITS, format_yards, round_up

__all__ = ["Requirement", "instruction_lines", "requirements"]

_METRIC_STEP = 100.0
# A width that is over whole inches by no more than this (mm) is sold as those.
_NEAR = 3.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Requirement:
    """What one width asks for: `length` is rounded up to 10 cm, `yards` up to an eighth."""

    material: str
    width: float
    folded: bool
    length: float
    yards: str

    @property
    def inches(self) -> int:
        """The width in whole inches, rounded up."""
        return math.ceil((self.width - _NEAR) / LENGTH_UNITS["in"])


def requirements(trials: Sequence[Trial]) -> tuple[Requirement, ...]:
    """Return what each width that was laid asks for, shrinkage and ends included."""
    return tuple(
        Requirement(
            material=trial.material,
            width=trial.width.booked,
            folded=trial.fold is Fold.FOLDED,
            length=round_up(trial.entry.buying.gross.value, step=_METRIC_STEP),
            yards=format_yards(trial.entry.buying.gross.value),
        )
        for trial in trials
        if trial.entry is not None and trial.entry.good
    )


def instruction_lines(trials: Sequence[Trial]) -> tuple[str, ...]:
    """Return two sentences a cloth, metric and in yards, ready to print.

    ``"lining: 0.8 m at 140 cm, 1.1 m at 110 cm"`` and the same in yards and inches.
    """
    found = requirements(trials)
    lines = []
    for material in dict.fromkeys(one.material for one in found):
        of = sorted((one for one in found if one.material == material), key=lambda o: -o.width)
        metric = ", ".join(
            f"{one.length / 1000.0:.1f} m at {one.width / 10.0:g} cm{_folded(one)}" for one in of
        )
        imperial = ", ".join(f"{one.yards} at {one.inches} in{_folded(one)}" for one in of)
        lines += [f"{material}: {metric}", f"{material}: {imperial}"]
    return tuple(lines)


def _folded(one: Requirement) -> str:
    return " folded" if one.folded else ""
