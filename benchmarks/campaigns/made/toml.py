"""TOML out of plain tables."""

from __future__ import annotations

import json
from typing import Any

__all__ = ["Table", "toml", "written"]

Table = dict[str, Any]


def toml(tree: Table) -> str:
    """Return a tree of tables as TOML."""
    return "\n".join(_lines(tree, ())) + "\n"


def _lines(tree: Table, path: tuple[str, ...]) -> list[str]:
    plain = {k: v for k, v in tree.items() if not _tables(v)}
    found = [f"{k} = {written(v)}" for k, v in plain.items()]
    for key, value in tree.items():
        if _tables(value):
            for one in value:
                found += ["", f"[[{'.'.join((*path, key))}]]", *_lines(one, (*path, key))]
    return found


def _tables(value: Any) -> bool:
    return isinstance(value, list) and bool(value) and all(isinstance(v, dict) for v in value)


def written(value: Any) -> str:
    """Return a value as TOML."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False)
    if isinstance(value, list | tuple):
        return "[" + ", ".join(written(v) for v in value) + "]"
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{json.dumps(k)} = {written(v)}" for k, v in value.items()) + " }"
    return repr(value)
