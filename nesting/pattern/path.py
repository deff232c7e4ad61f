"""Paths of lines, arcs and Bézier curves; plain numbers in mm, y upwards."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from nesting.pattern.affine import Affine, Point
from nesting.pattern.curves import Arc, Bezier, Line, Segment
from nesting.pattern.path_words import segments_of, words_of
from nesting.shown import Brief
from nesting.stored import as_text

__all__ = ["Affine", "Arc", "Bezier", "Line", "Path", "Point", "Segment", "meet"]


class _Hashed:
    """Has room for a hash, which is no field: it is not stored, sent or compared."""

    __slots__ = ("_hash",)
    _hash: int


@dataclass(frozen=True, slots=True, repr=False)
class Path(_Hashed, Brief):
    """Segments that follow one another; closed if the last ends where the first starts.

    A closed path that bounds a piece runs counter-clockwise, one that bounds a
    hole clockwise.

    Examples
    --------
    >>> flap = Path.polyline([(0, 0), (200, 0), (170, 90), (30, 90)], closed=True)
    >>> flap.closed, flap.curved, flap.start
    (True, False, (0.0, 0.0))
    >>> flap.points(0.1)
    ((0.0, 0.0), (200.0, 0.0), (170.0, 90.0), (30.0, 90.0))

    """

    segments: tuple[Segment, ...]

    def __hash__(self) -> int:
        """Return the hash, reckoned once: what is made of a path is looked up by it."""
        try:
            return self._hash
        except AttributeError:
            object.__setattr__(self, "_hash", hash(self.segments))
            return self._hash

    @property
    def start(self) -> Point:
        """The first point."""
        return self.segments[0].start

    @property
    def end(self) -> Point:
        """The last point."""
        return self.segments[-1].end

    @property
    def closed(self) -> bool:
        """Whether the path ends where it starts (to 1e-9 of its size)."""
        return meet(self.start, self.end)

    @property
    def curved(self) -> bool:
        """Whether any segment is not straight."""
        return any(not isinstance(segment, Line) for segment in self.segments)

    def transformed(self, by: Affine) -> Path:
        """Return the path mapped by an affine map (a mirrored ring runs the other way round)."""
        return Path(tuple(_mapped(self.segments, by)))

    def reversed(self) -> Path:
        """Return the path run the other way."""
        return Path(tuple(segment.reversed() for segment in reversed(self.segments)))

    def points(self, chord: float) -> tuple[Point, ...]:
        """Return the polyline at most `chord` (mm) from the path.

        A closed path gives a ring without the repeated last point, an open one
        both its ends.
        """
        return _points(self, chord)

    def points_once(self, chord: float) -> tuple[Point, ...]:
        """Return the same, and keep nothing: for the many paths that are asked a single time."""
        return _reckoned(self, chord)

    @staticmethod
    def polyline(points: Iterable[Point], *, closed: bool) -> Path:
        """Make a path of straight segments; a ring is given without the repeated point."""
        ring: Sequence[Point] = [(float(x), float(y)) for x, y in points]
        ends = [*ring[1:], ring[0]] if closed else ring[1:]
        return Path(tuple(Line(p, q) for p, q in zip(ring, ends, strict=False) if p != q))

    @classmethod
    def __get_pydantic_core_schema__(cls, source: Any, handler: Any) -> Any:
        return as_text(
            read=lambda text: cls(segments_of(text)), write=lambda path: words_of(path.segments)
        )


def meet(start: Point, end: Point) -> bool:
    """Whether a path from one point to another is closed."""
    (x0, y0), (x1, y1) = start, end
    scale = max(1.0, abs(x0), abs(y0))
    return abs(x0 - x1) <= 1e-9 * scale and abs(y0 - y1) <= 1e-9 * scale


def _mapped(segments: Iterable[Segment], by: Affine) -> Iterator[Segment]:
    """Map segments; a corner that two lines share is mapped once."""
    last: Point | None = None
    end = (0.0, 0.0)
    for segment in segments:
        if isinstance(segment, Line):
            start = end if segment.start is last else by(segment.start)
            last, end = segment.end, by(segment.end)
            yield Line(start, end)
        else:
            last = None
            yield segment.transformed(by)


@lru_cache(maxsize=4096)
def _points(path: Path, chord: float) -> tuple[Point, ...]:
    return _reckoned(path, chord)


def _reckoned(path: Path, chord: float) -> tuple[Point, ...]:
    out = [path.start]
    for segment in path.segments:
        out.extend(segment.points(chord))
    if path.closed and len(out) > 1:
        out.pop()
    return tuple(out)
