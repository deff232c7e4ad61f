"""Marks of a job file that are placed from the middle of a piece or from its edges."""

from __future__ import annotations

from pathlib import Path

import pytest

from nesting import parse_job, read_job
from nesting.errors import JobError
from nesting.pattern.measure import bounds
from nesting.pattern.piece import Piece

JOB = """
[job]
name = "made-up"
{unit}
[[cloth]]
name = "canvas"
width = "60 cm"
[[piece]]
name = "front"
{piece}
    [[piece.mark]]
    {mark}
[[cut]]
piece = "front"
material = "canvas"
"""
RECTANGLE = 'rectangle = ["24 cm", "18 cm"]'


def piece_of(mark: str, *, piece: str = RECTANGLE, unit: str = "") -> Piece:
    return parse_job(JOB.format(piece=piece, mark=mark, unit=unit)).bags[0].pieces[0]


@pytest.mark.parametrize(
    ("mark", "at"),
    [
        ('kind = "drill"\nedge = "top"\nin = "30 mm"', (120, 150)),
        ('kind = "drill"\nedge = "top"\nalong = "40 mm"\nin = "3 cm"', (40, 150)),
        ('kind = "drill"\nedge = 3\nalong = "-40 mm"\nin = "3 cm"', (200, 150)),
        ('kind = "drill"\nfrom_centre = ["2 cm", "-1 cm"]', (140, 80)),
        ('kind = "notch"\nedge = "left"', (0, 90)),
        ('kind = "text"\ntext = "x"\nedge = "right"\nin = 20', (220, 90)),
    ],
)
def test_a_mark_lies_where_one_sees_it(mark: str, at: tuple[float, float]) -> None:
    (found,) = piece_of(mark).marks
    assert found.at == pytest.approx(at)


@pytest.mark.parametrize(
    ("mark", "box"),
    [
        # A pocket that begins 3 cm below the top, in the middle; one in the middle of the piece.
        ('kind = "outline"\nrectangle = [100, 60]\nedge = "top"\nin = 30', (70, 90, 170, 150)),
        ('kind = "outline"\nrectangle = [100, 60]\nfrom_centre = [0, 0]', (70, 60, 170, 120)),
        ('kind = "outline"\ncircle = 40\nedge = "left"\nin = 10\nalong = 50', (10, 30, 50, 70)),
        ('kind = "line"\npoints = [[0, 0], [50, 0]]\nedge = "bottom"\nin = 25', (95, 25, 145, 25)),
    ],
)
def test_a_shape_begins_so_far_from_its_edge(mark: str, box: tuple[float, ...]) -> None:
    (found,) = piece_of(mark).marks
    assert found.path is not None
    assert bounds(found.path) == pytest.approx(box)


def test_a_seam_allowance_does_not_move_what_is_measured_from_the_drawn_line() -> None:
    piece = piece_of(
        'kind = "drill"\nedge = "top"\nin = "30 mm"',
        piece=RECTANGLE + '\nline = "sewing"\nseam_allowance = "10 mm"',
    )
    assert piece.marks[0].at == pytest.approx((120, 150))
    assert bounds(piece.cut) == pytest.approx((-10, -10, 250, 190))
    notch = piece_of(
        'kind = "notch"\nedge = "top"',
        piece=RECTANGLE + '\nline = "sewing"\nseam_allowance = "10 mm"',
    ).marks[0]
    assert notch.at == pytest.approx((120, 190))  # it is cut into the edge


def test_a_piece_from_a_pattern_file_is_measured_alike(tmp_path: Path) -> None:
    (tmp_path / "front.svg").write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="400mm" height="300mm" '
        'viewBox="0 0 400 300"><path id="front" d="M 50,40 H 290 V 220 H 50 Z" '
        'fill="none" stroke="black"/></svg>'
    )
    text = JOB.format(
        unit="", piece='from = "front.svg"', mark='kind = "drill"\nedge = "top"\nin = "30 mm"'
    )
    (tmp_path / "job.toml").write_text(text)
    job = read_job(tmp_path / "job.toml")
    assert job.bags[0].pieces[0].marks[0].at == pytest.approx((120, 150))
    assert not any("lower left corner" in said for said in job.assumptions)


@pytest.mark.parametrize(
    ("mark", "said"),
    [
        (
            'kind = "drill"\nat = [1, 2]\nedge = "top"',
            "edge: its place is given twice, by at and edge (leave one of them out)",
        ),
        (
            'kind = "drill"\nfrom_centre = [1, 2]\nedge = "top"',
            "given twice, by from_centre and edge",
        ),
        (
            'kind = "drill"\nat = [1, 2]\nalong = 5',
            'along: "along" is measured from an edge (give edge = "top")',
        ),
        ('kind = "drill"\nfrom_centre = [0, 0]\nin = 5', 'in: "in" is measured from an edge'),
        ('kind = "drill"', 'the drill has no place (give at = ["3 cm", "5 cm"], or edge = "top")'),
        ('kind = "notch"\nedge = "top"\nin = 5', "in: a notch lies on the edge (leave it out)"),
        ('kind = "drill"\nedge = "topp"', "must be an edge: top, right, bottom or left, or its"),
        ('kind = "drill"\nedge = 7', "edge: there is no edge 7: the outline has 4"),
        ('kind = "drill"\nedge = "top"\nin = "20 cm"', "is off the piece by 2 cm"),
        ('kind = "drill"\nedge = "top"\nalong = "30 cm"', "edge: the edge is 240 mm long"),
    ],
)
def test_what_can_t_be_measured_is_one_line_with_its_place(mark: str, said: str) -> None:
    with pytest.raises(JobError) as caught:
        piece_of(mark)
    assert said in str(caught.value)
    assert "piece.front.mark" in str(caught.value)
    assert "\n" not in str(caught.value)


def test_in_a_job_in_inches_an_edge_is_told_in_inches() -> None:
    with pytest.raises(JobError, match=r"the edge is 10 in long"):
        piece_of(
            'kind = "drill"\nedge = "top"\nalong = 12',
            piece="rectangle = [10, 8]",
            unit='unit = "in"',
        )
