"""What has to be drawn on each part: marks by copy, hand, material and face, and its grain."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import shapely

from ..asked.cutting_list import Asked
from ..asked.pattern import Mark
from ..rules.answer import Lying
from ..rules.judge import copies_of
from .files import Element

__all__ = ["NOTCH", "carried", "marked_wrong"]

_NEAR = 0.05
NOTCH = 4.5
"""What is drawn for a notch is so near its place (mm): it is 3 mm wide and deep."""


def carried(lying: Lying, asked: Asked) -> list[Mark]:
    """Return the marks that a part has to carry, where they lie."""
    copies = copies_of(lying)
    # A right and a left cut at once carry what both of them do; the rest is told.
    hands = {"right", "left"} if lying.both_hands else {lying.hand}
    found = []
    for mark in asked.shape(lying.hand).marks:
        words = mark.materials
        if words is not None and asked.goods.name not in {asked.roles.get(w, w) for w in words}:
            continue
        if mark.copies is not None and not set(copies) <= mark.copies:
            continue
        if mark.hands is not None and not hands <= mark.hands:
            continue
        found.append(mark.moved(lying.place))
    return found


def marked_wrong(lying: Lying, asked: Asked, elements: Sequence[Element]) -> Iterator[str]:
    """Yield what is drawn wrong on a part; `elements`: all that a file has of it."""
    yield from _arrow(lying, asked, [e for e in elements if e.name == "grain"])
    if lying.bit is not None or lying.on_fold:
        return  # marks are parted with the piece
    marks = carried(lying, asked)
    # Folded cloth has its right sides together.
    turned = (asked.goods.wrong_side_up or asked.goods.folded) != lying.flipped
    drawn = [e for e in elements if e.layer.startswith(("mark", "drill", "notch"))]
    for kinds, layer in ((("line", "outline"), "mark"), (("drill",), "drill")):
        wanted = [mark for mark in marks if mark.kind in kinds]
        there = [e for e in drawn if e.layer.startswith(layer)]
        for mark in wanted:
            under = layer == "mark" and (mark.face == "wrong") != turned
            fits = sorted((e for e in there if _is(mark, e)), key=lambda e: e.under != under)
            if not fits:
                yield f"{lying.name} has no {mark.kind} at {_about(mark)}"
                continue
            there.remove(fits[0])
            if fits[0].under != under:
                yield f"the {mark.kind} of {lying.name} at {_about(mark)} is on the other face"
    for e in there:
        yield f"{lying.name} has a {layer} at {e.points[0]} that it should not carry"
    notches = [mark.at for mark in marks if mark.kind == "notch" and mark.at is not None]
    there = [e for e in drawn if e.layer == "notch"]
    for at in notches:
        if not any(e.line.distance(shapely.Point(at)) <= NOTCH for e in there):
            yield f"{lying.name} has no notch at ({at[0]:.1f}, {at[1]:.1f})"
    for e in there:
        if not any(e.line.distance(shapely.Point(at)) <= NOTCH for at in notches):
            yield f"{lying.name} has a notch at {e.points[0]} that it should not carry"
    texts = [e.text for e in elements if e.text]
    for mark in marks:
        if mark.kind == "text" and mark.text not in texts:
            yield f"{lying.name} does not carry the text {mark.text!r}"


def _is(mark: Mark, e: Element) -> bool:
    if mark.kind == "drill":
        assert mark.at is not None
        size = abs(2.0 * e.radius - mark.size)
        return math.dist(e.points[0], mark.at) <= _NEAR and size <= _NEAR
    line = shapely.LineString(mark.line)
    far: float = shapely.hausdorff_distance(line, e.line)
    return far <= _NEAR


def _about(mark: Mark) -> str:
    x, y = mark.at or mark.line[0]
    return f"({x:.1f}, {y:.1f})"


def _arrow(lying: Lying, asked: Asked, strokes: Sequence[Element]) -> Iterator[str]:
    """Yield what is wrong with the arrow along a part's grain."""
    if not strokes:
        return
    if asked.nap == "any":
        yield f"{lying.name} has no grain and shows one"
        return
    shaft = max(strokes, key=lambda e: e.line.length if len(e.points) == 2 else 0.0)
    heads = [e for e in strokes if e is not shaft]
    (ax, ay), (bx, by) = shaft.points[0], shaft.points[-1]
    way = math.degrees(math.atan2(by - ay, bx - ax))
    if abs(math.remainder(way - lying.angle, 180.0)) > 0.05:
        yield f"the arrow of {lying.name} points {way:g}°, it lies at {lying.angle:g}°"
    if len(heads) != (1 if asked.nap == "one-way" else 2):
        yield f"the arrow of {lying.name} has {len(heads)} heads, its nap is {asked.nap}"
        return
    if asked.nap == "one-way":
        c, s = math.cos(math.radians(lying.angle)), math.sin(math.radians(lying.angle))
        up = max((shaft.points[0], shaft.points[-1]), key=lambda p: c * p[0] + s * p[1])
        if heads[0].line.distance(shapely.Point(up)) > _NEAR:
            yield f"the arrow of {lying.name} points down"
