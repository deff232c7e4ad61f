"""Pictures of goods kept beside a job, each once."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from nesting.reading.pictures.traced import upright
from nesting.whole import whole_file
from nesting.writing.files import file_name

from ..disk.nearby import lying, size_of

__all__ = ["jpeg_kept", "picture_taken"]


def picture_taken(folder: Path, name: str, data: bytes) -> dict[str, Any]:
    """Keep a picture of a hide beside the job, as one looks at it."""
    held, (wide, high) = upright(data)
    return {"picture": jpeg_kept(folder, name, held).name, "wide": wide, "high": high}


def jpeg_kept(folder: Path, name: str, held: bytes) -> Path:
    """Keep a JPEG under a name that is free; the same one is not kept twice."""
    for path in lying(folder, ".jpg"):
        if size_of(path) == len(held) and path.read_bytes() == held:
            return path
    taken = [path.stem for path in folder.glob("*.jpg")]
    path = folder / f"{file_name(name.rpartition('.')[0] or name, taken=taken)}.jpg"
    with whole_file(path) as temporary:
        temporary.write_bytes(held)
    return path
