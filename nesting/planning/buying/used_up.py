"""Which remnants and hides from stock a plan lays on: they are gone once it is cut."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from nesting.material.material import Hide, Remnant
from nesting.planning.plan import Entry

__all__ = ["used_up"]


def used_up(entries: Iterable[Entry]) -> Iterator[tuple[str, Remnant | Hide]]:
    """Yield (material, what) of everything from stock that markers are laid on."""
    for entry in entries:
        material = entry.material
        if not material.is_leather:
            for kind in sorted(set(entry.marker.sheets)):
                if kind < len(material.remnants):
                    yield material.name, material.remnants[kind]
        else:
            used = {sheet.origin for sheet in entry.marker.used}
            for number, hide in enumerate(material.hides):
                if hide.remnant and number in used:
                    yield material.name, hide
