"""Pictures of goods: those that lie beside a job, and those that are shown under a marker."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

from starlette.responses import FileResponse, Response

from nesting.errors import JobError
from nesting.writing.pages.live.shown import picture_called

if TYPE_CHECKING:
    from nesting import Entry

    from ..work import Work

__all__ = ["ANSWERS", "KINDS", "beside_job", "lies_beside"]

Json = dict[str, Any]

KINDS = {".jpg": "image/jpeg", ".jpeg": "image/jpeg", ".png": "image/png"}


def under(work: Work, asked: Json) -> Response:
    """Return the picture of goods that a marker names."""
    kind, data = picture_called(str(asked.get("is")), _entries(work))
    return Response(data, media_type=f"image/{kind}")


def _entries(work: Work) -> Iterator[Entry]:
    """Give all markers that are shown: those of the plan, and those of a comparison."""
    yield from work.laid().entries
    yield from (trial.entry for trial in work.comparison.trials if trial.entry is not None)


def lies_beside(folder: Path, name: str) -> Path:
    """Return a picture that lies beside a job.

    Raises
    ------
    JobError
        There is none of that name, or it is another kind of file.

    """
    path = folder / name
    outside = Path(name).name != name or name.startswith(".") or path.is_symlink()
    if path.suffix.lower() not in KINDS or outside or not path.is_file():
        raise JobError("there is no such picture any more", hint="choose it again")
    return path


def beside_job(folder: Path, name: str) -> FileResponse:
    """Return what is shown of a picture that lies beside a job."""
    path = lies_beside(folder, name)
    return FileResponse(path, media_type=KINDS[path.suffix.lower()])


ANSWERS = {"/marker/picture": ("GET", under)}
"""What is answered here: how it is asked, and who answers."""
