"""Pieces and folds: half pieces opened, opened pieces halved, shorter variants folded back."""

from __future__ import annotations

import math
from dataclasses import replace

from nesting.errors import Finding, PatternError
from nesting.pattern.clip import Cut, clipped_region, clipped_runs, off_line
from nesting.pattern.edges import corners, edge_path
from nesting.pattern.marks.marked import beyond
from nesting.pattern.measure import clockwise, counter_clockwise, signed_area
from nesting.pattern.nearest import nearest
from nesting.pattern.outline import clean_outline, started_at
from nesting.pattern.path import Affine, Line, Path, Point, Segment
from nesting.pattern.piece import Mark, MarkKind, Piece
from nesting.pattern.segment import direction, with_ends
from nesting.pattern.variants.transform import dropped_mark, transformed_mark

__all__ = ["fold_axis", "folded_back", "halved", "opened"]

ON_AXIS = 0.01
"""A point nearer than this (mm) to the fold lies on it (drawing accuracy, own choice)."""


def fold_axis(path: Path, edge: int) -> Cut:
    """Return the ends of an edge (numbered from 1) that lies on the fold.

    Raises
    ------
    PatternError
        If there is no such edge or it is not straight.

    """
    run = edge_path(path, edge)
    ends = (run.start, run.end)
    for segment in run.segments:
        bent = not isinstance(segment, Line)
        if bent or abs(off_line(segment.end, ends)) > ON_AXIS:
            raise PatternError(
                f"edge {edge} can't lie on the fold: it is not straight",
                hint="a fold edge is one straight line",
            )
    return ends


def opened(piece: Piece, *, axis: Cut) -> Piece:
    """Return the whole piece of which `piece` is the half on one side of a fold.

    Every outline is joined to its mirror image, segment by segment; edges on the axis
    go. Cut-outs, the sewing line and marks are doubled likewise, except text and what
    lies on the axis itself.

    Raises
    ------
    PatternError
        If no edge lies on the axis, or the halves don't make one piece.

    """
    loops = _unfolded(counter_clockwise(piece.cut), axis)
    outlines = [loop for loop in loops if signed_area(loop) > 0.0]
    if len(outlines) != 1:
        raise PatternError(f"piece {piece.name!r} falls apart when it is opened at its fold")
    holes = [loop for loop in loops if signed_area(loop) < 0.0]
    for hole in piece.holes:
        holes += _unfolded_hole(clockwise(hole), axis)
    sew = None
    if piece.sew is not None:
        seams = _unfolded(counter_clockwise(piece.sew), axis)
        if len(seams) != 1:
            raise PatternError(f"the sewing line of {piece.name!r} falls apart at its fold")
        sew = clean_outline(seams[0])
    return replace(
        piece,
        cut=clean_outline(outlines[0]),
        holes=tuple(clockwise(hole) for hole in holes),
        sew=sew,
        marks=tuple(m for mark in piece.marks for m in _doubled(mark, axis)),
        fold=axis,
    )


def _on_axis(point: Point, axis: Cut) -> bool:
    return abs(off_line(point, axis)) <= ON_AXIS


def _lies_in(segment: Segment, axis: Cut) -> bool:
    ends_on = _on_axis(segment.start, axis) and _on_axis(segment.end, axis)
    return isinstance(segment, Line) and ends_on


def _unfolded(path: Path, axis: Cut) -> list[Path]:
    """Return each run of a closed path between edges on the axis, closed by its mirror image."""
    n = len(path.segments)
    lying = [_lies_in(segment, axis) for segment in path.segments]
    if not any(lying) or all(lying):
        raise PatternError(
            "no edge of the outline lies on the fold",
            hint="the fold is a straight edge of the half piece",
        )
    first = next(i for i in range(n) if lying[i - 1] and not lying[i])
    runs: list[list[Segment]] = []
    for k in range(n):
        i = (first + k) % n
        if lying[i]:
            continue
        if not runs or lying[i - 1]:
            runs.append([])
        runs[-1].append(path.segments[i])
    return [_begun_like(path, _with_image(run, axis)) for run in runs]


def _unfolded_hole(hole: Path, axis: Cut) -> list[Path]:
    if any(_lies_in(segment, axis) for segment in hole.segments):
        return _unfolded(hole, axis)
    return [hole, hole.transformed(Affine.mirror_in(*axis))]


def _with_image(run: list[Segment], axis: Cut) -> Path:
    """Return a run from axis to axis, followed by its mirror image back to its start."""
    run = [*with_ends(run[0], _foot(run[0].start, axis), run[0].end), *run[1:]]
    run = [*run[:-1], *with_ends(run[-1], run[-1].start, _foot(run[-1].end, axis))]
    image = list(Path(tuple(run)).transformed(Affine.mirror_in(*axis)).reversed().segments)
    merged = _straightened(run, image)
    return Path(tuple(_straightened(merged[len(merged) // 2 :], merged[: len(merged) // 2])))


def _foot(point: Point, axis: Cut) -> Point:
    """Return the point of the axis nearest to a point."""
    (x0, y0), (x1, y1) = axis
    dx, dy = x1 - x0, y1 - y0
    t = ((point[0] - x0) * dx + (point[1] - y0) * dy) / (dx * dx + dy * dy)
    return (x0 + t * dx, y0 + t * dy)


def _straightened(before: list[Segment], after: list[Segment]) -> list[Segment]:
    """Join two runs; two lines that go straight on across the axis become one."""
    a, b = before[-1], after[0]
    if isinstance(a, Line) and isinstance(b, Line):
        (ax, ay), (bx, by) = direction(a, 1.0), direction(b, 0.0)
        if ax * bx + ay * by > 0 and abs(ax * by - ay * bx) < 1e-6:
            return [*before[:-1], Line(a.start, b.end), *after[1:]]
    return [*before, *after]


def _begun_like(half: Path, whole: Path) -> Path:
    """Return the whole begun where the half began, or else at the next corner after it."""
    for i, segment in enumerate(whole.segments):
        if math.dist(segment.start, half.start) <= ON_AXIS:
            return started_at(whole, i)
    place = nearest(whole, half.start).segment
    n = len(whole.segments)
    found = min(corners(whole), key=lambda i: (i - place - 1) % n, default=0)
    return started_at(whole, found)


def _doubled(mark: Mark, axis: Cut) -> tuple[Mark, ...]:
    """Return a mark of the half as the one or two marks of the whole."""
    if mark.kind is MarkKind.TEXT:
        return (mark,)
    image = transformed_mark(mark, Affine.mirror_in(*axis))
    path = mark.path
    if path is None:
        return (mark,) if mark.at is not None and _on_axis(mark.at, axis) else (mark, image)
    if all(_on_axis(point, axis) for point in path.points(0.1)):
        return (mark,)
    if path.closed:
        if not any(_lies_in(segment, axis) for segment in path.segments):
            return (mark, image)
        return tuple(replace(mark, path=loop) for loop in _unfolded(path, axis))
    if _on_axis(path.start, axis) and _on_axis(path.end, axis):
        return (replace(mark, path=_with_image(list(path.segments), axis)),)
    if _on_axis(path.start, axis):
        path = path.reversed()
    if _on_axis(path.end, axis):
        run = list(path.segments)
        run = [*run[:-1], *with_ends(run[-1], run[-1].start, _foot(run[-1].end, axis))]
        back = Path(tuple(run)).transformed(Affine.mirror_in(*axis)).reversed().segments
        return (replace(mark, path=Path(tuple(_straightened(run, list(back))))),)
    return (mark, image)


def folded_back(piece: Piece) -> tuple[Piece, tuple[Finding, ...]]:
    """Return the shorter variant: what lies left of the fold-back line is folded away.

    Outline, cut-outs and sewing line are cut at the line. Marks beyond it are left
    out and told; placement lines across it are cut there.

    Raises
    ------
    PatternError
        If the piece has no fold-back line, nothing or all of it lies beyond, or it
        falls apart.

    """
    line = piece.fold_back
    if line is None:
        raise PatternError(
            f"piece {piece.name!r} has no fold-back line",
            hint="draw one, or take the piece whole",
        )
    short = _kept_right(piece, line, what="folded back")
    if short.cut == piece.cut:
        raise PatternError(f"the fold-back line of piece {piece.name!r} doesn't cross it")
    marks, notes = _marks_right(piece, line)
    off = [m for m in marks if m.kind is MarkKind.DRILL and beyond(m, short)]
    notes += tuple(dropped_mark(piece, mark, "reaches beyond the line") for mark in off)
    marks = tuple(mark for mark in marks if mark not in off)
    return replace(short, marks=marks, fold_back=None), notes


def halved(piece: Piece) -> Piece:
    """Return the half of a piece on the left of its fold, seen along the grain.

    With the grain along +x the fold is the half's lower edge: it lies on the fold of
    folded cloth. Marks of the other half go, as they are the images of these.
    """
    if piece.fold is None:
        raise PatternError(f"piece {piece.name!r} has no fold edge")
    (x0, y0), (x1, y1) = piece.fold
    turn = Affine.turn(piece.grain)
    forward = (x1 - x0) * turn.a + (y1 - y0) * turn.c >= 0.0
    line = (piece.fold[1], piece.fold[0]) if forward else piece.fold
    half = _kept_right(piece, line, what="halved")
    return replace(half, marks=_marks_right(piece, line)[0], fold=piece.fold)


def _kept_right(piece: Piece, line: Cut, *, what: str) -> Piece:
    outlines, holes = clipped_region((piece.cut, *piece.holes), line)
    if not outlines:
        raise PatternError(f"nothing is left of piece {piece.name!r} when it is {what}")
    if len(outlines) > 1:
        raise PatternError(
            f"piece {piece.name!r} falls into {len(outlines)} parts when it is {what}"
        )
    sew = None
    if piece.sew is not None:
        seams, _ = clipped_region((piece.sew,), line)
        sew = seams[0] if len(seams) == 1 else None
    return replace(
        piece,
        cut=_begun_like(piece.cut, outlines[0]),
        holes=tuple(holes),
        sew=None if sew is None else _begun_like(piece.cut, sew),
        fold=piece.fold if _square(piece.fold, line) else None,
        motif=piece.motif if piece.motif is None or _is_kept(piece.motif, line) else None,
        points=tuple(named for named in piece.points if _is_kept(named[1], line)),
    )


def _square(fold: Cut | None, line: Cut) -> bool:
    """Whether a cut square to the fold leaves the piece symmetric."""
    if fold is None:
        return False
    (ax, ay), (bx, by) = (direction(Line(*ends), 0.0) for ends in (fold, line))
    return abs(ax * bx + ay * by) < 1e-6


def _is_kept(point: Point, line: Cut) -> bool:
    return off_line(point, line) >= -ON_AXIS


def _marks_right(piece: Piece, line: Cut) -> tuple[tuple[Mark, ...], tuple[Finding, ...]]:
    kept: list[Mark] = []
    notes: list[Finding] = []
    for mark in piece.marks:
        if mark.path is not None:
            runs = clipped_runs(mark.path, line)
            lying = all(_on_axis(point, line) for point in mark.path.points(0.1))
            kept += [mark] if lying else [replace(mark, path=run) for run in runs]
            if runs and runs[0] is not mark.path:
                notes.append(dropped_mark(piece, mark, "is cut at the line; what lies beyond"))
            gone = not runs and not lying
        else:
            gone = mark.at is not None and not _is_kept(mark.at, line)
            kept += [] if gone else [mark]
        if gone:
            notes.append(dropped_mark(piece, mark, "lies beyond the line"))
    return tuple(kept), tuple(notes)
