"""What the builders of a job share: the file's text, who opens pattern files, what was assumed."""

from __future__ import annotations

from collections.abc import Callable, Collection
from contextlib import AbstractContextManager
from dataclasses import dataclass, field
from pathlib import Path as FilePath

from nesting.amounts import METRIC, Amounts
from nesting.errors import JobError
from nesting.job.locate import Place
from nesting.job.source import Source
from nesting.names import listed
from nesting.pattern.piece import Piece
from nesting.units import nearest

__all__ = ["Assumptions", "Desk", "Request", "Resolver"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Request:
    """A piece wanted from a pattern file: the file, the piece's name, its size, the file's unit.

    `reference`: what is drawn in the file ("" for what says that it is a reference), and how long
    it truly is, mm, 0 for what lies in a picture. `line`: what of a drawn line in a picture is
    meant. `amounts`: how the job says lengths.
    """

    file: FilePath
    piece: str
    size: str | None = None
    unit: str | None = None
    reference: tuple[str, float] | None = None
    line: str | None = None
    amounts: Amounts = METRIC


Resolver = Callable[[Request], Piece]
"""Finds a piece in a pattern file; raises a `NestingError` if it can't."""

Assumptions = dict[tuple[bool, str], dict[str, None]]
"""Sentences, each with whether it is a minor one, and what it holds for, in the order in which
they came up."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Desk:
    """One file being read. `assumptions` is shared by all files of a job and grows.

    `spoken`: how the job's amounts are said, for a file that belongs to a job. `size`: which of
    the job's `sizes` is read; "" if it has none.
    """

    source: Source
    folder: FilePath | None = None
    resolver: Resolver | None = None
    assumptions: Assumptions = field(default_factory=dict)
    spoken: Amounts | None = None
    sizes: tuple[str, ...] = ()
    size: str = ""

    @property
    def amounts(self) -> Amounts:
        """How lengths are said: by the job's unit, or as most of them are written."""
        if self.spoken is not None:
            return self.spoken
        return Amounts(self.own_unit)

    @property
    def own_unit(self) -> str:
        """The unit that this file states, or that most of its lengths are written in."""
        head = self.source.data.get("job", self.source.data)
        unit = head.get("unit") if isinstance(head, dict) else None
        if isinstance(unit, str):
            return unit
        return "in" if self.source.in_inches else "mm"

    def at(self, place: Place) -> AbstractContextManager[None]:
        """Turn trouble inside the block into an error that says where it is."""
        return self.source.at(place, amounts=self.amounts)

    def error(self, what: str, place: Place, *, hint: str | None = None) -> JobError:
        """Return an error that says where it is."""
        return self.source.error(what, place, hint=hint)

    def unknown(self, kind: str, name: str, place: Place, *, known: Collection[str]) -> JobError:
        """Return that nothing of a kind has the name, with the nearest one, or all there are."""
        near = nearest(name, known)
        hint = f'did you mean "{near}"?' if near else f"there are: {', '.join(known) or 'none'}"
        return self.error(f'no {kind} is named "{name}"', place, hint=hint)

    def assume(self, sentence: str, *, of: str = "", first: bool = False) -> None:
        """Note a default that is used because the file does not say, and of what.

        `first`: it is about goods or a print and can spoil them if it is wrong, so it is
        said before the others.
        """
        self.assumptions.setdefault((not first, sentence), {})[of] = None

    def assumed(self) -> tuple[str, ...]:
        """Return the sentences, each with all that it holds for; the weighty ones first."""
        found = sorted(self.assumptions.items(), key=lambda one: one[0][0])
        return tuple(
            ": ".join(part for part in (listed(filter(None, names)), sentence) if part)
            for (_, sentence), names in found
        )

    @property
    def weighty(self) -> int:
        """How many of these sentences, the first ones, are of what can spoil goods."""
        return sum(not minor for minor, _ in self.assumptions)

    def path(self, name: str, place: Place) -> FilePath:
        """Return the path of a file that is named in the job, relative to the job's folder."""
        if not name.strip() or not name.isprintable() or len(name) > 1000:
            raise self.error("this is not a file name", place)
        path = FilePath(name)
        if path.is_absolute():
            return path
        if self.folder is None:
            raise self.error(
                "a job that is not in a file can't refer to other files", place, hint="save it"
            )
        return self.folder / path

    def fetch(self, request: Request, place: Place) -> Piece:
        """Return a piece from a pattern file."""
        if self.resolver is None:
            raise self.error(
                "pattern files can't be read here",
                place,
                hint="turn the file into pieces first and include them",
            )
        with self.at(place):
            return self.resolver(request)
