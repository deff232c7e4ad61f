"""Pattern pieces as paper templates: each once, at true size, with its sewing line and marks."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Collection, Sequence
from dataclasses import replace

from nesting.job.job import Bag, Cut, Job
from nesting.marker.lay import Lay, Part, Strip, Turns
from nesting.marker.marker import Marker, Placement
from nesting.material.material import Nap
from nesting.names import listed
from nesting.pattern.marks.marked import clipped
from nesting.pattern.measure import area, bounds
from nesting.pattern.path import Path
from nesting.pattern.piece import Mark, MarkKind, Piece
from nesting.pattern.variants.variant import upright
from nesting.planning.lay.variants import variant_words
from nesting.units import format_cm, format_inches
from nesting.writing.neutral.draw import draw
from nesting.writing.neutral.drawing import Drawing, Operation
from nesting.writing.neutral.keys import Keys, job_keys
from nesting.writing.neutral.lettering import Lettering
from nesting.writing.neutral.mark_words import marks_in_words
from nesting.writing.paper.lettered import lettered
from nesting.writing.paper.nested import Sizes, centred, extent, nested, of_piece
from nesting.writing.paper.papers import PAPERS, Paper

__all__ = [
    "cut_in_words",
    "drawn_in_sizes",
    "drawn_templates",
    "in_rows",
    "is_plain",
    "template_part",
    "template_sizes",
    "templates",
]

_GAP = 5.0
"""Between templates on one sheet, mm."""
_PLAIN = 1e-3
"""A rectangle's sides are straight, and lines along it level, within this (mm, or mm²)."""
_LETTERING = Lettering(tallest=5.0, readable=2.0)
_EDGE = 2.1
"""What the frame has to be larger than what is on it, mm: the lines have a width."""


def templates(
    job: Job,
    *,
    only: Collection[str] | None = None,
    rectangles: bool = False,
    shaped: bool = False,
    tops: bool = False,
    graded: bool = False,
    paper: Paper = PAPERS["a4"],
    overlap: float = 10.0,
) -> tuple[Drawing, ...]:
    """Draw a job's pieces to cut out as templates, grain level, for `print_drawings`.

    Each says from what and how often it is cut. Small pieces share a sheet of the paper, on
    its side where they fit that, in rows, tallest first; a piece that is larger than the
    paper's frame has a drawing of its own, which is spread over sheets. Plain rectangles larger
    than the paper are not drawn unless `rectangles`, but named with their sizes in the notes of
    the first drawing: a ruler draws them better.

    `only`: names of the materials whose pieces are wanted; None is all. `shaped`: leave out plain
    rectangles of any size, and say nothing of them. `tops`: arrows point to the end that is up
    wherever that is known, for whoever chooses goods that have a nap. `graded`: all sizes of a
    pattern, one within the other. `overlap`: of sheets (mm), across whose joins nothing is
    written.
    """
    sizes = template_sizes(job) if graded else {}
    left = [part for part in _made(job, only) if not (shaped and is_plain(part))]
    if tops:
        left = [replace(p, one_way=p.grain and p.piece.up_known) for p in left]
    told: list[str] = []
    if not rectangles:
        large = [part for part in left if is_plain(part) and not _fits(part, paper, sizes)]
        told = [_in_words(part, job) for part in large]
        left = [part for part in left if not any(part is other for other in large)]
    drawings: list[Drawing] = []
    sheets: list[list[tuple[Part, float, float]]] = []
    keys = job_keys(job)
    for sheet in (paper.turned, paper):
        width, height = sheet.frame_width - _EDGE, sheet.frame_height - _EDGE
        fitting = [p for p in left if _within(extent(p, sizes), width, height)]
        left = [part for part in left if not any(part is other for other in fitting)]
        sheets += in_rows(fitting, width, height, sizes=sizes)
    for part in left:
        drawings += _spread(part, keys, job, sizes, paper=paper, overlap=overlap)
    for number, placed in enumerate(sheets, start=1):
        name = f"Templates, sheet {number} of {len(sheets)}"
        drawings.append(drawn_in_sizes(placed, name, keys, job, sizes))
    if any(drawing.sizes for drawing in drawings):
        drawings[0] = replace(drawings[0], notes=(_sizes_note(job),))
    if told and not drawings:
        drawings.append(Drawing(name="Templates", length=1.0, width=1.0))
    if told:
        notes = ("To be drawn on the material with a ruler (not printed):", *told)
        drawings[0] = replace(drawings[0], notes=(*drawings[0].notes, *notes))
    return tuple(drawings)


def _sizes_note(job: Job) -> str:
    return (
        f"Sizes {listed(job.sizes)}: each has a line of its own, which the key below the sheet"
        " shows, and a layer of its own: switch off in your viewer what you don't want printed."
    )


def _made(job: Job, only: Collection[str] | None = None) -> list[Part]:
    several = len(job.bags) > 1
    made = (
        template_part(piece, bag, job, several=several, only=only)
        for bag in job.bags
        for piece in bag.pieces
    )
    return [part for part in made if part is not None]


def template_sizes(job: Job) -> Sizes:
    """Return the templates of a job's pieces in each size, where they differ."""
    found: defaultdict[tuple[str, str], list[tuple[str, Part]]] = defaultdict(list)
    for size in job.sizes:
        for part in _made(job.in_size(size)):
            found[part.design, part.piece.name].append((size, part))
    return {
        key: tuple(parts)
        for key, parts in found.items()
        if len({(part.piece.cut, part.piece.sew) for _, part in parts}) > 1
    }


def template_part(
    piece: Piece, bag: Bag, job: Job, *, several: bool, only: Collection[str] | None
) -> Part | None:
    """Return a piece as a template that says how it is cut; None if it is not."""
    cuts = [c for c in bag.cuts if c.piece == piece.name and (only is None or c.material in only)]
    if not cuts:
        return None
    goods = {material.name: material for material in job.materials}
    naps = {cut.nap or goods[cut.material].nap for cut in cuts}
    words = "; ".join(cut_in_words(cut) for cut in cuts)
    ready = upright(piece)
    # A template is for every copy: what only some carry is drawn, and said.
    some = [m for m in ready.marks if (m.copies, m.hands, m.materials) != (None, None, None)]
    if some:
        words += f"; mark not everywhere: {marks_in_words(some)}"
    marks = [replace(m, copies=None, hands=None, materials=None) for m in ready.marks]
    return Part(
        name=piece.name,
        piece=replace(ready, marks=(*marks, *_fold_back(ready))),
        bag=0,
        variant=f"{bag.name}: {words}" if several else words,
        turns=Turns(angles=(0.0,)),
        grain=naps != {Nap.ANY},
        one_way=Nap.ONE_WAY in naps,
        design=bag.name if several else "",
    )


def cut_in_words(cut: Cut) -> str:
    """Return one line of the cutting list: "cut 2 + 2 reversed from canvas, trimmed"."""
    if cut.pairs:
        count = f"{cut.copies} + {cut.copies} reversed"
    else:
        count = f"{cut.copies} reversed" if cut.reversed else f"{cut.copies}"
    how = variant_words(replace(cut, reversed=False))
    return f"cut {count} from {cut.material}" + (f", {how}" if how else "")


def _fold_back(piece: Piece) -> tuple[Mark, ...]:
    """Return the line at which the shorter variant is folded back, as far as it is on the piece."""
    if piece.fold_back is None:
        return ()
    (ax, ay), (bx, by) = piece.fold_back
    x0, y0, x1, y1 = bounds(piece.cut)
    size = math.dist((ax, ay), (bx, by))
    far = 2.0 * (math.dist((x0, y0), (x1, y1)) + math.dist((ax, ay), (x0, y0)))
    u, v = (bx - ax) / size * far, (by - ay) / size * far
    line = Path.polyline([(ax - u, ay - v), (bx + u, by + v)], closed=False)
    return clipped(Mark(kind=MarkKind.LINE, name="fold back here", path=line), piece)


def is_plain(part: Part) -> bool:
    """Whether a part is a rectangle with nothing to transfer but lines along it, such as folds."""
    piece = part.piece
    x0, y0, x1, y1 = bounds(piece.cut)
    full = abs(area(piece.cut) - (x1 - x0) * (y1 - y0)) < _PLAIN
    lines = all(mark.path is not None and _is_level(mark.path) for mark in piece.marks)
    return full and lines and not piece.holes


def _is_level(path: Path) -> bool:
    x0, y0, x1, y1 = bounds(path)
    return not path.closed and min(x1 - x0, y1 - y0) < _PLAIN


def _within(size: tuple[float, float], width: float, height: float) -> bool:
    return size[0] <= width and size[1] <= height


def _fits(part: Part, paper: Paper, sizes: Sizes) -> bool:
    long, short = sorted(extent(part, sizes), reverse=True)
    frame = sorted((paper.frame_width - _EDGE, paper.frame_height - _EDGE), reverse=True)
    return long <= frame[0] and short <= frame[1]


def _in_words(part: Part, job: Job) -> str:
    length, width = _size(part)
    inches = job.unit in ("in", "ft", "yd")
    size = format_inches if inches else format_cm
    folds = sum(mark.path is not None for mark in part.piece.marks)
    told = f"{part.piece.name}: {size(length)} along the grain × {size(width)}; {part.variant}"
    return f"{told}; {folds} lines to mark along it" if folds else told


def _size(part: Part) -> tuple[float, float]:
    x0, y0, x1, y1 = bounds(part.piece.cut)
    return x1 - x0, y1 - y0


def in_rows(
    parts: Sequence[Part], width: float, height: float, *, sizes: Sizes | None = None
) -> list[list[tuple[Part, float, float]]]:
    """Put parts in rows on sheets: (part, x, y) of their lower left corners, y upwards.

    `sizes`: all of which there has to be room for.
    """
    sizes = sizes or {}
    sheets: list[list[tuple[Part, float, float]]] = []
    x = y = row = 0.0
    for part in sorted(parts, key=lambda p: -extent(p, sizes)[1]):
        w, h = extent(part, sizes)
        if x and x + w > width:
            x, y = 0.0, y + row + _GAP
            row = 0.0
        if not sheets or y + h > height:
            sheets.append([])
            x = y = row = 0.0
        sheets[-1].append((part, x, y))
        x, row = x + w + _GAP, max(row, h)
    return sheets


def _spread(
    part: Part, keys: Keys, job: Job, sizes: Sizes, *, paper: Paper, overlap: float
) -> tuple[Drawing, ...]:
    """Draw a piece that goes over several sheets."""
    of = f" of {part.design}" if part.design else ""  # two bags may have pieces of one name
    name = f"Template: {part.piece.name}{of}"

    def make(letterings: Sequence[Lettering]) -> list[Drawing]:
        placed = [(part, 0.0, 0.0)]
        return [drawn_in_sizes(placed, name, keys, job, sizes, lettering=one) for one in letterings]

    return lettered(
        make, count=1, paper=paper, overlap=overlap, lettering=_LETTERING, amounts=job.amounts
    )


def drawn_in_sizes(
    placed: Sequence[tuple[Part, float, float]],
    name: str,
    keys: Keys,
    job: Job,
    sizes: Sizes,
    *,
    lettering: Lettering = _LETTERING,
) -> Drawing:
    """Draw pieces in all sizes, their middles on one another; in their own if they have no other.

    Names and arrows are those of the job's own size.
    """
    if not any(of_piece(part, sizes) for part, _, _ in placed):
        return drawn_templates(placed, name, keys, lettering=lettering)
    drawings = {}
    for size in job.sizes:
        here = []
        for part, x, y in placed:
            it = dict(of_piece(part, sizes)).get(size, part)
            it = replace(part, piece=it.piece)
            here.append((it, *centred(it, (x, y), extent(part, sizes))))
        drawings[size] = drawn_templates(here, name, keys, lettering=lettering)
    return nested(job, job.size, drawings, sizes)


def drawn_templates(
    placed: Sequence[tuple[Part, float, float]],
    name: str,
    keys: Keys,
    *,
    lettering: Lettering = _LETTERING,
) -> Drawing:
    """Draw pieces as if they were a marker's parts, with their seam lines and points."""
    placements, far = [], 0.0
    for i, (part, x, y) in enumerate(placed):
        x0, y0, _, y1 = bounds(part.piece.cut)
        placements.append(Placement(part=i, x=x - x0, y=y - y0))
        far = max(far, y + y1 - y0)
    lay = Lay(
        name=name, parts=tuple(part for part, _, _ in placed), stock=Strip(width=max(far, 1.0))
    )
    drawing = draw(
        Marker(lay=lay, placements=tuple(placements)), keys=keys, points=True, lettering=lettering
    )
    strokes = tuple(s for s in drawing.strokes if s.operation is not Operation.EDGE)
    # What has no room on a piece stands in the list of keys: how it is cut, too.
    titles = list(keys.titles)
    for part in lay.parts:
        titles[keys.place_of(part)] = f"{part.piece.name}: {part.variant}"
    told = replace(keys, titles=tuple(titles), variants=(("",),) * len(titles))
    return replace(drawing, strokes=strokes, keys=told)
