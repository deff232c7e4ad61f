"""What goes into one decision of an order."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from ortools.sat.python import cp_model

__all__ = ["Effort"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Effort:
    """What a decision may take: seconds of wall time, a seed, threads."""

    seconds: float = 10.0
    seed: int = 1
    workers: int = 1

    def solver(self) -> cp_model.CpSolver:
        """Return a solver of these limits."""
        from ortools.sat.python import cp_model  # it loads much, and few decide by it

        solver = cp_model.CpSolver()
        solver.parameters.max_time_in_seconds = self.seconds
        solver.parameters.catch_sigint_signal = False  # Ctrl-C is the caller's
        solver.parameters.random_seed = self.seed
        solver.parameters.num_workers = self.workers
        return solver
