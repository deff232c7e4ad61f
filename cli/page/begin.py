"""Where work can begin: jobs in the folder, the samples, a new job."""

from __future__ import annotations

import tomllib
from itertools import islice
from pathlib import Path
from typing import Any

from nesting.errors import JobError

from ..commands.samples import copied, source
from .disk.nearby import lying

__all__ = ["SAMPLES", "beginnings", "chosen"]

SAMPLES = "samples"
"""The folder that the samples are copied into."""

_DEEP, _MOST = 3, 200
"""How many folders deep jobs are looked for, and how many are named."""


def beginnings(folder: Path) -> dict[str, list[dict[str, str]]]:
    """Return the jobs of a folder and the samples, by what they are called and their file."""
    samples = source()
    return {
        "here": [_named(folder, path) for path in _jobs(folder)],
        "samples": [_named(samples, path) for path in _jobs(samples)],
    }


def chosen(folder: Path, *, kind: str, name: str) -> Path:
    """Return the file of a beginning that was offered; of the samples all are copied first.

    Raises
    ------
    JobError
        It was not offered.

    """
    if kind == "samples":
        where = folder / SAMPLES
        offered = {str(path.relative_to(source())) for path in _jobs(source())}
        if name in offered and not where.exists():
            copied(where)
        file = where / name
    else:
        offered = {str(path.relative_to(folder)) for path in _jobs(folder)}
        file = folder / name
    if name not in offered or not file.is_file():
        raise JobError("there is no such job any more", hint="load the page again")
    return file


def _jobs(folder: Path) -> list[Path]:
    """Return the job files and plans below a folder, in order."""
    jobs = (path for path in lying(folder, ".toml", deep=_DEEP) if "job" in _read(path))
    return list(islice(jobs, _MOST))


def _named(folder: Path, path: Path) -> dict[str, str]:
    job = _read(path).get("job", {})
    name = job.get("name", "") if isinstance(job, dict) else ""
    return {"file": str(path.relative_to(folder)), "name": str(name)[:200]}


def _read(path: Path) -> dict[str, Any]:
    try:
        if path.stat().st_size > 1_000_000:
            return {}
        return tomllib.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError, RecursionError):
        return {}
