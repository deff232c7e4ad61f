"""How what was found in a group is told."""

from __future__ import annotations

from dataclasses import replace

from nesting.errors import Finding, Severity
from nesting.pattern.path import Point

__all__ = ["count", "fault", "note"]


def count(n: int, what: str) -> str:
    """Say how many."""
    return f"{n} {what}" + ("s" if n != 1 else "")


def note(
    kind: str, text: str, name: str, at: Point | None = None, amount: float | None = None
) -> Finding:
    """Return what is told of a piece, or of the file where none is named."""
    said = f"{name}: {text}" if name else text
    parts = (name,) if name else ()
    return Finding(kind=kind, text=said, severity=Severity.NOTE, parts=parts, at=at, amount=amount)


def fault(
    kind: str, text: str, name: str, at: Point | None = None, amount: float | None = None
) -> Finding:
    """Return what is wrong with a piece."""
    return replace(note(kind, text, name, at, amount), severity=Severity.FAULT)
