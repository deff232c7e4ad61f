"""Job files whose pieces may stand in pattern files."""

from __future__ import annotations

from dataclasses import replace
from os import PathLike
from pathlib import Path

from nesting.errors import NestingError
from nesting.job import file
from nesting.job.by_hand.drawn import Drawn
from nesting.job.desk import Request
from nesting.job.job import Job
from nesting.pattern.piece import Piece
from nesting.reading.read import pattern_for

__all__ = ["drawn_pieces", "parse_job", "read_job"]


def read_job(path: str | PathLike[str], *, stock: str | PathLike[str] | None = None) -> Job:
    """Read a job file, the files it includes and the pattern files it points to.

    How each pattern file was understood, its unit first, and what is odd about the
    pieces taken from it stand among the job's assumptions.

    Parameters
    ----------
    path
        The job file (TOML).
    stock
        A file of what is at hand, the same as one that the job includes.

    Returns
    -------
    Job
        Lengths in mm, whatever the files have.

    Raises
    ------
    JobError, PatternError
        Something can't be used; says what, where (file, line, field) and what to do.

    Examples
    --------
    >>> from pathlib import Path as File
    >>> _ = File("felt.toml").write_text(
    ...     '''
    ...     [job]
    ...     name = "Felt purse"
    ...     [[sheet]]
    ...     name = "felt"
    ...     size = [600, 400]
    ...     [[piece]]
    ...     name = "side"
    ...     rectangle = [200, 150]
    ...     [[cut]]
    ...     piece = "side"
    ...     material = "felt"
    ...     copies = 2
    ...     '''
    ... )
    >>> read_job("felt.toml").bags[0].cuts
    (Cut(piece='side', material='felt', copies=2),)

    """
    desk = _PatternDesk()
    at_hand = None if stock is None else Path(stock)
    return desk.told(file.read_job(Path(path), resolver=desk.piece, stock=at_hand))


def parse_job(text: str, *, name: str = "job") -> Job:
    """Read a job from text.

    Parameters
    ----------
    text
        TOML, as in a job file.
    name
        Stands for the file's in complaints.

    Returns
    -------
    Job
        Lengths in mm, whatever the text has.

    Raises
    ------
    JobError, PatternError
        Something can't be used; says what, where (field, line) and what to do.

    Examples
    --------
    >>> text = '''
    ...     [job]
    ...     name = "Felt purse"
    ...     [[sheet]]
    ...     name = "felt"
    ...     size = [600, 400]
    ...     [[piece]]
    ...     name = "side"
    ...     rectangle = [200, 150]
    ...     [[cut]]
    ...     piece = "side"
    ...     material = "felt"
    ...     copies = 2
    ...     '''
    >>> parse_job(text).materials
    (SheetGoods(name='felt', spacing=2.0, length=600.0, width=400.0),)

    """
    desk = _PatternDesk()
    return desk.told(file.parse_job(text, file=name, resolver=desk.piece))


def drawn_pieces(path: str | PathLike[str]) -> dict[str, Drawn | NestingError]:
    """Return the pieces of a job file as they were drawn, or why one can't be used, by name.

    The job need not be complete: see `nesting.job.file.drawn_pieces`.
    """
    return file.drawn_pieces(Path(path), resolver=_PatternDesk().piece)


class _PatternDesk:
    """Hands out pieces of pattern files, and notes what there is to say about the files."""

    def __init__(self) -> None:
        self._notes: dict[str, None] = {}

    def piece(self, request: Request) -> Piece:
        """Return the piece that a job file asks for with ``from = "…"``."""
        pattern = pattern_for(request)
        piece = pattern.piece(request.piece)
        said, name = pattern.scale, request.file.name
        size = f", of size {pattern.size}" if pattern.size else ""
        self._notes[f"{name}: drawn in {said.unit}{size} ({said.why})"] = None
        for finding in pattern.findings:
            if not finding.parts or piece.name in finding.parts:
                self._notes[f"{name}: {finding.text}"] = None
        return piece

    def told(self, job: Job) -> Job:
        """Return the job with the notes among its assumptions."""
        return replace(job, assumptions=(*job.assumptions, *self._notes))
