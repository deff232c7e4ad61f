"""Which pages are pattern, and why the others are not."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Sequence

from nesting.pattern.measure import bounds
from nesting.pattern.path import Line
from nesting.reading.pdf.page import Box, Page, Stroke

__all__ = ["common_frame", "left_out"]

_WORDS = 90
"""More words than this on a page are read, not sewn: instructions."""
_FRAME = 0.5
"""A rectangle that is at least so large a share of the page both ways can be its frame."""
_STEP = 0.5
"""Frames at the same place to so much (mm) are one."""


def left_out(pages: Sequence[Page], inks: Sequence[Sequence[Stroke]]) -> dict[int, str]:
    """Return why pages are no pattern, by their place in the list.

    Nothing drawn; a page of text; where several have one size or one frame, those without it.
    """
    out: dict[int, str] = {}
    for i, (page, ink) in enumerate(zip(pages, inks, strict=True)):
        words = sum(len(word.text.split()) for word in page.words)
        if not ink:
            out[i] = (
                "it holds a picture, and nothing drawn"
                if page.pictures
                else "it holds text only"
                if page.words
                else "it is empty"
            )
        elif words > _WORDS:
            out[i] = f"it is text: {words} words"
    kept = [i for i in range(len(pages)) if i not in out]
    framed = common_frame([pages[i] for i in kept], [inks[i] for i in kept])
    for i in kept if framed is not None else ():
        if framed not in frames(pages[i], inks[i]):
            out[i] = "it lacks the frame that the other pages have"
    kept = [i for i in kept if i not in out]
    sizes = Counter(_rounded(pages[i].size) for i in kept)
    usual, count = sizes.most_common(1)[0] if sizes else ((0, 0), 0)
    for i in kept if count > 1 and count > len(kept) / 2 else ():
        if _rounded(pages[i].size) != usual:
            out[i] = "it is of another size than the others"
    return out


def _rounded(size: tuple[float, float]) -> tuple[int, int]:
    return round(size[0]), round(size[1])


def common_frame(
    pages: Sequence[Page], inks: Sequence[Sequence[Stroke]]
) -> tuple[int, int, int, int] | None:
    """Return the frame that several pages have at one place, as `frames` gives it."""
    count: Counter[tuple[int, int, int, int]] = Counter()
    for page, ink in zip(pages, inks, strict=True):
        count.update(frames(page, ink).keys())
    most = [(times, frame) for frame, times in count.items() if times >= 2]
    if not most:
        return None
    times, _ = max(most)
    if times < 3 and times < len(pages):
        return None
    same = [frame for n, frame in most if n == times]
    return max(same, key=lambda f: (f[2] - f[0]) * (f[3] - f[1]))


def frames(page: Page, ink: Sequence[Stroke]) -> dict[tuple[int, int, int, int], Box]:
    """Return the rectangles, whole or of four lines, that can be the page's frame."""
    found: dict[tuple[int, int, int, int], Box] = {}
    lines: dict[str, list[Box]] = defaultdict(list)
    for stroke in ink:
        box = bounds(stroke.path)
        segments = stroke.path.segments
        if not all(isinstance(segment, Line) and _upright(segment) for segment in segments):
            continue
        if stroke.path.closed and len(segments) == 4 and _large(box, page):
            found[_key(box)] = box
        elif len(segments) == 1:
            wide = box[2] - box[0] >= _FRAME * page.size[0]
            if wide or box[3] - box[1] >= _FRAME * page.size[1]:
                lines["across" if wide else "up"].append(box)
    for low in lines["across"][:20]:
        for high in lines["across"][:20]:
            box = (low[0], low[1], low[2], high[3])
            same = abs(low[0] - high[0]) + abs(low[2] - high[2]) <= _STEP
            sides = {round(one[0] / _STEP) for one in lines["up"]}
            closed = {round(box[0] / _STEP), round(box[2] / _STEP)} <= sides
            if same and closed and box[1] < box[3] and _large(box, page):
                found[_key(box)] = box
    return found


def _upright(line: Line) -> bool:
    return abs(line.start[0] - line.end[0]) < 0.01 or abs(line.start[1] - line.end[1]) < 0.01


def _large(box: Box, page: Page) -> bool:
    return box[2] - box[0] >= _FRAME * page.size[0] and box[3] - box[1] >= _FRAME * page.size[1]


def _key(box: Box) -> tuple[int, int, int, int]:
    x0, y0, x1, y1 = (round(side / _STEP) for side in box)
    return x0, y0, x1, y1
