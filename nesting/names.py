"""Names among other names: in a list, by letters that go on after Z, of a marker among others."""

from __future__ import annotations

from collections.abc import Container, Iterable

__all__ = ["another_name", "letters", "listed", "marker_title"]


def listed(names: Iterable[str]) -> str:
    """Return names in one line: with commas, or semicolons where a name has a comma itself."""
    found = list(names)
    return ("; " if any("," in name for name in found) else ", ").join(found)


def marker_title(material: str, marker: str) -> str:
    """Return what a marker is called: by its material, and by itself if that has several."""
    if marker in ("", material):
        return material
    own = marker.removeprefix(f"{material} ")
    return f"{material}, {own}" if own != marker else f"{material}, marker {marker}"


def letters(number: int) -> str:
    """Return the letters of a number from 0: A, B, … Z, AA, AB and so on."""
    text, number = "", number + 1
    while number:
        number, letter = divmod(number - 1, 26)
        text = chr(ord("A") + letter) + text
    return text


def another_name(name: str, taken: Container[str]) -> str:
    """Return the name, with a number behind it if there is one like it already."""
    number, found = 1, name
    while found in taken:
        number += 1
        found = f"{name} {number}"
    return found
