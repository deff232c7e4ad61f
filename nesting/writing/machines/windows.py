"""A long lay cut in windows of the bed's length, where the cloth advances between parts."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from shapely import LineString, MultiLineString, STRtree

from nesting.errors import MachineError
from nesting.pattern.measure import bounds
from nesting.pattern.path import Affine, Line, Path, Point
from nesting.tolerance import TOLERANCE
from nesting.writing.machines.work import moved
from nesting.writing.neutral.drawing import Drawing, Operation, Role, Stroke

__all__ = ["Window", "windows"]

_ARM = 5.0
"""Half the size of a register mark across the cloth, mm."""
_ARMS = (_ARM, 3.0, 2.0, 1.0, 0.5)
"""Half the size of a mark along the cloth, mm: the first that lets two stand far apart."""
_CLEAR = 1.0
"""How far register marks stay off everything else, mm; small ones by half their size."""
_APART = 0.6
"""Share of the width that two marks should stand apart, to be square to the cloth."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Window:
    """What is cut before the cloth advances.

    `drawing` in the bed's coordinates: the marker's x less `shift`. `registers`: the
    register marks (mm, on the bed) at the window's beginning and end; the first window
    begins, and the last ends, without.
    """

    drawing: Drawing
    shift: float
    registers: tuple[Point, ...]


@dataclass(frozen=True, slots=True)
class _Span:
    low: float
    high: float
    names: frozenset[str]
    strokes: frozenset[int]


def windows(
    drawing: Drawing, *, length: float, register: Operation = Operation.MARK
) -> tuple[Window, ...]:
    """Split a drawing into windows of at most `length` (mm) between which no part lies.

    At each border two register marks (crosses) are drawn in both windows with the
    operation `register`: once the cloth has advanced, the second run has to fall on
    the first.

    Raises
    ------
    MachineError
        A part crosses every border that could be; says where, and which parts.

    """
    spans = _merged(_spans(drawing))
    if not spans or spans[-1].high <= length:
        return (Window(drawing=drawing, shift=0.0, registers=()),)
    runs: list[list[_Span]] = []
    borders: list[float] = []
    begin = 0.0
    for i, span in enumerate(spans):
        margin = 0.0 if i == len(spans) - 1 else _ARM
        if runs and span.high + margin - begin <= length:
            runs[-1].append(span)
            continue
        if runs:
            # As late as the window before it reaches and the marks have room for, so that this
            # one reaches far.
            middle = (spans[i - 1].high + span.low) / 2.0
            border = min(max(middle, span.low - _ARM - _CLEAR), begin + length - _ARM)
            borders.append(border)
            begin = border - _ARM
        if span.high + margin - begin > length:
            raise _too_long(span, drawing, begin, length)
        runs.append([span])
    marks = {border: _registers(drawing, border) for border in borders}
    out = []
    for i, run in enumerate(runs):
        shift = borders[i - 1] - _ARM if i else 0.0
        near = [marks[border] for border in borders[max(0, i - 1) : i + 1]]
        own = [p for points, _ in near for p in points]
        wanted = frozenset().union(*(span.strokes for span in run))
        end = borders[i] if i < len(borders) else spans[-1].high
        labels = tuple(
            label
            for label in drawing.labels
            if (borders[i - 1] if i else -1e9) <= label.at[0] < (end if i < len(borders) else 1e9)
        )
        part = replace(
            drawing,
            name=f"{drawing.name} (window {i + 1} of {len(runs)})",
            length=end - shift,
            strokes=(
                *(s for points, arm in near for p in points for s in _cross(p, register, arm)),
                *(s for k, s in enumerate(drawing.strokes) if k in wanted),
            ),
            labels=labels,
        )
        back = Affine.move(-shift, 0.0)
        out.append(
            Window(drawing=moved(part, back), shift=shift, registers=tuple(back(p) for p in own))
        )
    return tuple(out)


def _spans(drawing: Drawing) -> list[_Span]:
    """Return how far each part, and each stroke of none, reaches along x."""
    groups: dict[int, list[int]] = {}
    for k, stroke in enumerate(drawing.strokes):
        groups.setdefault(-1 - k if stroke.part is None else stroke.part, []).append(k)
    out = []
    for part, strokes in groups.items():
        boxes = [bounds(drawing.strokes[k].path) for k in strokes]
        named = 0 <= part < len(drawing.parts)
        out.append(
            _Span(
                min(box[0] for box in boxes),
                max(box[2] for box in boxes),
                frozenset({drawing.parts[part].name} if named else ()),
                frozenset(strokes),
            )
        )
    return out


def _merged(spans: Iterable[_Span]) -> list[_Span]:
    """Join spans that overlap, so that the cloth can be parted between any two that are left."""
    out: list[_Span] = []
    for span in sorted(spans, key=lambda s: s.low):
        if out and span.low < out[-1].high + TOLERANCE.chord:
            last = out.pop()
            span = _Span(
                last.low,
                max(last.high, span.high),
                last.names | span.names,
                last.strokes | span.strokes,
            )
        out.append(span)
    return out


def _too_long(span: _Span, drawing: Drawing, begin: float, length: float) -> MachineError:
    at = begin + length - _ARM
    across = sorted(
        name for s in _spans(drawing) if s.low < at < s.high for name in s.names
    ) or sorted(span.names)
    shown = ", ".join(across[:5]) + (f" and {len(across) - 5} more" if len(across) > 5 else "")
    return MachineError(
        f"the lay can't be cut in windows of {length:g} mm: from x = {span.low:.0f} to "
        f"{span.high:.0f} mm there is always a part across the border (at {at:.0f} mm: {shown})",
        field="bed.length",
        hint="lay the marker with a longest length of the bed's, or in several markers",
    )


def _registers(drawing: Drawing, border: float) -> tuple[tuple[Point, ...], float]:
    """Return two places on a border, far apart, where a cross touches nothing; and its arm.

    Fewer places if there is no room, be the cross ever so small.
    """
    lines = [LineString(_ends(s.path)) for s in drawing.strokes]
    tree = STRtree([line for line in lines if line.length > 0.0])
    n = max(2, int(drawing.width / _ARM))
    low, high = _ARM, drawing.width - _ARM
    best: tuple[tuple[Point, ...], float] = ((), _ARM)
    for arm in _ARMS:
        found: list[Point] = []
        for heights in (range(n + 1), range(n, -1, -1)):
            for k in heights:
                at = (border, low + (high - low) * k / n)
                arms = [s.path for s in _cross(at, Operation.MARK, arm)]
                shape = MultiLineString([[path.start, path.end] for path in arms])
                clear = min(_CLEAR, arm / 2.0)
                if not len(tree.query(shape, predicate="dwithin", distance=clear)):
                    found += [at] if at not in found else []
                    break
        if _spread(found) > _spread(best[0]) or len(found) > len(best[0]):
            best = tuple(found), arm
        if _spread(found) >= _APART * drawing.width:
            break
    return best


def _spread(points: Sequence[Point]) -> float:
    return abs(points[0][1] - points[-1][1]) if points else 0.0


def _ends(path: Path) -> list[Point]:
    points = list(path.points(TOLERANCE.search_chord))
    return [*points, points[0]] if path.closed or len(points) < 2 else points


def _cross(at: Point, operation: Operation, arm: float) -> tuple[Stroke, ...]:
    x, y = at
    arms = (Line((x - arm, y), (x + arm, y)), Line((x, y - _ARM), (x, y + _ARM)))
    return tuple(
        Stroke(operation=operation, path=Path((line,)), role=Role.REGISTER) for line in arms
    )
