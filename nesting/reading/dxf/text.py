"""Texts of DXF entities without their formatting (DXF reference, TEXT and MTEXT)."""

from __future__ import annotations

import re

from nesting.limits import LONGEST_TEXT

__all__ = ["text_lines"]

_CODES = re.compile(r"%%(\d{3}|[a-zA-Z%])|\^(.)")
_SIGNS = {"d": "°", "p": "±", "c": "Ø", "%": "%"}
"""Others (%%u, %%o, %%k) switch underlines on and off."""

_FORMAT = re.compile(
    r"""\\(?: (?P<literal>[\\{}])
        | (?P<line>[PNX])
        | (?P<space>~)
        | S(?P<stack>[^;]{0,200});
        | [ACFHQTWpcf][^;]{0,200};
        | [LlOoKk] )
    | (?P<brace>[{}])""",
    re.VERBOSE,
)


def text_lines(text: str, *, several: bool = False) -> tuple[str, ...]:
    """Return what a text says, line by line, spaces made one; `several`: it is an MTEXT."""
    text = text[:LONGEST_TEXT]
    plain = _FORMAT.sub(_meant, text) if several else text
    lines = (" ".join(_CODES.sub(_sign, line).split()) for line in plain.split("\n"))
    return tuple(line for line in lines if line)


def _meant(match: re.Match[str]) -> str:
    if match["line"]:
        return "\n"
    if match["space"]:
        return " "
    if match["stack"] is not None:
        return re.sub(r"[#^]\s?", "/", match["stack"])
    return match["literal"] or ""


def _sign(match: re.Match[str]) -> str:
    code, caret = match[1], match[2]
    if caret is not None:
        return "^" if caret == " " else " "
    if code.isdigit():
        return chr(int(code)) if int(code) >= 32 else " "
    return _SIGNS.get(code.lower(), "")
