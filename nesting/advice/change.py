"""A change to a job that might save goods."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from enum import StrEnum

from nesting.job.job import Cut, Job
from nesting.pattern.piece import Piece
from nesting.shown import Brief

__all__ = ["Change", "Kind", "with_cuts", "with_piece"]


class Kind(StrEnum):
    """What is changed; those that cost the bag least stand first, which settles ties."""

    WIDTH = "width"
    FOLD = "fold"
    SHEET = "sheet"
    LEFTOVER = "left-over"
    BAG = "one bag more"
    NAP = "two directions"
    SLACK = "off the grain"
    SPACING = "spacing"
    JOIN = "join"
    CROSS = "cross grain"
    SMALLER = "smaller"
    HALVES = "halves"


@dataclass(frozen=True, slots=True, kw_only=True, repr=False)
class Change(Brief):
    """One change: in words, what to write in the job file, what is to be thought of, and the job.

    `pieces`: names of those that it touches; none if it is of the goods. `share`: how many times
    as much is made of it (one bag more of two: 1.5). `aside`: why it is not tried.
    """

    kind: Kind
    material: str
    what: str
    write: str
    beware: str
    job: Job
    pieces: tuple[str, ...] = ()
    share: float = 1.0
    aside: str = ""

    @property
    def asks(self) -> bool:
        """Whether it asks for something that may not be there: a left-over, a use for one more."""
        return self.kind in (Kind.LEFTOVER, Kind.BAG)


def with_cuts(job: Job, change: Callable[[Cut], Cut]) -> Job:
    """Return the job with every line of its cutting lists changed."""
    return replace(
        job, bags=tuple(replace(bag, cuts=tuple(map(change, bag.cuts))) for bag in job.bags)
    )


def with_piece(job: Job, changed: Piece) -> Job:
    """Return the job with a piece in place of the one of its name."""
    return replace(
        job,
        bags=tuple(
            replace(bag, pieces=tuple(changed if p.name == changed.name else p for p in bag.pieces))
            for bag in job.bags
        ),
    )
