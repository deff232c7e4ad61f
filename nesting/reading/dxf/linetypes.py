"""How lines of a DXF file are dashed (DXF reference: LTYPE, LAYER, group 6 of entities)."""

from __future__ import annotations

import math

from nesting.reading.dashes import dash_name
from nesting.reading.dxf.tags import Document, Entity

__all__ = ["dash_of", "dash_words"]


def dash_of(document: Document, entity: Entity, layer: str) -> str:
    """Return "dashed" or its like by the entity's own line type, or its layer's."""
    own = entity.text(6).strip().upper()
    if own in ("", "BYLAYER"):
        own = document.line_types.get(layer, "")
    return _name(document.patterns[own]) if own in document.patterns else ""


def dash_words(document: Document) -> list[str]:
    """Return what the lines of the file can be called by their dashes."""
    return [word for word in map(_name, document.patterns.values()) if word]


def _name(pattern: Entity) -> str:
    """Return what a line type is called: it lists dashes, gaps (below 0) and dots (0)."""
    lengths = []
    for value in pattern.tags():
        if value[0] == 49:
            try:
                lengths.append(float(value[1]))
            except ValueError:
                return ""
    on = [abs(length) for length in lengths if length >= 0.0]
    if len(on) == len(lengths) or not all(map(math.isfinite, lengths)):
        return ""
    return dash_name([length for dash in on for length in (dash, 1.0)], 0.0)
