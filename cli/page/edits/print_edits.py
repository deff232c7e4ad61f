"""The picture of a print in a job file, as `thriftlay repeat` names it: taken, and taken out."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import tomlkit
from tomlkit import TOMLDocument
from tomlkit.items import Table

from nesting.errors import JobError
from nesting.units import length

from .job_edits import put, tables

if TYPE_CHECKING:
    from nesting.reading.pictures.prints.repeat import Repeat

__all__ = ["EDITS", "motif_taken", "print_picture"]

Json = dict[str, Any]


def print_picture(held: Any) -> Json | None:
    """Return the picture of a print that lies beside the job: its file, and how large it is."""
    told = held.get("picture")
    if not isinstance(told, dict) or not isinstance(told.get("size"), list):
        return None
    return {"file": str(told.get("file", "")), "size": " x ".join(map(str, told["size"]))}


def motif_taken(document: TOMLDocument, asked: Json, *, picture: str, found: Repeat | None) -> None:
    """Name the picture of one repeat, and what was measured of it or is said of its size."""
    from nesting.reading.pictures.prints.print_file import repeat_size

    cloth = _cloth(document, asked)
    if "print" not in cloth:
        cloth["print"] = tomlkit.table()
    motif = cloth["print"]
    if found is None:
        size = _said_size(document, asked, motif)
    else:
        size = [_mm(side) for side in repeat_size(found)]
        put(motif, "along", None if found.up is None else _mm(found.up))
        put(motif, "across", None if found.right is None else _mm(found.right))
        put(motif, "drop", found.drop or None)
        cloth["nap"] = "none" if found.two_way else "one-way"
    line = tomlkit.inline_table()
    line.update({"file": picture, "size": size})
    motif["picture"] = line


def _said_size(document: TOMLDocument, asked: Json, motif: Any) -> list[str]:
    """Return how large one repeat is said to be; so the print repeats where it did not say yet."""
    said = [str(asked.get(key) or "").strip() for key in ("along", "across")]
    if not all(said):
        raise JobError(
            "how large the picture is has two measures",
            hint="say how far what it shows goes along the cloth, and how far across",
        )
    unit = str(document.get("job", {}).get("unit", "mm"))
    if min(length(side, unit=unit) for side in said) <= 0.0:
        raise JobError("a picture of no size shows nothing", hint="say how large one repeat is")
    if "along" not in motif and "across" not in motif:
        put(motif, "along", said[0])
        put(motif, "across", said[1])
    return said


def without(document: TOMLDocument, asked: Json) -> None:
    """Take the picture of a print out of the job; its file stays where it lies."""
    motif = _cloth(document, asked).get("print")
    if motif is not None:
        put(motif, "picture", None)


def _mm(value: float) -> str:
    return f"{round(value, 2):g} mm"


def _cloth(document: TOMLDocument, asked: Json) -> Table:
    """Return the cloth that is asked about, where it stands by now."""
    found = next((t for t in tables(document, "cloth") if t.get("name") == asked.get("of")), None)
    if found is None:
        raise JobError("there is no such cloth any more", hint="choose the picture again")
    return found


EDITS = {"print without": without}
"""What can be changed, and who does it."""
