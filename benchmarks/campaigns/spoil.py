"""Files spoilt: in their bytes, their structure, their sizes, their encoding."""

from __future__ import annotations

import copy
import json
import re
import tomllib
from collections.abc import Callable, Iterator
from random import Random
from typing import Any
from xml.etree import ElementTree

import tomlkit

__all__ = ["ODD_TEXTS", "spoilt"]

ODD_TEXTS = (
    "",
    " ",
    "\x1b[31mred\x1b[2J",
    "a\nb\r\nc",
    "tab\tand \x00 nul",
    "\u202eright to left",
    "\uffff\ufffe",
    "<b>&amp;'\"</b>",
    "../../up",
    "/dev/zero",
    "con",
    "é" * 300,
    "x" * 100_000,
    "1" * 6_000,
    "\\U+D800",
    "%s %d {0} {name}",
    "=cmd()",
)
_NUMBERS: tuple[float, ...] = (
    0,
    -1,
    1,
    1e-300,
    5e-324,
    1e-9,
    1e9,
    1e20,
    1e308,
    -1e308,
    10**30,
    2**63,
    10**400,
    0.1,
    0.5,
    2,
    3,
    1000,
    1_000_000,
)
_FACTORS = (-1.0, 0.0, 0.5, 0.9, 0.999, 1.001, 1.1, 2.0, 10.0, 1e3, 1e6, 1e-3, 1e-6, 1e12)
_ODD_BYTES: tuple[bytes, ...] = (
    b"-1",
    b"0",
    b"1e308",
    b"-1e-300",
    b"nan",
    b"inf",
    b"9" * 30,
    b'""',
    b"[]",
    b"{}",
    b"9" * 6000,
    b"1e20",
    b"0.001",
    b"1e999",
    b"[" * 3000,
    b"{" * 3000,
    b"\x00",
    b"\\",
)
_NUMBER = re.compile(r"-?\d+(?:\.\d+)?(?:[eE][+-]?\d+)?")
_MOST_NODES = 4000
Json = Any


def spoilt(data: bytes, kind: str, rng: Random) -> bytes:
    """Return the bytes of a file with one to five things wrong; `kind`: its suffix."""
    if rng.random() < 0.2:
        return _everywhere(data, rng)
    structured = _STRUCTURED.get(kind)
    if structured is not None and rng.random() < 0.7:
        try:
            data = structured(data, rng)
        except (ValueError, RecursionError, TypeError, OverflowError):
            pass  # one spoilt beyond being written in its format: its bytes will do
        else:
            if rng.random() < 0.85:
                return data
    if rng.random() < 0.1:
        return _encoded(data, rng)
    for _ in range(rng.choice((1, 1, 1, 2, 5))):
        data = _bytes(data, rng)
    return data


_TOKEN = re.compile(rb'"[^"\n]{1,60}"|-?\d+(?:\.\d+)?(?:[eE][+-]?\d+)?')


def _everywhere(data: bytes, rng: Random) -> bytes:
    """Put another number or text wherever one stands, so that copies of it still agree."""
    tokens = sorted({match.group() for match in _TOKEN.finditer(data)})
    if not tokens:
        return data
    old = rng.choice(tokens)
    if old.startswith(b'"'):
        new = json.dumps(rng.choice(ODD_TEXTS)[:3000]).encode()
        new = rng.choice(tokens) if rng.random() < 0.3 else new
    else:
        number = float(old) * rng.choice(_FACTORS)
        new = repr(int(number) if b"." not in old and number.is_integer() else number).encode()
    return _TOKEN.sub(lambda match: new if match.group() == old else match.group(), data)


def _bytes(data: bytes, rng: Random) -> bytes:
    if not data:
        return data
    at = rng.randrange(len(data))
    end = min(len(data), at + rng.choice((1, 4, 40, 400)))
    kind = rng.randrange(8)
    if kind == 0:  # a byte
        return data[:at] + bytes([rng.randrange(256)]) + data[at + 1 :]
    if kind == 1:  # a bit is missing
        return data[:at] + data[end:]
    if kind == 2:  # a bit is there twice, or very often
        return data[:end] + data[at:end] * rng.choice((1, 1, 1, 300, 20_000)) + data[end:]
    if kind == 3:  # torn off
        return data[:at] if rng.random() < 0.3 else data
    if kind == 4:  # two lines swapped, or one there twice
        lines = data.split(b"\n")
        i, j = rng.randrange(len(lines)), rng.randrange(len(lines))
        if rng.random() < 0.5:
            lines[i], lines[j] = lines[j], lines[i]
        else:
            lines.insert(i, lines[j])
        return b"\n".join(lines)
    if kind == 5:  # a text
        return data[:at] + rng.choice(ODD_TEXTS).encode()[:3000] + data[at:]
    numbers = list(re.finditer(rb"-?\d+(?:\.\d+)?", data))
    if numbers:
        number = rng.choice(numbers)
        return data[: number.start()] + rng.choice(_ODD_BYTES) + data[number.end() :]
    return data


def _encoded(data: bytes, rng: Random) -> bytes:
    text = data.decode("utf-8", "replace")
    how = rng.randrange(6)
    if how == 0:
        return text.encode("utf-16")
    if how == 1:
        return text.encode("latin-1", "replace") + b"\xe9\xff"
    if how == 2:
        return b"\xef\xbb\xbf" + data
    if how == 3:
        return text.replace("\n", rng.choice(("\r", "\r\n", "\u2028", "\x0b"))).encode()
    if how == 4:
        at = rng.randrange(len(data) + 1)
        return data[:at] + b"\xed\xa0\x80" + data[at:]
    return text.encode("utf-32")


# --- trees: JSON and TOML -------------------------------------------------------------------


def _places(tree: Json) -> list[tuple[Any, Any]]:
    """Return (container, key) of the values of a tree, the first few thousand."""
    found: list[tuple[Any, Any]] = []
    left = [tree]
    while left and len(found) < _MOST_NODES:
        node = left.pop()
        keys = list(node) if isinstance(node, dict) else range(len(node))
        for key in keys:
            found.append((node, key))
            if isinstance(node[key], dict | list):
                left.append(node[key])
    return found


def _odd(value: Json, rng: Random) -> Json:
    """Return something else in place of a value."""
    if isinstance(value, bool):
        return rng.choice((not value, 1, "yes"))
    if isinstance(value, int | float) and rng.random() < 0.7:
        if rng.random() < 0.6:
            return _like(value, value * rng.choice(_FACTORS))
        return _like(value, rng.choice(_NUMBERS))
    if isinstance(value, str) and rng.random() < 0.7:
        numbers = list(_NUMBER.finditer(value))
        if numbers and rng.random() < 0.8:
            number = rng.choice(numbers)
            new = float(number.group()) * rng.choice(_FACTORS)
            if rng.random() < 0.4:
                new = rng.choice(_NUMBERS[:-1])
            return value[: number.start()] + repr(new) + value[number.end() :]
        return rng.choice(ODD_TEXTS)
    if isinstance(value, list) and value and rng.random() < 0.7:
        how = rng.randrange(5)
        if how == 0:
            return value * rng.choice((2, 3, 100))
        if how == 1:
            return []
        if how == 2:
            return rng.sample(value, len(value))
        if how == 3:
            return value[: rng.randrange(len(value))]
        return [value]
    return copy.deepcopy(
        rng.choice((None, True, 0, -1, 1e308, "", "x", [], {}, [[]], {"a": {}}, _deep(rng)))
    )


def _like(value: float, new: float) -> float:
    whole = isinstance(value, int) and abs(new) < 1e30
    return int(new) if whole and float(new).is_integer() else new


def _deep(rng: Random) -> Json:
    node: Json = 1
    for _ in range(rng.choice((30, 300))):
        node = [node] if rng.random() < 0.5 else {"a": node}
    return node


def _tree(tree: Json, rng: Random) -> Json:
    for _ in range(rng.choice((1, 1, 1, 1, 2, 4))):
        places = _places(tree)
        if not places:
            return tree
        (node, key), (other, there) = rng.choice(places), rng.choice(places)
        kind = rng.randrange(16)
        if kind > 9:  # another number or words of the same kind
            alike = [p for p in places if isinstance(p[0][p[1]], float | int | str)]
            node, key = rng.choice(alike or places)
        if kind == 0:
            del node[key]
        elif kind == 1:  # there twice
            if isinstance(node, list):
                node.insert(key, copy.deepcopy(node[key]))
            else:
                node[f"{key}2"] = copy.deepcopy(node[key])
        elif kind == 2:  # moved, or what stands elsewhere
            node[key] = copy.deepcopy(other[there])
        elif kind == 3 and isinstance(node, dict):  # under another name
            node[rng.choice((*ODD_TEXTS, str(there)))] = node.pop(key)
        elif kind > 9 and type(other[there]) is type(node[key]) and rng.random() < 0.2:
            node[key] = other[there]
        else:
            node[key] = _odd(node[key], rng)
    return tree


def _json(data: bytes, rng: Random) -> bytes:
    return json.dumps(_tree(json.loads(data), rng)).encode()


def _toml(data: bytes, rng: Random) -> bytes:
    return tomlkit.dumps(_without_none(_tree(tomllib.loads(data.decode()), rng))).encode()


def _without_none(node: Json) -> Json:
    if isinstance(node, dict):
        return {key: _without_none(value) for key, value in node.items() if value is not None}
    return [_without_none(v) for v in node if v is not None] if isinstance(node, list) else node


# --- pattern files --------------------------------------------------------------------------


def _dxf(data: bytes, rng: Random) -> bytes:
    """Spoil the pairs of a group code and a value."""
    lines = data.decode().splitlines()
    tags = [[lines[i].strip(), lines[i + 1]] for i in range(0, len(lines) - 1, 2)]
    for _ in range(rng.choice((1, 1, 2, 4))):
        if not tags:
            break
        i, j = rng.randrange(len(tags)), rng.randrange(len(tags))
        i, j = min(i, j), min(max(i, j), i + rng.choice((1, 10, 200)))
        kind = rng.randrange(8)
        if kind == 0:
            del tags[i : j + 1]
        elif kind == 1:
            tags[i:i] = copy.deepcopy(tags[i : j + 1]) * rng.choice((1, 2, 50))
        elif kind == 2:
            tags[i][0] = rng.choice(("0", "1", "8", "10", "70", "90", "1000", "999", "-1", "x"))
        elif kind == 3:
            tags[i], tags[j] = tags[j], tags[i]
        elif kind == 4:
            tags[i][1] = tags[j][1]
        else:
            tags[i][1] = _value(tags[i][1], rng)
    return "\n".join(word for tag in tags for word in tag).encode("utf-8", "surrogatepass")


def _value(text: str, rng: Random) -> str:
    odd = _odd(text, rng)
    if not isinstance(odd, str):
        odd = repr(odd)
    return odd.replace("\n", " ").replace("\r", " ") if rng.random() < 0.9 else odd


def _svg(data: bytes, rng: Random) -> bytes:
    root = ElementTree.fromstring(data)
    for _ in range(rng.choice((1, 1, 2, 4))):
        parents = list(_elements(root))
        (parent, child), (_, other) = rng.choice(parents), rng.choice(parents)
        kind = rng.randrange(8)
        if kind == 0:
            parent.remove(child)
        elif kind == 1:
            for _ in range(rng.choice((1, 1, 60))):
                parent.append(copy.deepcopy(child))
        elif kind == 2:
            parent.append(copy.deepcopy(other))
        elif kind == 3:
            child.tag = other.tag
        elif kind == 4:
            child.text = rng.choice(ODD_TEXTS[:13]).replace("\x00", "").replace("\x1b", "")
        elif child.attrib:
            name = rng.choice(sorted(child.attrib))
            new = _value(child.attrib.pop(name), rng)
            if rng.random() < 0.15:
                name = rng.choice(sorted(other.attrib) or [name])
            child.attrib[name] = "".join(c for c in new if c >= " ")
        if len(root) == 0:
            break
    return ElementTree.tostring(root)


def _elements(root: ElementTree.Element) -> Iterator[tuple[ElementTree.Element, Any]]:
    for parent in root.iter():
        for child in parent:
            yield parent, child


_STRUCTURED: dict[str, Callable[[bytes, Random], bytes]] = {
    ".json": _json,
    ".toml": _toml,
    ".dxf": _dxf,
    ".svg": _svg,
}
