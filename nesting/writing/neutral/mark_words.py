"""What is to be transferred to parts, in words."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from nesting.pattern.piece import Face, Mark, MarkKind

__all__ = ["marks_in_words"]

_KINDS = {
    MarkKind.NOTCH: ("notch", "notches"),
    MarkKind.DRILL: ("drill hole", "drill holes"),
    MarkKind.LINE: ("line", "lines"),
    MarkKind.OUTLINE: ("outline", "outlines"),
    MarkKind.TEXT: ("text", "texts"),
}


def marks_in_words(marks: Sequence[Mark]) -> str:
    """Return what is to be transferred, alike marks counted: ``"2 notches; line (loop)"``."""
    said: Counter[tuple[MarkKind, str]] = Counter()
    for mark in marks:
        said[(mark.kind, _details(mark))] += 1
    words = []
    for (kind, details), count in said.items():
        one, many = _KINDS[kind]
        words.append((one if count == 1 else f"{count} {many}") + details)
    return "; ".join(words)


def _details(mark: Mark) -> str:
    """Return name, copies, hands, goods and face of a mark in brackets, if they say something."""
    words = [mark.name or mark.text] if mark.name or mark.text else []
    if mark.copies is not None:
        copies = ", ".join(str(copy) for copy in sorted(mark.copies))
        words.append(f"copy {copies} only")
    if mark.hands is not None and len(mark.hands) == 1:
        words.append(f"{next(iter(mark.hands)).value} only")
    if mark.materials is not None:
        words.append(f"{', '.join(sorted(mark.materials))} only")
    if mark.face is Face.WRONG:
        words.append("on the wrong side")
    return f" ({', '.join(words)})" if words else ""
