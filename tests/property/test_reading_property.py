"""Any piece written is read back the same, by DXF and by SVG, to 1e-6 mm."""

from __future__ import annotations

import math
from pathlib import Path as FilePath

import pytest
import shapely
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from shapely import Polygon

from nesting.job.file import read_job
from nesting.pattern.edges import corners
from nesting.pattern.measure import area, bounds, length
from nesting.pattern.path import Affine, Arc, Bezier, Line, Path, Segment
from nesting.pattern.piece import Mark, MarkKind, NotchStyle, Piece
from nesting.reading.read import pattern_for, read_pattern
from nesting.writing.handout.pieces_svg import pieces_svg
from nesting.writing.handout.sewn_dxf import sewn_dxf

SAMPLES = [
    path
    for path in sorted((FilePath(__file__).parents[2] / "sample_markers").glob("*/*.toml"))
    if path.stem == path.parent.name
]
CHORD = 0.05
QUICK = settings(
    max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)


@st.composite
def outlines(draw: st.DrawFn) -> Path:
    """Draw a star-shaped outline of lines, quarter-ish arcs and Béziers about a centre."""
    n = draw(st.integers(3, 9))
    radii = [draw(st.floats(60.0, 300.0)) for _ in range(n)]
    cx, cy = draw(st.floats(-500.0, 500.0)), draw(st.floats(-500.0, 500.0))
    at = [
        (cx + r * math.cos(math.tau * i / n), cy + r * math.sin(math.tau * i / n))
        for i, r in enumerate(radii)
    ]
    segments: list[Segment] = []
    for i, start in enumerate(at):
        end = at[(i + 1) % n]
        kind = draw(st.sampled_from(["line", "arc", "bezier"]))
        dx, dy = end[0] - start[0], end[1] - start[1]
        if kind == "line":
            segments.append(Line(start, end))
        elif kind == "bezier":
            bend = draw(st.floats(-0.03, 0.03))
            first = (start[0] + dx / 3 + bend * dy, start[1] + dy / 3 - bend * dx)
            second = (start[0] + 2 * dx / 3 + bend * dy, start[1] + 2 * dy / 3 - bend * dx)
            segments.append(Bezier(start, first, second, end))
        else:  # an arc that bulges outwards by a tenth of its chord
            sweep = 4.0 * math.atan(0.2)
            radius = math.hypot(dx, dy) / 2.0 / math.sin(sweep / 2.0)
            off = radius * math.cos(sweep / 2.0)
            size = math.hypot(dx, dy)
            centre = (
                (start[0] + end[0]) / 2 - off * dy / size,
                (start[1] + end[1]) / 2 + off * dx / size,
            )
            begin = math.atan2(start[1] - centre[1], start[0] - centre[0])
            segments.append(Arc(centre, (radius, 0.0), (0.0, radius), begin, sweep))
    return Path(tuple(segments))


@st.composite
def pieces(draw: st.DrawFn) -> Piece:
    cut = draw(outlines().filter(lambda path: Polygon(path.points(0.01)).is_valid))
    spots = draw(st.lists(st.integers(0, len(cut.segments) - 1), max_size=3, unique=True))
    notches = tuple(
        Mark(
            kind=MarkKind.NOTCH,
            at=cut.segments[i].start,
            size=draw(st.floats(1.0, 8.0)),
            width=0.0 if (style := draw(st.sampled_from(NotchStyle))) == "slit" else 3.0,
            style=style,
        )
        for i in spots
    )
    x0, y0, x1, y1 = bounds(cut)
    centre = ((x0 + x1) / 2, (y0 + y1) / 2)
    drill = Mark(kind=MarkKind.DRILL, at=centre, size=draw(st.sampled_from([0.0, 2.5])))
    return Piece(
        name=draw(st.sampled_from(["Front", "Träger 2", "sac à dos", "背面"])),
        cut=cut,
        grain=draw(st.floats(0.0, 359.0)),
        marks=(*notches, drill),
    )


def same_marks(ours: Piece, theirs: Piece, by: Affine) -> None:
    assert len(ours.marks) == len(theirs.marks)
    for mine, other in zip(ours.marks, theirs.marks, strict=True):
        assert (mine.kind, mine.style) == (other.kind, other.style)
        assert mine.at is not None
        assert other.at is not None
        assert math.dist(by(mine.at), other.at) < 1e-6
        assert (mine.size, mine.width) == pytest.approx((other.size, other.width), abs=1e-6)


def same_angle(a: float, b: float) -> bool:
    return abs((a - b + 180.0) % 360.0 - 180.0) < 1e-6


@QUICK
@given(piece=pieces(), minimal=st.booleans(), inches=st.booleans())
def test_dxf_there_and_back(piece, minimal, inches, tmp_path):
    path = tmp_path / "piece.dxf"
    path.write_text(sewn_dxf([piece], minimal=minimal, inches=inches, chord=CHORD))
    pattern = read_pattern(path, unit="in" if inches else "mm")
    (found,) = pattern.found
    back = found.piece
    assert back.name == piece.name
    chords = piece.cut.points(CHORD)
    assert len(back.cut.segments) == len(chords)
    for mine, other in zip(chords, back.cut.points(1.0), strict=True):
        assert math.dist(mine, other) < 1e-6
    assert same_angle(back.grain, piece.grain)
    same_marks(piece, back, Affine())
    assert len(found.turns) == len(corners(piece.cut))
    assert len(found.turns) + len(found.curves) == len(chords)


@QUICK
@given(piece=pieces())
def test_svg_there_and_back(piece, tmp_path):
    path = tmp_path / "piece.svg"
    path.write_text(pieces_svg([piece]), encoding="utf-8")
    (found,) = read_pattern(path).found
    back = found.piece
    assert back.name == piece.name
    assert [type(s) for s in back.cut.segments] == [type(s) for s in piece.cut.segments]
    ours, theirs = bounds(piece.cut), bounds(back.cut)
    by = Affine.move(theirs[0] - ours[0], theirs[1] - ours[1])
    moved = piece.cut.transformed(by)
    for mine, other in zip(moved.segments, back.cut.segments, strict=True):
        assert max(math.dist(mine.at(t), other.at(t)) for t in (0.0, 0.3, 0.7, 1.0)) < 1e-6
    assert same_angle(back.grain, piece.grain)
    same_marks(piece, back, by)


def off(path: Path, other: Path, by: Affine) -> float:
    """Return how far the corners of either's chords lie from the other, less the chord's slack."""
    moved, found = path.transformed(by), other
    chords = [shapely.LineString([*p.points(1e-3), p.start]) for p in (moved, found)]
    straight = not moved.curved
    slack = 0.0 if straight else 2e-3
    return float(shapely.hausdorff_distance(*chords)) - slack


def alike(mark: Mark, other: Mark, by: Affine) -> bool:
    """Tell whether two marks are of one kind, in one place.

    No format tells a closed line from an outline: both are drawn, and come back as outlines.
    """
    kinds = [
        MarkKind.OUTLINE if m.kind is MarkKind.LINE and m.path and m.path.closed else m.kind
        for m in (mark, other)
    ]
    if kinds[0] != kinds[1] or (mark.style, mark.text) != (other.style, other.text):
        return False
    if mark.at is not None and other.at is not None:
        return math.dist(by(mark.at), other.at) < 1e-6
    return (
        mark.path is not None and other.path is not None and off(mark.path, other.path, by) < 1e-6
    )


@pytest.mark.parametrize("sample", SAMPLES, ids=lambda p: p.stem)
def test_every_piece_of_the_samples_there_and_back(sample, tmp_path):
    bags = read_job(sample, resolver=lambda asked: pattern_for(asked).piece(asked.piece)).bags
    every = list({piece.name: piece for bag in bags for piece in bag.pieces}.values())
    (tmp_path / "all.dxf").write_text(sewn_dxf(every, chord=0.001))
    (tmp_path / "all.svg").write_text(pieces_svg(every), encoding="utf-8")
    for name, exact in (("all.dxf", False), ("all.svg", True)):
        back = read_pattern(tmp_path / name).pieces
        assert [piece.name for piece in back] == [piece.name for piece in every]
        for mine, other in zip(every, back, strict=True):
            cut = mine.cut if exact else Path.polyline(mine.cut.points(0.001), closed=True)
            assert area(other.cut) == pytest.approx(area(cut), rel=1e-9)
            assert length(other.cut) == pytest.approx(length(cut), abs=1e-6)
            ours, theirs = bounds(mine.cut), bounds(other.cut)
            # DXF keeps a piece's own coordinates; in SVG the pieces lie side by side.
            by = Affine.move(theirs[0] - ours[0], theirs[1] - ours[1]) if exact else Affine()
            assert off(mine.cut, other.cut, by) < 1e-6
            assert len(other.holes) == len(mine.holes)
            for hole, found in zip(mine.holes, other.holes, strict=True):
                assert off(hole, found, by) < 1e-6
            assert (other.sew is None) == (mine.sew is None)
            if mine.sew is not None and other.sew is not None:
                assert off(mine.sew, other.sew, by) < 1e-6
            assert same_angle(other.grain, mine.grain)
            assert len(other.marks) == len(mine.marks)
            left = list(other.marks)
            for mark in mine.marks:
                same = [got for got in left if alike(mark, got, by)]
                assert same, f"{mine.name}: {mark} is not among {left}"
                left.remove(same[0])
