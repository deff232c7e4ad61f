"""A job that is made on the page: patterns dropped, goods named, pieces cut from them."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeGuard

from nesting.amounts import Amounts
from nesting.errors import JobError, NestingError, PatternError
from nesting.job.by_hand.drawn import Drawn
from nesting.job.desk import Request
from nesting.job.tables.fields import reference_of
from nesting.reading.listing import headline, list_pieces
from nesting.reading.pdf.sheet import PicturesError
from nesting.reading.raw_pattern import SizesError
from nesting.reading.read import Reference, pattern_for, read_pattern
from nesting.whole import whole_file
from nesting.writing.files import file_name, one_line
from nesting.writing.pages.live.pieces import live_line, live_piece

from .at_piece import meant
from .disk.nearby import lying, size_of
from .edits import cutting, goods_edits, hide_edits, job_edits, piece_edits, print_edits, size_edits
from .edits.cutting import drawing_says
from .edits.goods_edits import goods_shown
from .edits.job_edits import added, listed, put, tables
from .job_file import JobFile
from .seen.pattern import seen_in
from .seen.under import KINDS, lies_beside
from .stock import at_hand, put_at_hand

if TYPE_CHECKING:
    from nesting.reading.pattern_file import Pattern

__all__ = ["HOW", "PATTERNS", "dropped", "edited", "kept_file", "making"]

Json = dict[str, Any]

PICTURES = tuple(KINDS)
PATTERNS = (".dxf", ".svg", ".pdf", *PICTURES)
HOW = ("file_unit", "file_reference", "file_line", "size")
"""The keys of a piece that say how its pattern file is read."""
_MOST = 300
"""Files of one folder that are taken."""


def kept_file(folder: Path, name: str, data: bytes) -> Path:
    """Keep a file that was dropped, under its own name as far as that is safe and free.

    Raises
    ------
    JobError
        It is of no kind that is read, or no picture though it is called one; or there are
        too many.

    """
    stem, dot, suffix = name.rpartition(".")
    kind = f".{suffix.lower()}" if dot else ""
    if kind not in (*PATTERNS, ".toml"):
        raise JobError(
            f"{one_line(name)[:80]} is neither a pattern nor a job",
            hint=f"drop {', '.join(PATTERNS)} or a job file (.toml)",
        )
    if not data:
        raise JobError(f"{one_line(name)[:80]} is empty", hint="save it again")
    if kind in PICTURES and not _is_picture(data):  # told before its scale is asked for
        raise JobError(f"{one_line(name)[:80]} is no picture", hint="save it as PNG or JPEG")
    there = list(lying(folder))
    if len(there) > _MOST:
        raise JobError("so many files lie in the folder already", hint="start in another one")
    for path in there:
        alike = path.suffix.lower() == kind and size_of(path) == len(data)
        if alike and path.read_bytes() == data:
            return path  # the same one again
    taken = [path.stem for path in folder.iterdir() if path.suffix.lower() == kind]
    path = folder / f"{file_name(stem, taken=taken)}{kind}"
    with whole_file(path) as temporary:
        temporary.write_bytes(data)
    return path


def _is_picture(data: bytes) -> bool:
    from nesting.reading.pictures.picture import is_picture  # with what reads pictures

    return is_picture(data)


def dropped(
    file: JobFile, path: Path, *, how: Json, begun: bool = False, asked: Json | None = None
) -> Json:
    """Take the pieces of a pattern file into a job; says how the file was understood.

    `how`: the keys of a piece that say how the file is read (`HOW`), none if nothing is said.
    `begun`: the job begins with this file, so it is in inches if the file is. Where something has
    to be said first nothing is taken, and ``asks`` tells what: ``scale`` of a picture, ``size`` of
    a file with several (``sizes``). What is seen in a picture is shown (``found``) before it is
    taken: `asked` then says ``take``. Of several sizes ``all`` makes them the job's.
    """
    asked = asked or {}
    pictured = path.suffix.lower() in PICTURES or asked.get("pictured") is True
    told: Json = {"file": path.name, "trouble": "", "how": how}
    if pictured:
        told["asks"] = "scale"
    if pictured and not how.get("file_reference"):
        return told
    try:
        known = _scale(how, file) if pictured else _known(how, unit=_unit_of(file.document))
        pattern = read_pattern(
            path,
            unit=how.get("file_unit"),
            size=how.get("size"),
            reference=None if known is None else Reference(name=known[0], length=known[1]),
            amounts=Amounts(_unit_of(file.document)) if pictured else None,
            line=how.get("file_line"),
        )
    except PicturesError:
        return told | {"asks": "scale", "pictured": True}
    except SizesError as several:
        return told | {"asks": "size", "sizes": list(several.sizes)}
    except (PatternError, JobError) as error:
        if isinstance(error, JobError) and not pictured:
            raise
        return told | {"trouble": str(error), "pictured": pictured}
    told["trouble"] = "; ".join(f.text for f in pattern.findings if f.severity == "fault")
    if pictured:
        told |= {"found": seen_in(pattern), "pictured": True}
    if not told["trouble"] and (asked.get("take") is True or not pictured):
        inches = begun and pattern.amounts.inches
        sizes = list(pattern.sizes) if asked.get("all") is True else []
        told["was"], told["seen"] = file.changed(
            lambda document: _taken(document, path, pattern, how, inches=inches, sizes=sizes)
        )
        told.pop("found", None)
    return told


def _understood(document: Any, folder: Path) -> list[Json]:
    """Return how the pattern files of a job were understood, each once."""
    found: dict[str, Json] = {}
    for table in tables(document, "piece"):
        name = table.get("from")
        if not _beside(name) or name in found:
            continue
        how = _how(table, document)
        try:
            pattern = _pattern(folder / name, how, unit=_unit_of(document))
        except NestingError as error:
            found[name] = {"file": name, "trouble": str(error), "checks": [], "how": how}
            if (folder / name).suffix.lower() in PICTURES:
                found[name]["asks"] = "scale"
            continue
        say = pattern.amounts
        found[name] = {
            "file": name,
            "trouble": "",
            "said": headline(pattern, say),
            "largest": say.sizes(*pattern.largest),
            "notes": [f.text for f in pattern.findings if f.kind != "check"],
            "answered": how["file_reference"] is not None,
            "how": how,
            "pictured": pattern.kind in _PICTURED,
            "asks": "scale" if pattern.kind in _PICTURED else "",
            "sizes": list(pattern.sizes) if len(pattern.sizes) > 1 else [],
            "size": pattern.size,
            "sized": table.get("sized") is True,
            "unit": str(how["file_unit"] or pattern.scale.unit),
            "checks": [
                {
                    **live_line(check.path),
                    "name": check.name,
                    "size": say.setting(check.length),
                    "length": f"{check.length:.9g} mm",
                }
                for check in pattern.checks
            ],
        }
    return list(found.values())


_PICTURED = ("scan", "photograph")
"""What the kinds of patterns are called that are read from pictures."""


def _how(table: Any, document: Any) -> Json:
    """Return how the pattern file of a piece is read, in the job's size where it has each."""
    how = {key: table.get(key) for key in HOW}
    if table.get("sized") is True:
        how["size"] = size_edits.made(document) or None
    return how


def _beside(name: Any) -> TypeGuard[str]:
    """Whether a file that a job names lies in its folder: no other is shown."""
    return isinstance(name, str) and "/" not in name and "\\" not in name


def _unit_of(document: Any) -> str:
    return str(document.get("job", {}).get("unit", "mm"))


def _taken(
    document: Any, path: Path, pattern: Pattern, how: Json, *, inches: bool, sizes: list[str]
) -> None:
    """Name the pieces of a pattern file in a job; `sizes`: those become the job's."""
    if inches:
        document["job"]["unit"] = "in"
    if sizes:
        size_edits.sizes(document, {"sizes": sizes, "size": how["size"]})
        how = {**how, "size": None, "sized": True}
    held = {str(table.get("name")) for table in tables(document, "piece")}
    for row in list_pieces(pattern):
        name, number = row.name, 2
        mine = [t for t in tables(document, "piece") if t.get("from") == path.name]
        same = [table for table in mine if table.get("piece", table.get("name")) == row.name]
        for table in same:
            kept = ("size",) if table.get("sized") is True and not sizes else ()
            for key in (*HOW, *(("sized",) if sizes else ())):
                if key not in kept:
                    put(table, key, how.get(key))
        if same:
            continue
        while name in held:
            name, number = f"{row.name} {number}", number + 1
        held.add(name)
        values: Json = {"name": name, "from": path.name}
        if name != row.name:
            values["piece"] = row.name
        values |= {key: how[key] for key in (*HOW, "sized") if how.get(key)}
        added(document, "piece", values)


def edited(file: JobFile, asked: Json, *, seen: str | None = None) -> str:
    """Change a job file as a page asks; return its mark; `seen`: that where the page shows it."""
    if asked.get("what") == "at_hand":
        return put_at_hand(file, asked, seen=seen)
    if asked.get("what") == "hide" and asked.get("picture") is not None:
        asked = {**asked, "picture": lies_beside(file.path.parent, str(asked["picture"]))}
    said = meant(file, asked)
    edit = _EDITS.get(str(said.get("what")))
    if edit is None:
        raise JobError("that can't be changed here")
    return file.change(lambda document: edit(document, said), seen=seen)


_EDITS = {
    **job_edits.EDITS,
    **goods_edits.EDITS,
    **print_edits.EDITS,
    **size_edits.EDITS,
    **hide_edits.EDITS,
    **piece_edits.EDITS,
    **cutting.EDITS,
}


def making(file: JobFile) -> Json:
    """Return all that the page shows of a job file: pieces, materials, what is cut of what."""
    document = file.document
    head = document.get("job", {})
    pieces = _pieces(file)
    return {
        "name": str(head.get("name", "")),
        "unit": str(head.get("unit", "mm")),
        "sizes": ", ".join(map(str, head.get("sizes", []))),
        "size": size_edits.made(document),
        "currency": str(head.get("currency", "")),
        "bags": int(head.get("bags", 1)),
        "file": file.path.name,
        "seen": file.mark,
        "ready": file.ready,
        "trouble": file.trouble,
        "pieces": pieces,
        "files": _understood(document, file.path.parent),
        "goods": goods_shown(document, file.job),
        "at_hand": at_hand(file),
        "cuts": [
            {
                "piece": str(cut.get("piece")),
                "material": material,
                "copies": int(cut.get("copies", 1)),
                "hand": "pairs" if cut.get("pairs") else "reversed" if cut.get("reversed") else "",
                "ways": {key: cut.get(key) is True for key in job_edits.WAYS},
                "gap": str(cut.get("gap", "")),
                "more": sorted(set(cut) - _SHOWN),
            }
            for cut in tables(document, "cut")
            for material in listed(cut.get("material"))
        ],
        "says": drawing_says(document, lambda table: _of_table(file.path.parent, table, document)),
    }


_SHOWN = {"piece", "material", "copies", "pairs", "reversed", "gap", *job_edits.WAYS}
"""Keys of a line of the cutting list that the page has fields for."""


def _of_table(folder: Path, table: Any, document: Any) -> Pattern | None:
    """Return the pattern file that a piece comes from; None if it can't be read, or from none."""
    name, how = table.get("from"), _how(table, document)
    if not _beside(name):
        return None
    try:
        return _pattern(folder / name, how, unit=_unit_of(document))
    except NestingError:
        return None


def _pieces(file: JobFile) -> list[Json]:
    """Return the pieces, drawn where they can be read."""
    document = file.document
    rows = []
    mine = {str(table.get("name")): table for table in tables(document, "piece")}
    for name in dict.fromkeys([*file.pieces, *mine]):
        table, drawn = mine.get(name), file.pieces.get(name)
        piece = drawn.piece if isinstance(drawn, Drawn) else None
        picture: Json | None = None if piece is None else live_piece(piece)
        row: Json = {
            "name": name,
            "from": "" if table is None else str(table.get("from", "")),
            "mine": table is not None,
            "sized": table is not None and table.get("sized") is True,
            "trouble": str(drawn) if isinstance(drawn, NestingError) else "",
            "drawn": picture,
            "size": "" if picture is None else _size(document, picture),
            "grain": "" if piece is None else f"{piece.grain % 360.0:g}",
            "up": piece is not None and piece.up_known,
        }
        rows.append(row)
    return rows


def _size(document: Any, drawn: Json) -> str:
    """Return how large a piece is as it is drawn, in the job's units."""
    _, _, wide, high = drawn["box"]
    return Amounts(str(document.get("job", {}).get("unit", "mm"))).sizes(wide, high)


def _pattern(path: Path, how: Json, *, unit: str) -> Pattern:
    """Return a pattern file, read as a piece's keys say; `unit`: of the job's plain numbers."""
    said = {key: None if how.get(key) is None else str(how[key]) for key in HOW}
    request = Request(
        file=path,
        piece="",
        size=said["size"],
        unit=said["file_unit"],
        reference=_known(how, unit=unit),
        amounts=Amounts(unit),
        line=said["file_line"],
    )
    return pattern_for(request)


def _scale(how: Json, file: JobFile) -> tuple[str, float] | None:
    """Return what gives a picture its scale; refused as such."""
    from nesting.reading.pictures.references.reference import parse_references

    try:
        return _known(how, unit=_unit_of(file.document))
    except JobError:
        parse_references(str(how["file_reference"]))  # or refused
        raise


def _known(how: Json, *, unit: str) -> tuple[str, float] | None:
    """Return what is known to be how long in a pattern file."""
    said = how.get("file_reference")
    return None if said is None else reference_of(said, unit=unit)
