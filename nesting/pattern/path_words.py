"""A path as words of a stored plan, each number so that it reads back exactly.

``M x y`` where it starts, then ``L x y`` a line to, ``C x y x y x y`` a cubic Bézier curve to,
and ``A cx cy ux uy vx vy begin sweep`` the arc centre + u·cos t + v·sin t for t (radians) from
``begin`` over ``sweep``. A segment that starts anywhere else than the last one ended, be it by a
rounding error, has its own ``M``, and so has one after an arc.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator

from nesting.pattern.affine import Point
from nesting.pattern.curves import Arc, Bezier, Line, Segment

__all__ = ["segments_of", "words_of"]

_NUMBERS = {"M": 2, "L": 2, "C": 6, "A": 8}


def words_of(segments: Iterable[Segment]) -> str:
    """Return the words of segments that follow one another."""
    words: list[str] = []
    here: Point | None = None
    for segment in segments:
        if isinstance(segment, Arc):
            numbers = (*segment.centre, *segment.u, *segment.v, segment.begin, segment.sweep)
            words += ["A", *map(repr, numbers)]
            here = None
            continue
        if segment.start != here:
            words += ["M", *map(repr, segment.start)]
        here = segment.end
        if isinstance(segment, Bezier):
            words += ["C", *map(repr, (*segment.first, *segment.second, *here))]
        else:
            words += ["L", *map(repr, here)]
    return " ".join(words)


def segments_of(text: str) -> tuple[Segment, ...]:
    """Return the segments that words tell.

    Raises
    ------
    ValueError
        Says what is wrong with the words.

    """
    return tuple(_segments(text))


def _segments(text: str) -> Iterator[Segment]:
    words = iter(text.split())
    here: Point | None = None
    for command in words:
        n = _numbers(command, words)
        if command == "A":
            yield Arc((n[0], n[1]), (n[2], n[3]), (n[4], n[5]), n[6], n[7])
            here = None
            continue
        end = (n[-2], n[-1])
        if command != "M":
            if here is None:
                raise ValueError("a path has to start with M or A")
            if command == "L":
                yield Line(here, end)
            else:
                yield Bezier(here, (n[0], n[1]), (n[2], n[3]), end)
        here = end


def _numbers(command: str, words: Iterator[str]) -> list[float]:
    """Take the numbers of a command off the words."""
    wanted = _NUMBERS.get(command)
    if wanted is None:
        raise ValueError(f"{command[:20]!r} is no path command")
    try:
        numbers = [float(next(words)) for _ in range(wanted)]
    except (ValueError, StopIteration):
        numbers = [math.nan]
    if not all(map(math.isfinite, numbers)):
        raise ValueError(f"the path's {command} needs {wanted} numbers")
    return numbers
