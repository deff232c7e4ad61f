"""Which remnants and hides from stock a plan lays on: they are gone once it is cut."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from nesting.pattern.path import Path
from nesting.planning.plan import Entry

__all__ = ["used_up"]


def used_up(entries: Iterable[Entry]) -> Iterator[tuple[str, str, Path]]:
    """Yield (material, name, outline) of everything from stock that markers are laid on."""
    for entry in entries:
        material = entry.material
        if not material.is_leather:
            for kind in sorted(set(entry.marker.sheets)):
                if kind < len(material.remnants):
                    one = material.remnants[kind]
                    yield material.name, one.name, one.outline
        else:
            used = {sheet.origin for sheet in entry.marker.used}
            for number, hide in enumerate(material.hides):
                if hide.remnant and number in used:
                    yield material.name, hide.name, hide.outline
