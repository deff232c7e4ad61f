"""Advice kept beside a plan's files, so that whoever lays the job again is told of it."""

from __future__ import annotations

import hashlib
from dataclasses import replace
from functools import lru_cache
from pathlib import Path
from typing import Annotated, Literal

from pydantic import ConfigDict, Field, TypeAdapter, ValidationError
from pydantic.dataclasses import dataclass as checked

from nesting.advice.advise import Advice
from nesting.advice.words import advised, base_words, chain_words
from nesting.bounded import text_of
from nesting.errors import PlanError
from nesting.job.job import Job
from nesting.planning.running.store import told

__all__ = ["ADVICE_FILE", "BEST", "KeptAdvice", "KeptMaterial", "kept", "kept_in", "kept_text"]

ADVICE_FILE = "advice.json"

BEST = 3
"""So many proposals are kept."""

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
def _adapter() -> TypeAdapter[KeptAdvice]:
    return TypeAdapter(KeptAdvice)


def kept(advice: Advice) -> KeptAdvice:
    """Return what is kept of an advice."""
    job = advice.job
    words = [advised(one, advice) for one in advice.proposals]
    return KeptAdvice(
        job=_of(job),
        materials=tuple(
            KeptMaterial(
                name=one.material,
                needs=base_words(one, job.amounts, currency=job.currency),
                held="" if one.chain is None else chain_words(one.chain),
            )
            for one in advice.as_it_is
        ),
        best=tuple(
            KeptProposal(
                material=one.material, what=one.what, saves=one.saves, money=one.money,
                write=one.write, beware=one.beware,
            )
            for one in words[:BEST]
        ),
        more=max(0, len(words) - BEST),
    )  # fmt: skip


def kept_text(advice: Advice) -> str:
    """Return the text of the file."""
    return _adapter().dump_json(kept(advice), indent=1).decode() + "\n"


def kept_in(folder: Path, job: Job) -> KeptAdvice | None:
    """Return the advice in a folder; None if there is none that can be read, or of another job."""
    file = folder / ADVICE_FILE
    if not file.exists():
        return None
    try:
        text = text_of(file, most=_LARGEST, what="an advice.json", error=PlanError)
        found = _adapter().validate_json(text)
    except (PlanError, ValidationError):
        return None
    return found if found.job == _of(job) else None


def _of(job: Job) -> str:
    """Return what tells a job from every other, wherever its file lies."""
    content = replace(job, file=None, places=(), assumptions=())
    return hashlib.sha256(told(content).encode()).hexdigest()
