"""Labels for the cut parts, to print, cut apart and pin on: which part of which bag it is."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path as FilePath

from nesting.errors import WriteError
from nesting.job.job import Job
from nesting.material.material import Material, Nap
from nesting.pattern.path import Path, Point
from nesting.pattern.piece import Face, Hand, Mark
from nesting.pattern.variants.variant import marks_for
from nesting.planning.lay.slots import Slot, slots_of
from nesting.planning.lay.variants import variant_words
from nesting.planning.plan import Plan
from nesting.writing.files import whole_file
from nesting.writing.neutral.mark_words import marks_in_words
from nesting.writing.neutral.naming import Keys, job_keys
from nesting.writing.pages.report_tables import zone_words
from nesting.writing.paper.book import Book
from nesting.writing.paper.papers import PAPERS, Paper

__all__ = ["PartLabel", "part_labels", "print_labels"]

_WIDTH, _HEIGHT = 90.0, 42.0  # mm, at least
_PAD = 3.0


@dataclass(frozen=True, slots=True, kw_only=True)
class PartLabel:
    """What one label says. `side`: of a mirrored pair.

    `key`: as on all that is made from the job. `zone`: in which of its hide a leather part
    lies. `arrow`: whether the part has a grain, and `one_way` whether that has one head.
    """

    key: str
    piece: str
    bag: str
    material: str
    copy: str
    side: str
    marks: str
    arrow: bool
    one_way: bool = False
    zone: str = ""


_Part = tuple[str, str, str, int, int, Hand, str]
"""Material, bag, piece, number of the bag, copy, hand, variant: one part of a job."""


def part_labels(plan: Plan, *, only: Collection[str] | None = None) -> tuple[PartLabel, ...]:
    """Return a label for every part that is cut, bag by bag, in the order of the cutting list.

    A cut through both plies of folded cloth gives two parts, and two labels. `only`: of
    materials of these names.
    """
    job, zones = plan.job, _zones(plan)
    keys = job_keys(job)
    found: list[tuple[tuple[int, int, int], PartLabel]] = []
    for material in job.wanted(only):
        for slot in slots_of(job, material):
            key = (job.bags.index(slot.bag), slot.number, slot.line)
            hands = tuple(Hand) if slot.both_hands else (slot.hand,)
            found += [
                (key, _label(slot, material, copy=copy, hand=hand, job=job, keys=keys, zones=zones))
                for copy in slot.copies
                for hand in hands
            ]
    return tuple(label for _, label in sorted(found, key=lambda item: item[0]))


def _zones(plan: Plan) -> dict[_Part, str]:
    """Return in which zones the parts of a plan's hides lie, in words."""
    found = {}
    for entry in plan.entries:
        zones, parts = zone_words(entry), entry.marker.lay.parts
        for part in (parts[placement.part] for placement in entry.marker.placements):
            if words := zones.get(part.name):
                bag = part.design or plan.job.bags[0].name
                line = (entry.material.name, bag, part.piece.name, part.bag, part.copy)
                found[*line, part.hand, part.variant] = words
    return found


def _label(
    slot: Slot,
    material: Material,
    *,
    copy: int,
    hand: Hand,
    job: Job,
    keys: Keys,
    zones: Mapping[_Part, str],
) -> PartLabel:
    marks = marks_for(slot.piece, material=material.name, copy=copy, hand=hand)
    variant = variant_words(slot.cut)
    several = len(job.bags) > 1 or slot.bag.count > 1
    nap = slot.cut.nap or material.nap
    line = (material.name, slot.bag.name, slot.cut.piece, slot.number, copy, hand, variant)
    return PartLabel(
        key=keys.key_of(slot.cut.piece, variant, slot.bag.name),
        piece=slot.cut.piece + (f", {variant}" if variant else ""),
        bag=slot.bag.name + (f", bag {slot.number} of {slot.bag.count}" if several else ""),
        material=material.name,
        copy=f"{copy} of {slot.of}",
        side=hand.value if slot.cut.pairs else "",
        marks=_words(marks),
        arrow=nap is not Nap.ANY and not material.is_leather,
        one_way=nap is Nap.ONE_WAY,
        zone=zones.get(line, ""),
    )


def _words(marks: Sequence[Mark]) -> str:
    """Say what is transferred to one part: which copy, hand and face, its label says already."""
    right = [_alone(mark) for mark in marks if mark.face is not Face.WRONG]
    wrong = [_alone(mark) for mark in marks if mark.face is Face.WRONG]
    said = []
    if right:
        said.append(f"Marks: {marks_in_words(right)}")
    if wrong:
        said.append(f"Marks on the wrong side: {marks_in_words(wrong)}")
    return ". ".join(said) or "No marks"


def _alone(mark: Mark) -> Mark:
    return replace(mark, copies=None, hands=None, face=Face.RIGHT)


def print_labels(
    labels: Sequence[PartLabel],
    path: FilePath | str,
    *,
    paper: Paper = PAPERS["a4"],
    overwrite: bool = False,
) -> None:
    """Print labels as sheets of a grid, to be cut apart along its lines.

    Raises
    ------
    WriteError
        There are no labels, or the file can't be written.

    """
    if not labels:
        raise WriteError("there are no parts to label")
    columns = max(1, int(paper.frame_width // _WIDTH))
    rows = max(1, int(paper.frame_height // _HEIGHT))
    width, height = paper.frame_width / columns, paper.frame_height / rows
    left = (paper.width - paper.frame_width) / 2.0
    top = (paper.height + paper.frame_height) / 2.0
    book = Book("Labels")
    for i, label in enumerate(labels):
        place = i % (rows * columns)
        if place == 0:
            if i:
                book.turn()
            book.page(paper.width, paper.height)
        x = left + place % columns * width
        y = top - (place // columns + 1) * height
        _draw(book, label, (x, y), width=width, height=height)
    book.turn()
    data = book.finished()
    with whole_file(FilePath(path), overwrite=overwrite) as temporary:
        temporary.write_bytes(data)


def _draw(book: Book, label: PartLabel, at: Point, *, width: float, height: float) -> None:
    x, y = at
    room = width - 2.0 * _PAD - (30.0 if label.arrow else 0.0)
    with book.window(x - 0.1, y - 0.1, width=width + 0.2, height=height + 0.2, origin=(-0.1, -0.1)):
        book.pen(0.15, grey=0.5, dash="2 1.5")
        book.stroke(
            Path.polyline([(0.0, 0.0), (width, 0.0), (width, height), (0.0, height)], closed=True)
        )
        if label.arrow:
            _arrow(book, (width - _PAD - 26.0, height - 9.0), 26.0, both=not label.one_way)
    left, line = x + _PAD, y + height - 8.5
    book.text(f"{label.key}  {label.piece}", (left, line), height=4.0, middle=False, most=room)
    if label.arrow:
        book.text(
            "up" if label.one_way else "grain", (x + width - _PAD - 13.0, line - 3.5), height=1.8
        )
    line -= 6.5
    copy = f"copy {label.copy}" + (f", {label.side} hand" if label.side else "")
    goods = f"{label.material}: {label.zone}" if label.zone else label.material
    for text in (copy, label.bag, goods):
        book.text(text, (left, line), height=2.6, middle=False, most=width - 2.0 * _PAD)
        line -= 4.8
    where = "to the top of the print" if label.one_way else "along the grain"
    said = f"Pin to the {Face.RIGHT.value} side, arrow {where}"
    if not label.arrow:
        said = f"Pin to the {Face.RIGHT.value} side"
    book.text(said, (left, line), height=2.0, middle=False, most=width - 2.0 * _PAD)
    _fitted(book, label.marks, (left, line - 4.0), width=width - 2.0 * _PAD, room=line - 3.0 - y)


def _fitted(book: Book, text: str, at: Point, *, width: float, room: float) -> None:
    """Write text as large as it fits below a point."""
    height = 2.0
    while height > 0.9 and book.lines_of(text, width=width, height=height) * 1.8 * height > room:
        height *= 0.9
    book.paragraph(text, at, width=width, height=height)


def _arrow(book: Book, at: Point, length: float, *, both: bool) -> None:
    (x, y), head = at, 3.0
    book.pen(0.3)
    tip = x + length
    book.lines(
        ((x, y), (tip, y)),
        ((tip - head, y + 1.2), (tip, y)),
        ((tip - head, y - 1.2), (tip, y)),
    )
    if both:
        book.lines(((x + head, y + 1.2), (x, y)), ((x + head, y - 1.2), (x, y)))
