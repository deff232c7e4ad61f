"""Words on a piece that say how many to cut of what, and that it lies on the fold."""

from __future__ import annotations

from dataclasses import replace

from nesting.errors import Finding
from nesting.reading.items import Item, Role
from nesting.reading.pieces.told import fault
from nesting.reading.pieces.within import Outline
from nesting.reading.words import said_by

__all__ = ["spoken"]


def spoken(outline: Outline) -> tuple[Outline, list[tuple[str, str]], list[Finding]]:
    """Return an outline without such words, what they say as text fields, and what lacks.

    A word alone, as "fold" or "grain", stands beside a line and stays.
    """
    items: list[Item] = []
    fields: list[tuple[str, str]] = []
    findings: list[Finding] = []
    folds = any(item.role is Role.FOLD for item in outline.items)
    for item in outline.items:
        said = said_by(item.text) if item.role is Role.TEXT else None
        if said is None or said.edge or said.grain:
            items.append(item)
            continue
        fields += [("Quantity", said.quantity), ("Material", said.material)]
        if said.name:
            items.append(replace(item, text=said.name))
        if said.folded and not folds:
            text = (
                f"{item.text!r}, but no edge is marked as the one on the fold: draw it on a layer "
                'called "fold", in a PDF a bracket at it or the word along it'
            )
            findings.append(fault("fold", text, outline.name))
    return replace(outline, items=items), fields, findings
