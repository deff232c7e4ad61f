"""Job files whose pieces may stand in pattern files."""

from __future__ import annotations

from os import PathLike
from pathlib import Path

from nesting.job import file
from nesting.job.job import Job
from nesting.reading.read import resolve

__all__ = ["parse_job", "read_job"]


def read_job(path: str | PathLike[str]) -> Job:
    """Read a job file, the files it includes and the pattern files it points to.

    Raises
    ------
    JobError, PatternError
        Something can't be used; says what, where (file, line, field) and what to do.

    """
    return file.read_job(Path(path), resolver=resolve)


def parse_job(text: str, *, name: str = "job") -> Job:
    """Read a job from text; `name` stands for the file's in complaints."""
    return file.parse_job(text, file=name, resolver=resolve)
