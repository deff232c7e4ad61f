"""Advice kept beside a plan's files, so that whoever lays the job again is told of it."""

from __future__ import annotations

import hashlib
from dataclasses import replace
from functools import lru_cache
from pathlib import Path
from typing import Annotated, Literal

from pydantic import ConfigDict, Field, TypeAdapter, ValidationError
from pydantic.dataclasses import dataclass as checked

from nesting.bounded import text_of
from nesting.errors import PlanError
from nesting.job.job import Job
from nesting.planning.running.store import told

__all__ = [
    "ADVICE_FILE",
    "KeptAdvice",
    "KeptMaterial",
    "KeptProposal",
    "job_mark",
    "kept_adapter",
    "kept_in",
]

ADVICE_FILE = "advice.json"

_LARGEST = 1_000_000
"""Bytes of such a file at most."""

_Text = Annotated[str, Field(max_length=4000)]

_STRICT = ConfigDict(extra="forbid", strict=True)


@checked(config=_STRICT, frozen=True, kw_only=True)
class KeptMaterial:
    """A material: what it needs, and what holds its length, in words."""

    name: _Text
    needs: _Text
    held: _Text = ""


@checked(config=_STRICT, frozen=True, kw_only=True)
class KeptProposal:
    """A proposal in words."""

    material: _Text
    what: _Text
    saves: _Text
    money: _Text
    write: _Text
    beware: _Text


@checked(config=_STRICT, frozen=True, kw_only=True)
class KeptAdvice:
    """The best of an advice, in the job's words; `job`: which job it is for, by its content."""

    format: Literal["thriftlay advice"] = "thriftlay advice"
    version: Literal[1] = 1
    job: _Text
    materials: tuple[KeptMaterial, ...]
    best: tuple[KeptProposal, ...]
    more: int


@lru_cache(maxsize=1)
def kept_adapter() -> TypeAdapter[KeptAdvice]:
    """Return what writes and reads the file."""
    return TypeAdapter(KeptAdvice)


def kept_in(folder: Path, job: Job) -> KeptAdvice | None:
    """Return the advice in a folder; None if there is none that can be read, or of another job."""
    file = folder / ADVICE_FILE
    if not file.exists():
        return None
    try:
        text = text_of(file, most=_LARGEST, what="an advice.json", error=PlanError)
        found = kept_adapter().validate_json(text)
    except (PlanError, ValidationError):
        return None
    return found if found.job == job_mark(job) else None


def job_mark(job: Job) -> str:
    """Return what tells a job from every other, wherever its file lies."""
    content = replace(job, file=None, places=(), assumptions=())
    return hashlib.sha256(told(content).encode()).hexdigest()
