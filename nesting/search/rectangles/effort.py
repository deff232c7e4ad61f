"""How much CP-SAT may do for boxes."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["Effort"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Effort:
    """How long CP-SAT may take: wall seconds, or deterministic time (the same on any machine)."""

    seconds: float | None = None
    deterministic: float | None = None
    workers: int = 1
    seed: int = 1
