"""What a pattern file was read as, picked out for the tests."""

from __future__ import annotations

from nesting.pattern.piece import MarkKind

GRAIN = (7, 50.0, 150.0, 350.0, 150.0)


def kinds(pattern) -> list[str]:
    return [finding.kind for finding in pattern.findings]


def only(pattern):
    assert len(pattern.found) == 1
    return pattern.found[0]


def marks(piece, kind: MarkKind):
    return [mark for mark in piece.marks if mark.kind is kind]
