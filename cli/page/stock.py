"""What is at hand of goods, in a stock file that the job includes: read and changed."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import tomlkit
from tomlkit import TOMLDocument
from tomlkit.exceptions import TOMLKitError

from nesting.bounded import text_of
from nesting.errors import JobError, NestingError
from nesting.limits import LARGEST_JOB
from nesting.whole import whole_file
from nesting.writing.files import file_name

from .disk.keeping import StaleError
from .edits.job_edits import listed
from .job_file import JobFile

if TYPE_CHECKING:
    from nesting import Plan

__all__ = ["at_hand", "put_at_hand", "taken_off"]

Json = dict[str, Any]


def at_hand(file: JobFile) -> dict[str, str]:
    """Return how much is at hand of goods, as text, by their names."""
    return {
        str(name): _text(value)
        for _, document in _stocks(file)
        for name, value in document.get("at_hand", {}).items()
    }


def put_at_hand(file: JobFile, asked: Json, *, seen: str | None = None) -> str:
    """Say how much is at hand of goods; a stock file is begun where the job includes none.

    Returns the job file's mark; `seen`: that where it was shown; `was`: what was shown at hand.

    Raises
    ------
    JobError
        The job can't be read with it; nothing was changed.

    """
    name, value = str(asked.get("name")), _value(str(asked.get("at_hand") or ""))
    was = asked.get("was")
    if was is not None and was != at_hand(file).get(name, ""):
        raise StaleError("what is at hand was changed elsewhere meanwhile", hint="change it again")
    stocks = [*_stocks(file)]
    held = next((one for one in stocks if name in one[1].get("at_hand", {})), None)
    if held is None and value is None:
        return file.mark if seen is None else seen
    path, document = held or next(iter(stocks), None) or _begun(file)
    before = path.read_bytes() if path.exists() else None
    if "at_hand" not in document:
        document["at_hand"] = tomlkit.table()
    if value is None:
        document["at_hand"].remove(name)
    else:
        document["at_hand"][name] = value
    was_ready = file.ready
    with whole_file(path, overwrite=True) as temporary:
        temporary.write_text(tomlkit.dumps(document), encoding="utf-8")
    try:
        made = file.change(lambda job: _include(job, path.name), seen=seen)
        file.read()
        if was_ready and not file.ready:
            raise JobError(file.trouble)
    except NestingError:
        if before is None:
            path.unlink()
            file.change(lambda job: _exclude(job, path.name))
        else:
            with whole_file(path, overwrite=True) as temporary:
                temporary.write_bytes(before)
        file.read()
        raise
    return made


def taken_off(file: JobFile, plan: Plan) -> Json:
    """Bring the stock of a job up to date after its plan was cut, as ``thriftlay done`` does.

    What the plan used is gone, what it leaves is there; a stock file is begun where the job
    includes none.

    Raises
    ------
    JobError
        The plan was taken off before, more is used than is there, or goods stand in several
        stock files; nothing was changed.

    """
    from nesting.planning.buying.stock import (  # reckons left-overs: not until asked for
        after_cutting,
        after_cutting_all,
        read_stock,
        stock_from_text,
        write_stocks,
    )

    found = [path for path, _ in _stocks(file)]
    if found:
        taken = after_cutting_all([read_stock(path) for path in found], plan)
        write_stocks([one.stock for one in taken])
        changed = [path for path, one in zip(found, taken, strict=True) if one.changes] or found
        changes = [line for one in taken for line in one.changes]
    else:
        path, document = _begun(file)
        text = tomlkit.dumps(document)
        begun = after_cutting(stock_from_text(text, file=str(path)), plan)
        changes, changed = list(begun.changes), [path]
        if changes:
            with whole_file(path) as temporary:
                temporary.write_text(begun.stock.text, encoding="utf-8")
            file.change(lambda job: _include(job, path.name))
    file.read()
    return {"changes": changes, "stock": ", ".join(path.name for path in changed)}


def _begun(file: JobFile) -> tuple[Path, TOMLDocument]:
    """Return a stock file to be, in the job's unit, under a name that is free."""
    document = tomlkit.document()
    unit = file.document.get("job", {}).get("unit")
    if unit is not None:
        document["unit"] = str(unit)
    folder = file.path.parent
    taken = [path.stem for path in folder.glob("*.toml")]
    return folder / f"{file_name(f'{file.path.stem}-stock', taken=taken)}.toml", document


def _stocks(file: JobFile) -> Iterator[tuple[Path, TOMLDocument]]:
    """Give the stock files that a job includes and that lie beside it."""
    for name in listed(file.document.get("include", [])):
        path = file.path.parent / name
        if path.parent != file.path.parent or path.suffix != ".toml":
            continue
        try:
            text = text_of(path, most=LARGEST_JOB, what="a stock file", error=JobError)
            document = tomlkit.parse(text)
        except (NestingError, TOMLKitError):
            continue
        if "at_hand" in document or ("remnant" in document and "piece" not in document):
            yield path, document


def _include(job: TOMLDocument, name: str) -> None:
    names = listed(job.get("include", []))
    if name not in names:
        job["include"] = [*names, name]


def _exclude(job: TOMLDocument, name: str) -> None:
    names = [one for one in listed(job.get("include", [])) if one != name]
    if names:
        job["include"] = names if len(names) > 1 else names[0]
    elif "include" in job:
        job.remove("include")


def _text(value: Any) -> str:
    if isinstance(value, list):
        return ", ".join(map(_text, value))
    if isinstance(value, dict):
        return " x ".join(str(value[key]) for key in ("length", "width") if key in value)
    return str(value)


def _value(text: str) -> Any:
    """Return what stands in a stock file: a number, a length, a length and width, or several."""
    found: list[Any] = []
    for one in text.split(","):
        length, _, width = (side.strip() for side in one.replace("×", "x").partition("x"))
        if not length:
            continue
        if width:
            line = tomlkit.inline_table()
            line.update({"length": _plain(length), "width": _plain(width)})
            found.append(line)
        else:
            found.append(_plain(length))
    return found[0] if len(found) == 1 else (found or None)


def _plain(text: str) -> Any:
    try:
        return int(text)
    except ValueError:
        pass
    try:
        return float(text)
    except ValueError:
        return text
