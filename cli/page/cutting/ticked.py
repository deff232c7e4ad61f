"""Parts ticked off as they are cut, kept in the plan's folder, so that they survive a reload."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

from nesting.bounded import text_of
from nesting.errors import JobError
from nesting.whole import whole_file

from ..disk.keeping import StaleError

if TYPE_CHECKING:
    from ..work import Work

__all__ = ["ANSWERS", "TICKED_FILE"]

Json = dict[str, Any]

TICKED_FILE = "cut.json"
"""Names of the parts that were cut, by the lay that they are on."""

_LARGEST = 10_000_000  # bytes


def _read(file: Path) -> dict[str, list[str]]:
    if not file.exists():
        return {}
    try:
        held = json.loads(
            text_of(file, most=_LARGEST, what="a list of what is cut", error=JobError)
        )
    except ValueError:
        held = None
    if not isinstance(held, dict) or not all(isinstance(one, list) for one in held.values()):
        raise JobError("is no list of what is cut", file=str(file), hint="remove it to begin anew")
    return {str(lay): [str(name) for name in names] for lay, names in held.items()}


def ticked(work: Work, asked: Json) -> Json:
    """Name the parts of each marker, and which of them are cut."""
    cut = _read(work.keeper.folder / TICKED_FILE)
    return {
        "cut": [
            [p.part for p in entry.marker.placements if _name(entry, p.part) in _of(cut, entry)]
            for entry in work.laid().entries
        ]
    }


def tick(work: Work, asked: Json) -> Json:
    """Note that a part is cut, or that it is not."""
    with work.lock, work.keeper.alone():
        file = work.keeper.folder / TICKED_FILE
        cut, entry = _read(file), work.now(int(asked["marker"]))  # as others have left it
        part, wanted = int(asked["part"]), asked.get("cut") is True
        if not 0 <= part < len(entry.marker.lay.parts):
            raise JobError("the marker has no such part", hint="load the page again")
        name, before = _name(entry, part), _of(cut, entry)
        if "was" in asked and (name in before) is not (asked["was"] is True):
            work.tell("cut")
            raise StaleError(
                f"{name} was ticked elsewhere meanwhile, and is shown as it is now",
                hint="tick it again if that is not true",
            )
        cut[entry.marker.lay.name] = [one for one in before if one != name] + [name] * wanted
        with whole_file(file, overwrite=True) as temporary:
            temporary.write_text(json.dumps(cut, indent=1, ensure_ascii=False), encoding="utf-8")
    work.tell("cut")
    return ticked(work, {})


def _of(cut: dict[str, list[str]], entry: Any) -> list[str]:
    return cut.get(entry.marker.lay.name, [])


def _name(entry: Any, part: int) -> str:
    return str(entry.marker.lay.parts[part].name)


ANSWERS = {"/cut": ("GET", ticked), "/cut/tick": ("POST", tick)}
"""What is answered here: how it is asked, and who answers."""
