"""Marks that leave their piece, against distances worked out by hand."""

from __future__ import annotations

from pathlib import Path as FilePath

import pytest

from nesting import parse_job, read_job
from nesting.errors import JobError
from nesting.marker.check import check
from nesting.marker.lay import Lay, Part, Strip
from nesting.marker.marker import Marker, Placement
from nesting.pattern.marks.marked import beyond, clipped, marks_beyond
from nesting.pattern.measure import clockwise
from nesting.pattern.path import Path
from nesting.pattern.piece import Mark, MarkKind, Piece
from nesting.pattern.shapes import circle, rectangle

SQUARE = rectangle(100.0, 100.0)


def line(*points: tuple[float, float]) -> Mark:
    return Mark(kind=MarkKind.LINE, path=Path.polyline(points, closed=False))


@pytest.mark.parametrize(
    ("mark", "off"),
    [
        (Mark(kind=MarkKind.DRILL, at=(50, 50), size=100), 0.0),
        (Mark(kind=MarkKind.DRILL, at=(50, 50), size=160), 30.0),
        (Mark(kind=MarkKind.DRILL, at=(50, 460)), 360.0),
        (Mark(kind=MarkKind.NOTCH, at=(50, 0), size=99, width=2), 0.0),
        (Mark(kind=MarkKind.NOTCH, at=(50, 0), size=150, width=2), 50.0),
        (line((0, 0), (100, 100)), 0.0),
        (line((20, 20), (150, 20)), 50.0),
        (Mark(kind=MarkKind.TEXT, at=(50, 130), text="x", size=5), 30.0),
    ],
)
def test_how_far_a_mark_leaves_its_piece(mark: Mark, off: float) -> None:
    piece = Piece(name="square", cut=SQUARE, marks=(mark,))
    assert beyond(mark, piece) == pytest.approx(off, abs=0.05)
    assert bool(marks_beyond(piece)) == (off > 0)


def test_a_cut_out_is_no_place_for_a_mark_either() -> None:
    """Another part may lie in it."""
    piece = Piece(name="ring", cut=SQUARE, holes=(clockwise(circle(20.0, centre=(50.0, 50.0))),))
    assert beyond(line((20, 50), (80, 50)), piece) == pytest.approx(10.0, abs=0.05)


def test_a_line_is_cut_off_at_the_edge() -> None:
    piece = Piece(name="square", cut=SQUARE)
    (kept,) = clipped(line((20, 20), (150, 20)), piece)
    assert kept.path is not None
    assert sorted([kept.path.start, kept.path.end]) == [
        pytest.approx((20, 20)),
        pytest.approx((100, 20)),
    ]


def test_the_judge_names_marks_that_reach_beyond_their_part() -> None:
    wide = Mark(kind=MarkKind.DRILL, at=(50, 50), size=160, name="snap")
    part = Part(name="p", piece=Piece(name="square", cut=SQUARE, marks=(wide,)))
    lay = Lay(name="m", parts=(part,), stock=Strip(width=200.0))
    (found,) = check(Marker(lay=lay, placements=(Placement(part=0, x=0, y=0, angle=0.0),)))
    assert found.kind == "mark"
    assert found.amount == pytest.approx(30.0, abs=0.05)
    assert "snap" in found.text


JOB = """
[job]
name = "Bag"
[[piece]]
name = "square"
SHAPE
[[cloth]]
name = "canvas"
width = 1000
[[cut]]
piece = "square"
material = "canvas"
"""


@pytest.mark.parametrize(
    "mark",
    [
        'kind = "drill"\nat = [50, 50]\nsize = "16 cm"',
        'kind = "notch"\nat = [50, 0]\nsize = "15 cm"',
        'kind = "line"\npoints = [[20, 20], [150, 20]]',
    ],
)
def test_a_job_with_a_mark_off_its_piece_is_refused(mark: str) -> None:
    shape = f"rectangle = [100, 100]\n[[piece.mark]]\n{mark}"
    with pytest.raises(JobError, match="is off the piece by") as caught:
        parse_job(JOB.replace("SHAPE", shape))
    assert caught.value.field == "piece.square.mark[1]"


SVG = """<svg xmlns="http://www.w3.org/2000/svg" width="300mm" height="900mm" viewBox="0 0 300 900">
<rect id="square" x="0" y="0" width="100" height="100" class="cut"/>
<g id="marks">{mark}</g></svg>"""


def test_what_a_file_draws_past_the_edge_is_cut_off_there_and_said(tmp_path: FilePath) -> None:
    mark = '<path d="M 20,20 L 150,20" stroke-dasharray="2" style="fill:none;stroke:#000"/>'
    (tmp_path / "p.svg").write_text(SVG.format(mark=mark))
    (tmp_path / "job.toml").write_text(JOB.replace("SHAPE", 'from = "p.svg"'))
    job = read_job(tmp_path / "job.toml")
    (piece,) = job.bags[0].pieces
    assert not marks_beyond(piece)
    (line,) = (mark.path for mark in piece.marks)
    assert line is not None
    assert max(x for x, _ in line.points(1.0)) == pytest.approx(100.0)
    assert (
        "square: a line runs 5 cm off it in the file and is cut off at its edge" in job.assumptions
    )
