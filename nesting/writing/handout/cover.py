"""A booklet's first page: its name, a picture of its pieces, what is in it and beside it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from nesting.job.job import Job
from nesting.names import listed
from nesting.pattern.measure import bounds
from nesting.writing.handout.pattern_pieces import all_parts
from nesting.writing.handout.setting import BODY, LEADING, SMALL, TITLE, Setter, wrapped
from nesting.writing.handout.shown import scale_of, show
from nesting.writing.neutral.drawing import Drawing
from nesting.writing.neutral.font import text_width
from nesting.writing.neutral.keys import Keys
from nesting.writing.neutral.lettering import Lettering
from nesting.writing.paper.book import Book
from nesting.writing.paper.templates import drawn_templates, in_rows

__all__ = ["cover"]

_READABLE = 1.5
_WAYS = 16
"""How many widths of rows are tried for the picture of all pieces."""


def cover(page: Setter, job: Job, keys: Keys, files: Sequence[tuple[str, str]]) -> None:
    """Set the first page; `files`: what lies beside the booklet, and what each is for."""
    page.page()
    page.y -= 12.0
    for line in wrapped(job.name, width=page.width, height=TITLE, bold=True)[:3]:
        page.line(line, height=TITLE, bold=True, leading=1.7)
    page.y -= 2.0
    goods = listed([material.name for material in job.materials])
    sizes = f" in sizes {listed(job.sizes)}" if job.sizes else ""
    page.paragraph(f"A pattern{sizes} to be cut from {goods}.", grey=0.25)
    rows = [*files]
    foot = LEADING * (SMALL * (len(rows) + 2) + BODY * 6) + 18.0
    _pieces(page, job, keys, room=page.left_over - foot - 22.0)
    _contents(page)
    page.y -= 5.0
    page.rule()
    page.y -= 4.0
    for name, what in rows:
        page.line(name, height=SMALL, bold=True)
        page.y += LEADING * SMALL
        page.line(what, height=SMALL, at=46.0, grey=0.15)


def _pieces(page: Setter, job: Job, keys: Keys, *, room: float) -> None:
    """Draw all pieces at one scale."""
    drawing = _all_pieces(job, keys, width=page.width, height=room)
    if drawing is None:
        return
    scale = scale_of(drawing.box, width=page.width, height=room)
    high = (drawing.box[3] - drawing.box[1]) * scale
    page.y -= 6.0
    at = (page.left, page.y - high)
    page.draw(lambda book: show(book, drawing, at, scale=scale))
    page.y -= room + 8.0


def _all_pieces(job: Job, keys: Keys, *, width: float, height: float) -> Drawing | None:
    """Return a drawing of all pieces in rows, as large as a frame of the page has room for."""
    parts = all_parts(job)
    if not parts:
        return None
    boxes = [bounds(part.piece.cut) for part in parts]
    longest = max(x1 - x0 for x0, _, x1, _ in boxes)
    every = sum(x1 - x0 + 5.0 for x0, _, x1, _ in boxes)
    best, most = None, 0.0
    for i in range(_WAYS):
        wide = longest * (max(every / longest, 1.0) ** (i / (_WAYS - 1))) + 1.0
        (placed,) = in_rows(parts, wide, 1e9)
        right = max(x + bounds(p.piece.cut)[2] - bounds(p.piece.cut)[0] for p, x, _ in placed)
        top = max(y + bounds(p.piece.cut)[3] - bounds(p.piece.cut)[1] for p, _, y in placed)
        scale = scale_of((0.0, 0.0, right, top), width=width, height=height)
        if scale > most:
            best, most = placed, scale
    assert best is not None
    lettering = Lettering.shown(most, readable=_READABLE, clear=0.4)
    names = [(replace(part, variant=""), x, y) for part, x, y in best]
    return drawn_templates(names, job.name, keys, lettering=lettering)


def _contents(page: Setter) -> None:
    """Leave lines for the sections, which are written when their pages are known."""
    top, left, width = page.y, page.left, page.width

    def draw(book: Book) -> None:
        for i, (title, number) in enumerate(page.sections):
            y = top - BODY - i * LEADING * BODY
            said = str(number)
            book.text(title, (left, y), height=BODY, middle=False)
            at = (left + width - text_width(said) * BODY, y)
            book.text(said, at, height=BODY, middle=False)

    page.draw(draw)
    page.y -= 4 * LEADING * BODY
