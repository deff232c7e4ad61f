"""A page of a tiled pattern: its frame and marks for gluing apart from what is drawn on it."""

from __future__ import annotations

import math
import re
from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from nesting.pattern.measure import bounds
from nesting.reading.pdf.lettering import Word
from nesting.reading.pdf.page import Box, Page, Stroke
from nesting.reading.pdf.tiled.kinds import common_frame, frames

__all__ = ["Mark", "Tile", "live_box", "tiles_of"]

_MARK = 32.0
"""Longest side (mm) of a mark for gluing."""
_EDGE = 12.0
"""How far (mm) from the frame or the border of the page such a mark may lie."""
_LABEL = 16.0
"""How far (mm) its letter may be from its middle."""
_SPOT = 3.0
"""How far apart (mm) texts at one place of several pages may be."""
_CROWD = 500
"""So many texts at most are looked at in one place."""
_SHORT = re.compile(r"[A-Za-z]{0,2}\s?-?\d{0,3}[A-Za-z]?")


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """A mark for gluing: its letters, the side of the page it is at, and its middle (mm)."""

    label: str
    side: str
    at: tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Tile:
    """A page: what is drawn for the pattern, and what is there for putting it together.

    `live`: the box (mm, on the page) in which the pattern is drawn; `frame`: the one that all
    pages have drawn. `labels`: short texts that
    stand at one place on most pages, such as "B3".
    """

    number: int
    strokes: tuple[Stroke, ...]
    words: tuple[Word, ...]
    live: Box
    frame: Box | None
    marks: tuple[Mark, ...]
    labels: tuple[str, ...]


def tiles_of(pages: Sequence[Page], inks: Sequence[Sequence[Stroke]]) -> list[Tile]:
    """Take pages apart; what stands at one place on most of them is no pattern."""
    framed = common_frame(pages, inks)
    box = None
    if framed is not None:
        box = next(
            found[framed]
            for page, ink in zip(pages, inks, strict=True)
            if framed in (found := frames(page, ink))
        )
    live = live_box(pages, inks, box)
    odd = _repeated(inks, box or live, len(pages))
    spoken = _spoken_places(pages)
    out = []
    for page, ink in zip(pages, inks, strict=True):
        own = [s for s in ink if _place(s) not in odd and not _is_frame(s, box)]
        extra = [s for s in ink if _place(s) in odd and not _is_frame(s, box)]
        marks, used = _marks(extra, page.words, box or live)
        labels = [w.text for w in page.words if id(w) in spoken - used]
        words = [w for w in page.words if id(w) not in spoken | used]
        out.append(
            Tile(
                number=page.number,
                strokes=tuple(own),
                words=tuple(words),
                live=live,
                frame=box,
                marks=tuple(marks),
                labels=tuple(labels),
            )
        )
    return out


def live_box(pages: Sequence[Page], inks: Sequence[Sequence[Stroke]], frame: Box | None) -> Box:
    """Return the box in which patterns are drawn: a common clip, else the frame, else the page.

    What is drawn beyond the frame overlaps: then it is the box around all that is drawn.
    """
    windows: Counter[Box] = Counter()
    x0 = y0 = math.inf
    x1 = y1 = -math.inf
    for page, ink in zip(pages, inks, strict=True):
        for stroke in ink:
            window = stroke.window
            if window != (0.0, 0.0, *page.size):
                a, b, c, d = (round(side, 2) for side in window)
                windows[a, b, c, d] += 1
            box = bounds(stroke.path)
            x0, y0 = min(x0, max(box[0], window[0])), min(y0, max(box[1], window[1]))
            x1, y1 = max(x1, min(box[2], window[2])), max(y1, min(box[3], window[3]))
    every = sum(len(ink) for ink in inks)
    if windows:
        clip, times = windows.most_common(1)[0]
        whole = pages[0].size
        wide = clip[2] - clip[0] > 0.5 * whole[0] and clip[3] - clip[1] > 0.5 * whole[1]
        if wide and times > 0.3 * every:
            return clip
    drawn = (x0, y0, x1, y1)
    if frame is not None:
        beyond = max(frame[0] - x0, frame[1] - y0, x1 - frame[2], y1 - frame[3])
        if beyond <= 1.0 or not _crossed(inks, frame):
            return frame
        return drawn
    width, height = pages[0].size
    margins = (x0, y0, width - x1, height - y1)
    return (0.0, 0.0, width, height) if min(margins) <= 1.0 else drawn


def _crossed(inks: Sequence[Sequence[Stroke]], frame: Box) -> bool:
    """Tell whether lines of some length run on beyond the frame, as far as they are seen."""
    for ink in inks:
        for stroke in ink:
            a, b, c, d = bounds(stroke.path)
            if max(c - a, d - b) <= _MARK or _is_frame(stroke, frame):
                continue
            a, b = max(a, stroke.window[0]), max(b, stroke.window[1])
            c, d = min(c, stroke.window[2]), min(d, stroke.window[3])
            if max(frame[0] - a, frame[1] - b, c - frame[2], d - frame[3]) > 1.0:
                return True
    return False


def _is_frame(stroke: Stroke, frame: Box | None) -> bool:
    """Tell whether a line is the frame or a side of it."""
    if frame is None:
        return False
    a, b, c, d = bounds(stroke.path)
    on = (abs(a - frame[0]) < 0.5, abs(b - frame[1]) < 0.5)
    off = (abs(c - frame[2]) < 0.5, abs(d - frame[3]) < 0.5)
    if all((*on, *off)) and len(stroke.path.segments) <= 4:
        return True
    flat = len(stroke.path.segments) == 1
    across = flat and on[0] and off[0] and (abs(b - frame[1]) < 0.5 or abs(d - frame[3]) < 0.5)
    upward = flat and on[1] and off[1] and (abs(a - frame[0]) < 0.5 or abs(c - frame[2]) < 0.5)
    return across or upward


Place = tuple[int, ...]


def _place(stroke: Stroke) -> Place:
    """Return where a stroke lies on its page and how many lines it has."""
    return (*(round(side / 0.2) for side in bounds(stroke.path)), len(stroke.path.segments))


def _repeated(inks: Sequence[Sequence[Stroke]], frame: Box, pages: int) -> set[Place]:
    """Return the places of what is on most pages, or small, at the edge, and on several."""
    count: Counter[Place] = Counter()
    boxes: dict[Place, Box] = {}
    for ink in inks:
        count.update({_place(stroke) for stroke in ink})
        boxes.update((_place(stroke), bounds(stroke.path)) for stroke in ink)
    out = set()
    for place, times in count.items():
        a, b, c, d = boxes[place]
        rim = min(a - frame[0], b - frame[1], frame[2] - c, frame[3] - d) <= _EDGE
        small = max(c - a, d - b) <= _MARK and rim
        if (times >= 3 and times >= 0.6 * pages) or (small and times >= 2 and times >= 0.2 * pages):
            out.add(place)
    return out


def _said(word: Word) -> str:
    """Return what a text says but for its numbers; nothing of a short label."""
    return "" if _SHORT.fullmatch(word.text) else re.sub(r"\d+", "#", word.text)


def _spoken_places(pages: Sequence[Page]) -> set[int]:
    """Return the texts (by `id`) that most pages have at one place, short labels whatever they say.

    At one place, and of one size: to 3 mm.
    """
    cells: dict[tuple[str, int, int], list[tuple[int, Word]]] = defaultdict(list)
    for k, page in enumerate(pages):
        for word in page.words:
            cells[_said(word), *_cell(word)].append((k, word))
    most = max(2, round(0.6 * len(pages)))
    out = set()
    for (said, column, row), here in cells.items():
        around = [
            one
            for i in (-1, 0, 1)
            for j in (-1, 0, 1)
            for one in cells.get((said, column + i, row + j), ())[:_CROWD]
        ]
        for _, word in here[:_CROWD]:
            on = {
                k
                for k, other in around
                if math.dist(other.middle, word.middle) <= _SPOT
                and abs(other.size - word.size) <= _SPOT
            }
            if len(on) >= most:
                out.add(id(word))
    return out


def _cell(word: Word) -> tuple[int, int]:
    return math.floor(word.middle[0] / _SPOT), math.floor(word.middle[1] / _SPOT)


def _marks(
    strokes: Sequence[Stroke], words: Sequence[Word], frame: Box
) -> tuple[list[Mark], set[int]]:
    """Return the marks for gluing among what repeats, and the texts that are their letters."""
    by_side: dict[str, list[Box]] = defaultdict(list)
    for stroke in strokes:
        a, b, c, d = bounds(stroke.path)
        if max(c - a, d - b) > _MARK or max(c - a, d - b) < 1.0:
            continue
        off = {
            "left": _gap(a, c, frame[0]),
            "right": _gap(a, c, frame[2]),
            "low": _gap(b, d, frame[1]),
            "high": _gap(b, d, frame[3]),
        }
        side = min(off, key=lambda name: off[name])
        if off[side] <= _EDGE:
            by_side[side].append((a, b, c, d))
    out = []
    used: set[int] = set()
    for side, boxes in by_side.items():
        for box in _clusters(boxes):
            middle = ((box[0] + box[2]) / 2.0, (box[1] + box[3]) / 2.0)
            near = [
                (math.dist(word.middle, middle), k)
                for k, word in enumerate(words)
                if word.text and _SHORT.fullmatch(word.text) and id(word) not in used
            ]
            if not near or min(near)[0] > _LABEL:
                continue
            word = words[min(near)[1]]
            used.add(id(word))
            on = {"left": 0, "right": 2, "low": 1, "high": 3}[side]
            at = list(middle)
            if _half(strokes, box, on):
                at[on % 2] = box[on]
            out.append(Mark(label=word.text.casefold(), side=side, at=(at[0], at[1])))
    return out, used


def _half(strokes: Sequence[Stroke], box: Box, on: int) -> bool:
    """Tell whether a mark is widest at the side to the border: its other half is on the next page.

    `on`: which side of its box is the one to the border.
    """
    across, along = on % 2, 1 - on % 2
    points = [
        point
        for stroke in strokes
        if (b := bounds(stroke.path))[0] >= box[0] and b[1] >= box[1]
        if b[2] <= box[2] and b[3] <= box[3]
        for point in stroke.path.points(0.1)
    ]
    deep = box[across + 2] - box[across]
    return deep > 0.5 and all(
        abs(max(points, key=lambda p: p[along] * sign)[across] - box[on]) < 0.1 * deep
        for sign in (-1.0, 1.0)
    )


def _gap(low: float, high: float, border: float) -> float:
    return max(low - border, border - high, 0.0)


def _clusters(boxes: Sequence[Box]) -> list[Box]:
    """Return the boxes around what touches: a mark may be drawn of several lines."""
    out: list[Box] = []
    for box in boxes:
        merged = box
        rest = []
        for other in out:
            apart = max(
                merged[0] - other[2],
                other[0] - merged[2],
                merged[1] - other[3],
                other[1] - merged[3],
            )
            if apart <= 1.0:
                merged = (
                    min(merged[0], other[0]),
                    min(merged[1], other[1]),
                    max(merged[2], other[2]),
                    max(merged[3], other[3]),
                )
            else:
                rest.append(other)
        out = [*rest, merged]
    return out
