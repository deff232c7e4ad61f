"""What the page changes of a job file: the cutting list, which way pieces lie."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import tomlkit
from tomlkit import TOMLDocument
from tomlkit.items import AoT, InlineTable, Item, Table

from nesting.errors import JobError

__all__ = [
    "EDITS",
    "WAYS",
    "added",
    "comment_of",
    "cut_from",
    "listed",
    "plain",
    "put",
    "removed",
    "tables",
]

Json = dict[str, Any]


def tables(document: TOMLDocument, name: str) -> list[Table]:
    """Return the tables of a name, ``[[name]]``, in order."""
    found = document.get(name, [])
    return list(found) if isinstance(found, AoT) else []


def added(document: TOMLDocument, name: str, values: Mapping[str, Any]) -> None:
    """Add a table of a name."""
    table = tomlkit.table()
    for key, value in values.items():
        table[key] = value
    table.add(tomlkit.nl())  # an empty line to the next one
    if name not in document:
        document[name] = tomlkit.aot()
    document[name].append(table)


def removed(document: TOMLDocument, name: str, index: int) -> None:
    """Remove a table; the last one of a name with its name."""
    if len(tables(document, name)) == 1 and index == 0:
        document.remove(name)
    else:
        del document[name][index]


def comment_of(table: Table, key: str) -> str:
    """Return what stands behind a key that goes, so that it can be kept."""
    item = table.value.item(key) if key in table else None
    return item.trivia.comment.lstrip("# ") if isinstance(item, Item) else ""


def put(table: Table | InlineTable, key: str, value: Any) -> None:
    """Set a key, or remove it where the value is what is meant without it."""
    if value in (None, "", False):
        if key in table:
            table.remove(key)
    elif table.get(key) != value:
        table[key] = value


_OWN = ("piece", "material")


def plain(value: Any) -> str:
    """Return a value as a field shows it: ``3 cm x 5 cm`` of a pair."""
    if isinstance(value, list):
        return " x ".join(map(plain, value))
    return "" if value is None else str(value)


def listed(value: Any) -> list[str]:
    """Return the names of one or several goods."""
    return [str(one) for one in value] if isinstance(value, list) else [str(value)]


def cutting(document: TOMLDocument, asked: Json) -> None:
    """Say how often a piece is cut from a material: 0 takes it out of the cutting list."""
    piece, material = str(asked["piece"]), str(asked["material"])
    copies = int(asked.get("copies") or 0)
    if not 0 <= copies <= 100_000:
        raise JobError("so many copies can't be cut")
    for index, cut in enumerate(tables(document, "cut")):
        goods_of = listed(cut.get("material"))
        if cut.get("piece") != piece or material not in goods_of:
            continue
        if len(goods_of) > 1:  # the other goods keep their line
            cut_from(cut, [name for name in goods_of if name != material])
            if copies:
                rest = {k: v for k, v in cut.unwrap().items() if k not in _OWN}
                added(document, "cut", {"piece": piece, "material": material} | rest)
                cut = tables(document, "cut")[-1]
        elif not copies:
            removed(document, "cut", index)
        if copies:
            put(cut, "copies", copies)
            _hands(cut, asked)
            _ways(cut, asked)
        return
    if copies:
        hand = asked.get("hand", "")
        new: Json = {"piece": piece, "material": material, "copies": copies}
        added(document, "cut", new | ({hand: True} if hand in ("pairs", "reversed") else {}))


def cut_from(cut: Table, names: list[str]) -> None:
    """Say from which goods a line of the cutting list is cut."""
    cut["material"] = names if len(names) > 1 else names[0]


WAYS = ("trimmed", "folded_back", "centred")
"""The other keys of a line that say how a piece is cut, and are true or not."""


def _ways(cut: Table, asked: Json) -> None:
    """Say how else a piece is cut, as far as that is asked."""
    ways = asked.get("ways")
    if not isinstance(ways, dict):
        return
    for key in WAYS:
        put(cut, key, ways.get(key) is True)
    put(cut, "gap", str(asked.get("gap") or "").strip() if ways.get("trimmed") is True else None)


def _hands(cut: Table, asked: Json) -> None:
    hand = asked.get("hand", "")
    put(cut, "pairs", hand == "pairs")
    put(cut, "reversed", hand == "reversed")


def piece(document: TOMLDocument, asked: Json) -> None:
    """Turn the grain of a piece, and say whether its upper end is known."""
    table = next(t for t in tables(document, "piece") if t.get("name") == asked.get("piece"))
    grain = asked.get("grain")
    try:
        table["grain"] = float(str(grain).replace(",", "."))
    except ValueError:
        table["grain"] = str(grain)
    if asked.get("up") is True:
        put(table, "up_known", None)
    else:
        table["up_known"] = False


def unpieced(document: TOMLDocument, asked: Json) -> None:
    """Take a piece out of the job, and out of its cutting list."""
    name = asked.get("piece")
    for kind, key in (("cut", "piece"), ("piece", "name")):
        for index in reversed(range(len(tables(document, kind)))):
            if tables(document, kind)[index].get(key) == name:
                removed(document, kind, index)


def named(document: TOMLDocument, asked: Json) -> None:
    """Change the job's own keys."""
    head = document["job"]
    put(head, "name", str(asked.get("name") or "").strip() or head["name"])
    put(head, "currency", str(asked.get("currency") or "").strip())
    bags = int(asked.get("bags") or 1)
    if "bags" in head or bags != 1:
        put(head, "bags", bags)


EDITS = {
    "job": named,
    "cut": cutting,
    "piece": piece,
    "unpiece": unpieced,
}
"""What can be changed, and who does it."""
