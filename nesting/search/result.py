"""What a search is told, what it tells meanwhile, and what it answers."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum

from nesting.marker.marker import Marker
from nesting.quantity import Quantity
from nesting.shown import Brief

__all__ = ["Limits", "Observer", "Progress", "Result", "Stopped", "Unplaced"]


class Stopped(StrEnum):
    """Why a search ended."""

    OPTIMAL = "optimal"
    TIME = "time"
    ROUNDS = "rounds"
    TARGET = "target"
    STALLED = "no improvement"
    INTERRUPTED = "interrupted"
    NOT_FOUND = "not all found room"
    """Some parts were not laid, and it is not known whether they could be: in the time or rounds
    given no room was found."""
    INFEASIBLE = "infeasible"
    """It is proved that not all parts can be laid."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """When a search ends: whichever comes first; None does not limit.

    `seconds` of wall time; `rounds` of the search (the same for any machine); `length`
    (mm) of a marker on cloth, or `sheets`, short enough to stop at; `patience`, rounds without
    improvement.

    Examples
    --------
    >>> Limits(seconds=60)
    Limits(seconds=60, rounds=None, length=None, sheets=None, patience=None)
    >>> Limits(seconds=None, rounds=200)
    Limits(seconds=None, rounds=200, length=None, sheets=None, patience=None)

    """

    seconds: float | None = 30.0
    rounds: int | None = None
    length: float | None = None
    sheets: int | None = None
    patience: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Progress:
    """How far the search of a lay is: its name, and the best marker so far.

    `length`: of the marker (mm), on sheets of the last one; `sheets`: how many are used;
    `density`: the share of it that is parts (0 to 1); `bound`: what no marker is below;
    `rounds` and `seconds` spent.

    Examples
    --------
    >>> seen = []
    >>> _ = lay_parts(lay, limits=Limits(seconds=None, rounds=1), workers=1, observer=seen.append)
    >>> seen[-1].lay, seen[-1].length == figures(_.marker).length
    ('tabs', True)

    """

    lay: str
    length: float
    sheets: int
    density: float
    bound: Quantity
    rounds: int
    seconds: float


Observer = Callable[[Progress], None]
"""Told whenever a search has found a better marker."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Unplaced:
    """A part that could not be laid (index in ``lay.parts``), and why."""

    part: int
    why: str


@dataclass(frozen=True, slots=True, kw_only=True, repr=False)
class Result(Brief):
    """The best marker, and how it came about.

    `bound`: no marker can be shorter, or use fewer sheets; never above the truth. `bound_by`:
    what says so, in a few words ("by area").
    `first_seconds`: when the first complete marker stood. `history`: (seconds, length)
    at each improvement.

    Examples
    --------
    >>> result.stopped.value, result.unplaced
    ('rounds', ())
    >>> figures(result.marker).length >= result.bound.value
    True

    """

    marker: Marker
    stopped: Stopped
    bound: Quantity
    seconds: float
    first_seconds: float
    rounds: int
    seed: int
    workers: int
    bound_by: str = ""
    unplaced: tuple[Unplaced, ...] = ()
    history: tuple[tuple[float, float], ...] = ()
