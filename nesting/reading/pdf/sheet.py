"""One drawing of a PDF's pages: which are pattern, how they lie, and what is drawn on them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from nesting.errors import Finding, PatternError, Severity
from nesting.pattern.measure import bounds
from nesting.pattern.path import Affine, Path, Point
from nesting.reading.pdf.ink import cut_to, cut_to_cell, inked
from nesting.reading.pdf.lettering import Word
from nesting.reading.pdf.page import Box, Page, Stroke
from nesting.reading.pdf.ruled import without_ruling
from nesting.reading.pdf.tiled.arrange import Arrangement, NoneFitsError, Tiling, arranged
from nesting.reading.pdf.tiled.evidence import is_label
from nesting.reading.pdf.tiled.joints import on_border
from nesting.reading.pdf.tiled.kinds import frames, left_out
from nesting.reading.pdf.tiled.seams import Bit, sewn_together
from nesting.reading.pdf.tiled.tile import Tile, tiles_of
from nesting.reading.raw_pattern import note

__all__ = ["PicturesError", "Sheet", "Tiling", "sheet_of"]

_APART = 50.0
"""How far (mm) pages are laid apart that stand by themselves."""
_SURE = 0.5
"""A larger step (mm) at a seam is a fault."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """What is drawn on all pages together (mm), and what there is to tell."""

    strokes: tuple[Stroke, ...]
    words: tuple[Word, ...]
    findings: tuple[Finding, ...]


def sheet_of(pages: Sequence[Page], wishes: Tiling) -> Sheet:
    """Return the drawing that pages make together."""
    bare = [without_ruling(*one) for one in zip(pages, inked(pages), strict=True)]
    inks = [ink for ink, _ in bare]
    out = left_out(pages, inks)
    if wishes.pages:
        out = {i: why for i, why in out.items() if not inks[i]}
    kept = [i for i in range(len(pages)) if i not in out]
    if not kept:
        raise _nothing(pages)
    kept = [i for i in range(kept[0], kept[-1] + 1) if i in kept or _blank(pages[i], out, i)]
    findings = [
        note("page", f"page {pages[i].number} is left out: {why}")
        for i, why in out.items()
        if i not in kept
    ]
    if ruled := sum(lines for _, lines in bare):
        findings.append(note("ruling", f"squared ground of {ruled} lines is left out"))
    unseen = sum(page.unseen for page in pages)
    if unseen:
        findings.append(note("unread", f"not read: {unseen} hidden thing(s)"))
    if len(kept) == 1:
        return _single(pages[kept[0]], inks[kept[0]], findings)
    wider = _with_blank_ends(pages, out, kept)
    tiles, found = _arranged(pages, inks, [kept, wider][: 1 + (len(wider) > len(kept))], wishes)
    if found is None:
        return _side_by_side(tiles, findings)
    return _together(tiles, found, findings, wishes)


def _arranged(
    pages: Sequence[Page],
    inks: Sequence[Sequence[Stroke]],
    choices: Sequence[Sequence[int]],
    wishes: Tiling,
) -> tuple[list[Tile], Arrangement | None]:
    """Return the tiles and how they lie, of the first choice of pages that fit together."""
    first: NoneFitsError | None = None
    for some in choices:
        tiles = tiles_of([pages[i] for i in some], [inks[i] for i in some])
        try:
            return tiles, arranged(tiles, wishes)
        except NoneFitsError as trouble:
            first = first or trouble
    assert first is not None
    raise first


def _with_blank_ends(pages: Sequence[Page], out: dict[int, str], kept: Sequence[int]) -> list[int]:
    """Return the pages kept and the empty ones right before and after: corners may be empty."""
    low, high = kept[0], kept[-1]
    while low > 0 and _blank(pages[low - 1], out, low - 1):
        low -= 1
    while high + 1 < len(pages) and _blank(pages[high + 1], out, high + 1):
        high += 1
    return [*range(low, kept[0]), *kept, *range(kept[-1] + 1, high + 1)]


def _blank(page: Page, out: dict[int, str], i: int) -> bool:
    """Tell whether a page between others is one of the pattern on which nothing lies."""
    said = "it is empty", "it holds text only"
    labels = all(is_label(word.text) for word in page.words)
    return out.get(i, "").startswith(said) and labels and not page.pictures


class PicturesError(PatternError):
    """A PDF is nothing but pictures, which are read another way."""


def _nothing(pages: Sequence[Page]) -> PatternError:
    if any(page.pictures for page in pages):
        return PicturesError(
            "the PDF holds pictures and no drawn lines: it is a scan, or saved as a picture",
            hint='say what in it gives its scale, as A4 or "5 cm square" (--reference of the'
            " command pieces, file_reference in a job), or ask for a PDF with lines",
        )
    return PatternError("no lines are drawn in the PDF", hint="see that it is the pattern's file")


def _single(page: Page, ink: Sequence[Stroke], findings: list[Finding]) -> Sheet:
    """Return a page that stands alone; a frame close to its border is none of its pieces."""
    rims = [
        box
        for box in frames(page, ink).values()
        if max(box[0], box[1], page.size[0] - box[2], page.size[1] - box[3]) <= 25.0
        and sum(_inside(stroke, box) for stroke in ink) > 1
    ]
    strokes = [
        replace(stroke, path=path)
        for stroke in ink
        if not any(_is(stroke, box) for box in rims)
        for path in cut_to(stroke.path, stroke.window)
    ]
    if rims and strokes:
        findings.append(note("frame", "the frame around the page is left out"))
    elif rims:
        strokes = list(ink)
    return Sheet(strokes=tuple(strokes), words=page.words, findings=tuple(findings))


def _inside(stroke: Stroke, box: Box) -> bool:
    """Tell whether a closed line lies well inside a box: farther than a seam would."""
    x0, y0, x1, y1 = bounds(stroke.path)
    far = max(x0 - box[0], y0 - box[1], box[2] - x1, box[3] - y1) > 45.0
    return stroke.path.closed and far


def _is(stroke: Stroke, box: Box) -> bool:
    return all(abs(a - b) < 0.5 for a, b in zip(bounds(stroke.path), box, strict=True))


def _side_by_side(tiles: Sequence[Tile], findings: list[Finding]) -> Sheet:
    """Return pages whose lines don't run on, one beside the other."""
    strokes: list[Stroke] = []
    words: list[Word] = []
    at = 0.0
    for tile in tiles:
        by = Affine.move(at, 0.0)
        for stroke in tile.strokes:
            for path in cut_to(stroke.path, stroke.window):
                strokes.append(replace(stroke, path=path.transformed(by)))
        words += [replace(word, at=by(word.at)) for word in tile.words]
        at += tile.live[2] - tile.live[0] + _APART
    findings.append(note("pages", f"no line runs on from one of {len(tiles)} pages to another"))
    return Sheet(strokes=tuple(strokes), words=tuple(words), findings=tuple(findings))


def _together(
    tiles: Sequence[Tile], found: Arrangement, findings: list[Finding], wishes: Tiling
) -> Sheet:
    """Return the pages cut to their cells and sewn together."""
    taken = set(found.cells.values())
    bits: list[Bit] = []
    words: list[Word] = []
    cut: list[Word] = []
    findings += [
        note("page", f"page {tile.number} is left out: it fits none of the others")
        for k, tile in enumerate(tiles)
        if k not in found.cells
    ]
    for k, (column, row) in found.cells.items():
        tile = tiles[k]
        inner = {
            "left": (column - 1, row) in taken,
            "low": (column, row + 1) in taken,
            "right": (column + 1, row) in taken,
            "high": (column, row - 1) in taken,
        }
        box = _own(tile, found.cell, inner)
        by = Affine.move(
            column * found.step[0] - found.cell[0], -row * found.step[1] - found.cell[1]
        )
        for stroke in tile.strokes:
            bits += [
                Bit(
                    stroke=replace(stroke, path=path.transformed(by)),
                    tile=k,
                    tips=_tips(path, found.cell, inner),
                )
                for path in cut_to_cell(stroke, box)
            ]
        for word in tile.words:
            inside = [_holds(box, point) for point in (word.at, word.middle, word.end)]
            if any(inside):
                (words if inside[1] else cut).append(replace(word, at=by(word.at)))
    words += [word for word in cut if not any(_twins(word, other) for other in words)]
    strokes, step, loose = sewn_together(bits)
    findings += _told(tiles, found, step=step, loose=loose, wishes=wishes)
    return Sheet(strokes=tuple(strokes), words=tuple(words), findings=tuple(findings))


def _holds(box: Box, point: Point) -> bool:
    return box[0] <= point[0] < box[2] and box[1] <= point[1] < box[3]


def _twins(one: Word, other: Word) -> bool:
    """Tell whether two texts are one that two pages show."""
    return one.text == other.text and math.dist(one.at, other.at) <= one.size


def _own(tile: Tile, cell: Box, inner: dict[str, bool]) -> Box:
    """Return the box of what is taken from a page: its cell, at outer edges all there is."""
    far = (-1e6, -1e6, 1e6, 1e6)
    return tuple(  # type: ignore[return-value]
        cell[i] if inner[side] else far[i]
        for i, side in enumerate(("left", "low", "right", "high"))
    )


def _tips(path: Path, cell: Box, inner: dict[str, bool]) -> tuple[bool, bool]:
    """Tell whether start and end of a line lie at the border to another page."""
    if path.closed:
        return False, False
    first, last = (
        (side := on_border(tip, cell)) is not None and inner[side] for tip in (path.start, path.end)
    )
    return first, last


def _unmet(found: Arrangement) -> list[int]:
    """Return along which ways, 0 across and 1 down, no line goes on from any page to another."""
    met = {
        0 if found.cells[a][0] != found.cells[b][0] else 1
        for a, b in found.joined
        if a in found.cells and b in found.cells
    }
    return [axis for axis in (0, 1) if found.grid[axis] > 1 and axis not in met]


def _told(
    tiles: Sequence[Tile], found: Arrangement, *, step: float, loose: int, wishes: Tiling
) -> list[Finding]:
    say = wishes.amounts.setting
    columns, rows = found.grid
    pages = f"{columns} × {rows} pages put together by {found.why}: {found.shown(tiles)}"
    overlaps = [max(0.0, tiles[0].live[i + 2] - tiles[0].live[i] - found.step[i]) for i in (0, 1)]
    across, down = (say(round(overlap, 1)) for overlap in overlaps)
    said = [f"{across} across", f"{down} down"]
    loose_ways = _unmet(found) if wishes.overlap is None and not found.told else []
    known = [text for axis, text in enumerate(said) if axis not in loose_ways]
    edges = f"; they overlap by {' and '.join(known)}" if known and max(overlaps) > 0.05 else ""
    for axis in loose_ways:
        way = ("from page to page across", "from row to row")[axis]
        edges += f"; no line goes on {way}, so nothing tells how far they overlap there"
    if not found.sure:
        edges += "; nothing else tells how far they overlap: --overlap says so"
    out = [note("pages", pages + edges)]
    if found.meeting.met:
        text = f"the largest step where lines run on from page to page is {say(round(step, 2))}"
        sure = Severity.NOTE if step <= _SURE else Severity.FAULT
        out.append(replace(note("seam", text, severity=sure), amount=step))
    if loose:
        text = f"{loose} line end(s) at the edge of a page do not go on on the next"
        out.append(note("seam", text, severity=Severity.FAULT))
    return out
