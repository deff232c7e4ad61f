"""A picture of a cloth, dropped: its repeat is found, or it is one repeat; then it is taken."""

from __future__ import annotations

import base64
import secrets
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from nesting.amounts import Amounts
from nesting.errors import JobError, NestingError

from ..edits.print_edits import motif_taken
from .kept import jpeg_kept

if TYPE_CHECKING:
    from nesting.reading.pictures.prints.repeat import Repeat

    from ..job_file import JobFile

__all__ = ["Prints"]

Json = dict[str, Any]

_MOST = 8
"""Pictures that are looked at and not taken yet."""
_UP = ("top", "right", "bottom", "left")


@dataclass(frozen=True, slots=True, kw_only=True)
class _Seen:
    """One repeat as it lies on cloth (a JPEG), and what was measured of it, if it was."""

    name: str
    shown: bytes
    found: Repeat | None


class Prints:
    """What was seen in pictures of cloth, until it is taken: nothing of it is on disk before."""

    def __init__(self) -> None:
        self._seen: dict[str, _Seen] = {}

    def look(self, data: bytes, asked: Json, *, unit: str) -> Json:
        """Look at a picture; `asked`: what gives its scale, "" where it shows one repeat.

        Raises
        ------
        PatternError
            It can't be read, nothing gives its scale, or nothing repeats.

        """
        up, reference = str(asked.get("up") or "top"), str(asked.get("reference") or "").strip()
        if up not in _UP:
            raise JobError("a picture has no such side")
        name = Path(str(asked.get("name") or "cloth")).stem
        seen, lines = _measured(data, reference, up, Amounts(unit), name)
        while len(self._seen) >= _MOST:
            self._seen.pop(next(iter(self._seen)))
        token = secrets.token_hex(8)
        self._seen[token] = seen
        shown = base64.b64encode(seen.shown).decode("ascii")
        return {"is": token, "said": lines, "shown": f"data:image/jpeg;base64,{shown}"}

    def take(self, file: JobFile, asked: Json, *, seen: str | None) -> str:
        """Keep the picture beside the job and name it there; return the job file's mark."""
        held = self._seen.get(str(asked.get("is")))
        if held is None:
            raise JobError("that picture is not looked at any more", hint="choose it again")
        folder = file.path.parent
        before = {path.name for path in folder.glob("*.jpg")}
        path = jpeg_kept(folder, f"{held.name} repeat.jpg", held.shown)
        try:
            return file.change(
                lambda document: motif_taken(document, asked, picture=path.name, found=held.found),
                seen=seen,
            )
        except (NestingError, OSError):
            if path.name not in before:
                path.unlink()
            raise


def _measured(
    data: bytes, reference: str, up: str, amounts: Amounts, name: str
) -> tuple[_Seen, list[str]]:
    from nesting.reading.pictures.flat import flatten
    from nesting.reading.pictures.picture import read_picture
    from nesting.reading.pictures.prints.measure import measure_repeat
    from nesting.reading.pictures.prints.print_file import one_repeat, repeat_jpeg
    from nesting.reading.pictures.prints.said import said
    from nesting.reading.pictures.references.reference import parse_references

    picture = read_picture(data)
    if not reference:
        return _Seen(name=name, shown=one_repeat(picture.pixels, up=up), found=None), []
    flat, found, findings = measure_repeat(flatten(picture, parse_references(reference)), up=up)
    lines = [*said(found, amounts), f"scale: {flat.said}", *(one.text for one in findings)]
    return _Seen(name=name, shown=repeat_jpeg(flat, found), found=found), lines
