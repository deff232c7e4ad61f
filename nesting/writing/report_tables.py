"""The report's cutting list: which parts come from a material, and what to transfer to them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from nesting.marker.lay import Part
from nesting.pattern.piece import Face, Hand, Mark, MarkKind
from nesting.planning.plan import Entry
from nesting.writing.html import Markup, table
from nesting.writing.look import piece_colour
from nesting.writing.naming import Naming, naming

__all__ = ["cutting_list", "marks_in_words"]


def cutting_list(entry: Entry, *, pieces: Sequence[str]) -> str:
    """Return the table of what is cut from a material in one ply of its marker."""
    lay = entry.marker.lay
    names = naming(lay.parts, pieces=pieces)
    laid = [lay.parts[placement.part] for placement in entry.marker.placements]
    groups: dict[tuple[str, str], list[Part]] = {}
    for part in sorted(laid, key=lambda p: names.pieces.index(p.piece.name)):
        groups.setdefault((part.piece.name, part.variant), []).append(part)
    rows = [_row(group, names) for group in groups.values()]
    total = ["", "All", "", str(len(laid)), "", "", ""]
    head = ["Key", "Piece", "Variant", "Cut", "Right", "Left", "Marks to transfer"]
    # A column in which nothing is said is left out.
    used = [i for i in range(len(head)) if i < 2 or any(row[i] for row in rows)]
    return table(
        [head[i] for i in used],
        [[row[i] for i in used] for row in rows],
        numbers=[place for place, i in enumerate(used) if i in (3, 4, 5)],
        foot=[[total[i] for i in used]],
    )


def _row(group: list[Part], names: Naming) -> list[str]:
    first = group[0]
    colour = piece_colour(names.pieces.index(first.piece.name))
    chip = Markup(f'<span class="key" style="background:{colour}">{names.key(first)}</span>')
    hands = Counter(part.hand for part in group)
    paired = Hand.LEFT in hands
    return [
        chip,
        first.piece.name,
        first.variant,
        str(len(group)),
        str(hands[Hand.RIGHT]) if paired else "",
        str(hands[Hand.LEFT]) if paired else "",
        marks_in_words(first.piece.marks),
    ]


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
    """Return name, copies, hands and face of a mark in brackets, where they say something."""
    words = [mark.name or mark.text] if mark.name or mark.text else []
    if mark.copies is not None:
        copies = ", ".join(str(copy) for copy in sorted(mark.copies))
        words.append(f"copy {copies} only")
    if mark.hands is not None and len(mark.hands) == 1:
        words.append(f"{next(iter(mark.hands)).value} only")
    if mark.face is Face.WRONG:
        words.append("on the wrong side")
    return f" ({', '.join(words)})" if words else ""
