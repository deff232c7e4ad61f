"""On which line of a TOML text each key and value stands.

`tomllib` tells no places. The text given here has been read by it already, so this
scanner may trust its syntax and only keeps count.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Mapping

__all__ = ["Place", "locate"]

Place = tuple[str | int, ...]
"""The way to a value: keys, and indices into arrays (from 0)."""

_DEEPEST = 20
"""Dotted keys are followed so far; no key of a job has so many steps."""


def locate(text: str) -> Mapping[Place, int]:
    """Return the line (from 1) of every table, key and array item of a valid TOML text."""
    return _Scanner(text).scan()


class _Scanner:
    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.breaks = [i for i, c in enumerate(text) if c == "\n"]
        self.lines: dict[Place, int] = {}
        self.lengths: dict[Place, int] = {}

    def scan(self) -> dict[Place, int]:
        table: Place = ()
        while self._skip():
            if self.text[self.at] == "[":
                table = self._header()
            else:
                self._pair(table)
        return self.lines

    def _note(self, place: Place) -> None:
        self.lines.setdefault(place, bisect_right(self.breaks, self.at) + 1)

    def _skip(self) -> bool:
        """Go to the next character that counts; False at the end."""
        text, n = self.text, len(self.text)
        while self.at < n:
            c = text[self.at]
            if c == "#":
                end = text.find("\n", self.at)
                self.at = n if end < 0 else end
            elif c in " \t\r\n":
                self.at += 1
            else:
                return True
        return False

    def _keys(self) -> list[str]:
        """Read a dotted key."""
        keys = []
        while True:
            self._skip()
            begin = self.at
            if self.text[begin] in "\"'":
                self._string()
                keys.append(self.text[begin + 1 : self.at - 1])
            else:
                while self.text[self.at] not in " \t.=]":
                    self.at += 1
                keys.append(self.text[begin : self.at])
            self._skip()
            if self.text[self.at] != ".":
                return keys[:_DEEPEST]
            self.at += 1

    def _header(self) -> Place:
        begin = self.at
        many = self.text.startswith("[[", begin)
        self.at += 2 if many else 1
        keys = self._keys()
        place: Place = ()
        for key in keys[:-1]:
            place = (*place, key)
            if place in self.lengths:
                place = (*place, self.lengths[place] - 1)
        place = (*place, keys[-1])
        end, self.at = self.at, begin
        self._note(place)
        if many:
            index = self.lengths.get(place, 0)
            self.lengths[place] = index + 1
            place = (*place, index)
            self._note(place)
        self.at = end + (2 if many else 1)
        return place

    def _pair(self, table: Place) -> None:
        begin = self.at
        keys = self._keys()
        end, self.at = self.at, begin
        for i in range(len(keys)):
            self._note((*table, *keys[: i + 1]))
        self.at = end + 1  # the equals sign
        self._value((*table, *keys))

    def _value(self, place: Place) -> None:
        self._skip()
        self._note(place)
        c = self.text[self.at]
        if c in "\"'":
            self._string()
        elif c == "[":
            self._array(place)
        elif c == "{":
            self._table(place)
        else:
            while self.at < len(self.text) and self.text[self.at] not in ",]}\n#":
                self.at += 1

    def _array(self, place: Place) -> None:
        self.at += 1
        index = 0
        while self._skip() and self.text[self.at] != "]":
            self._value((*place, index))
            index += 1
            self._skip()
            if self.text[self.at] == ",":
                self.at += 1
        self.at += 1

    def _table(self, place: Place) -> None:
        self.at += 1
        while self._skip() and self.text[self.at] != "}":
            self._pair(place)
            self._skip()
            if self.text[self.at] == ",":
                self.at += 1
        self.at += 1

    def _string(self) -> None:
        """Go behind a string of any of the four kinds."""
        quote = self.text[self.at]
        mark = quote * 3 if self.text.startswith(quote * 3, self.at) else quote
        self.at += len(mark)
        if quote == "'":
            self.at = self.text.index(mark, self.at) + len(mark)
        else:
            for found in re.compile(r"\\.|" + mark, re.DOTALL).finditer(self.text, self.at):
                if found[0] == mark:
                    self.at = found.end()
                    break
        while len(mark) == 3 and self.text.startswith(quote, self.at):
            self.at += 1  # up to two quotes may stand before the closing three
