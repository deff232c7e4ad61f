"""Shapes, marks and pieces as a job file has them."""

from __future__ import annotations

from typing import Any, Literal

from pydantic import Field

from nesting.job.tables.fields import (
    Angle,
    Distance,
    FoldEdge,
    Grain,
    Length,
    Listed,
    Name,
    Pair,
    Reference,
    SeamAllowance,
    Side,
    Size,
    Table,
    UnitWord,
)

__all__ = ["InSizeTable", "MarkTable", "PieceTable", "Shape", "ShapeTable", "given"]


class Shape(Table):
    """One way to give a shape: path data, points, a rectangle, a circle or an ellipse."""

    outline: str | None = Field(
        None,
        description="the outline as SVG path data: numbers in mm unless `path_unit` says "
        "otherwise, y upwards; lines, arcs and Bézier curves",
        examples=["M 0,0 L 300,0 L 280,200 C 200,240 100,240 20,200 Z"],
    )
    path_unit: UnitWord | None = Field(
        None, description="the unit of the numbers in its path data (default: mm)"
    )
    points: list[Pair] | None = Field(
        None, description="the corners in turn, joined by straight lines"
    )
    rectangle: Pair | None = Field(None, description="how long along x and how high along y")
    corner_radius: Distance = Field(0.0, description="rounds the corners of the rectangle")
    circle: Size | None = Field(None, description="its diameter")
    ellipse: Pair | None = Field(None, description="how long along x and how high along y")
    at: Pair | None = Field(
        None,
        description="where it is put: the lower left corner of a rectangle, the middle of a "
        "circle or an ellipse; an outline or points are moved by so much",
    )


class ShapeTable(Shape):
    """A shape that stands alone: a cut-out, a flaw."""

    name: str = Field("", description="what it is, for the reader of the file")


class MarkTable(Shape):
    """Something to transfer to the cut part."""

    kind: Literal["notch", "drill", "line", "outline", "text"] = Field(
        description="notch: a small cut in the edge; drill: a hole; line and outline: drawn on; "
        "text: written on"
    )
    name: str = Field("", description="for the label and the reader of the file")
    from_centre: Pair | None = Field(
        None,
        description="instead of `at`: its middle, measured from the middle of the piece as you"
        " drew it: to the right, upwards",
    )
    edge: Side | None = Field(
        None,
        description="instead of `at`: the edge of the piece, as you drew it, that its place is"
        " measured from",
    )
    in_: Distance | None = Field(
        None,
        alias="in",
        description="with `edge`: how far in from it, square to it; an outline or a line begins"
        " there (default: on the edge)",
    )
    along: Length | None = Field(
        None,
        description="with `edge`: how far along it from its left end (of an upright edge its lower"
        " end), with a minus from the other end (default: its middle)",
    )
    size: Size | None = Field(
        None,
        description="how deep a notch is (default: 3 mm, at most half the seam allowance), how "
        "wide a drill hole (default: a point), how high the letters of a text "
        "(default: 6 mm)",
    )
    width: Distance = Field(0.0, description="how wide a notch is at the edge (0: 3 mm)")
    angle: Angle | None = Field(
        None,
        description="which way a text runs, or a notch points into the piece (default: square to "
        "the edge)",
    )
    style: Literal["slit", "v", "t", "castle", "check", "u"] = Field(
        "slit", description="a notch's shape"
    )
    mirrored: bool = Field(
        False, description="a check notch, which has one slanting side, the other way round"
    )
    text: str = Field("", max_length=200, description="what is written")
    copies: Listed[int] | None = Field(
        None,
        description="which copies carry it, counted from 1: `copies = 1` marks the first front "
        "only (default: all)",
    )
    hands: Listed[Literal["right", "left"]] | None = Field(
        None, description="right or left: which piece of a mirrored pair carries it (default: both)"
    )
    materials: Listed[str] | None = Field(
        None, description="the materials on which it is marked (default: all)"
    )
    face: Literal["right", "wrong"] = Field(
        "right", description="the face of the material it is marked on"
    )


class InSizeTable(Shape):
    """What differs in one of the job's sizes: another shape, or where it stands in the file."""

    piece: str | None = Field(
        None, description="the piece's name in the pattern file, if it differs in this size"
    )
    size_name: str | None = Field(
        None, alias="size", description="what that file calls this size, if it differs"
    )
    strap: Pair | None = Field(None, description="length and finished width of a strap")
    binding: Pair | None = Field(None, description="length and width of a bias binding")


class PieceTable(Shape):
    """A pattern piece."""

    name: Name = Field(description="as on the labels")
    from_: str | None = Field(
        None,
        alias="from",
        description="a pattern file (DXF, SVG or PDF), a scan or a photograph (PNG, JPEG) to take "
        "the piece from; places on it are "
        "then measured from the lower left corner of its outline",
    )
    piece: str | None = Field(None, description="the piece's name in that file, if it differs")
    size_name: str | None = Field(
        None, alias="size", description="which size to take, where that file holds several"
    )
    sized: bool = Field(
        False,
        description="that file holds the piece in each of the job's `sizes`: it is taken in the one"
        " that is made",
    )
    in_size: dict[str, InSizeTable] = Field(
        {},
        description="what differs in one of the job's sizes, by its name:"
        ' `{ L = { rectangle = ["40 cm", "6 cm"] } }`',
    )
    file_unit: str | None = Field(
        None, description="the unit the file is drawn in, if it doesn't say so, or says it wrongly"
    )
    file_reference: Reference | None = Field(
        None,
        description='how long the check square of that file truly is: `"5 cm"`; or another line'
        ' drawn in it, by its label or the text beside it: `"my ruler=30 cm"`. It outweighs'
        ' `file_unit` and what the file says. What gives a picture its scale: `"A4"`, '
        '`"5 cm square"`, `"150 dpi"`',
    )
    file_line: Literal["middle", "outside"] | None = Field(
        None,
        description="the piece is drawn with a pen in that picture: the middle of the line is its "
        "outline, or the line's outside",
    )
    line: Literal["cutting", "sewing"] | None = Field(
        None,
        description="what you drew: the line to cut along (default) or the line to sew along, to "
        "which the seam allowance is then added",
    )
    seam_allowance: SeamAllowance | None = Field(
        None,
        description="how much is added outside the sewing line: one length all round, or a "
        'section such as `{ all = "10 mm", 3 = "25 mm" }` with edges by number, or '
        "for rectangles by name (default: 10 mm if the sewing line was drawn, else "
        "none)",
    )
    sewing_line: str | None = Field(
        None,
        description="the line to sew along as SVG path data (in `path_unit`), where it does not"
        " follow the cutting line at one distance",
    )
    grain: Grain | None = Field(
        None,
        description="which way the lengthwise grain of the goods runs on the piece: along (to the"
        " right, the default), across (upwards), bias, or degrees. It points to the "
        "end that is up: the top of a print",
    )
    up_known: bool = Field(
        True,
        description="false: you don't know which end of the grain is up. The piece is then not "
        "cut from goods with a right way up. A piece from a file without an arrowhead"
        " is so until you say its grain here",
    )
    fold_edge: FoldEdge | None = Field(
        None,
        description="you drew half a piece: the edge that lies on the fold, by number, name or "
        "two points. The other half is added",
    )
    fold_axis: list[Pair] | None = Field(
        None,
        min_length=2,
        max_length=2,
        description="you drew the whole of a piece with two equal halves: two points of the line "
        "between them",
    )
    fold_back: list[Pair] | None = Field(
        None,
        min_length=2,
        max_length=2,
        description="two points of a line at which a shorter version of the piece ends (see "
        "`folded_back` of a cut). Seen from the first to the second point, what lies "
        "on the left is left out",
    )
    strap: Pair | None = Field(
        None,
        description="instead of a shape: length and finished width of a strap that is folded in "
        "four. It is cut four times as wide, and its folds are marked",
    )
    binding: Pair | None = Field(
        None,
        description="instead of a shape: length and width of a bias binding that is cut round and"
        " round from a sewn-up square. The piece is that square, seams included",
    )
    hole: list[ShapeTable] = Field([], description="what is cut out of it")
    motif: Pair | None = Field(
        None,
        description="the point that should lie on the middle of the print's motif, for cuts with "
        "`centred` (default: the middle of the piece)",
    )
    named_points: dict[str, Pair] = Field(
        {},
        description="points you name, such as the ends of a seam across which a print runs on: `{"
        " top = [0, 180] }`",
    )
    marks_left_out: list[int] = Field(
        [],
        description="marks of the pattern file that are not taken, by number, counted from 1 in its"
        " order",
    )
    mark: list[MarkTable] = Field([], description="what is marked on it for sewing")
    notes: str = Field("", description="for the reader of the file; not used")


def given(shape: Shape) -> list[str]:
    """Return which ways of giving a shape were used."""
    ways: dict[str, Any] = {
        "outline": shape.outline,
        "points": shape.points,
        "rectangle": shape.rectangle,
        "circle": shape.circle,
        "ellipse": shape.ellipse,
    }
    return [way for way, value in ways.items() if value is not None]
