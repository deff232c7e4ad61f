"""Shapes, marks and pieces as a job file has them."""

from __future__ import annotations

from typing import Any, Literal

from pydantic import Field

from nesting.job.fields import (
    Angle,
    Distance,
    FoldEdge,
    Grain,
    Listed,
    Name,
    Pair,
    SeamAllowance,
    Size,
    Table,
)

__all__ = ["MarkTable", "PieceTable", "Shape", "ShapeTable", "given"]


class Shape(Table):
    """One way to give a shape: path data, points, a rectangle, a circle or an ellipse."""

    outline: str | None = Field(
        None,
        description="SVG path data in mm, y upwards: lines, arcs and Bézier curves",
        examples=["M 0,0 L 300,0 L 280,200 C 200,240 100,240 20,200 Z"],
    )
    points: list[Pair] | None = Field(None, description="corners, joined by straight lines")
    rectangle: Pair | None = Field(None, description="[along x, along y]")
    corner_radius: Distance = Field(0.0, description="of the rectangle's corners")
    circle: Size | None = Field(None, description="diameter")
    ellipse: Pair | None = Field(None, description="[along x, along y]")
    at: Pair | None = Field(
        None,
        description="where: a rectangle's lower left corner, a circle's or ellipse's middle, "
        "otherwise how far the shape is moved",
    )


class ShapeTable(Shape):
    """A shape that stands alone: a cut-out, a flaw."""

    name: str = Field("", description="what it is, for the reader of the file")


class MarkTable(Shape):
    """Something to transfer to the cut part."""

    kind: Literal["notch", "drill", "line", "outline", "text"] = Field(description="what it is")
    name: str = Field("", description="for the label and the reader of the file")
    size: Size | None = Field(
        None,
        description="a notch's depth (default: 3 mm, at most half the seam allowance), a drill "
        "hole's diameter (default: a point), a text's height (default: 6 mm)",
    )
    width: Distance = Field(0.0, description="a notch's width at the edge (0: 3 mm)")
    angle: Angle | None = Field(
        None, description="a text's direction, or a notch's into the piece (default: square to it)"
    )
    style: Literal["slit", "v", "t", "castle", "check", "u"] = Field(
        "slit", description="a notch's shape"
    )
    mirrored: bool = Field(False, description="a one-sided notch the other way round")
    text: str = Field("", max_length=200, description="what is written")
    copies: Listed[int] | None = Field(
        None, description="numbers (from 1) of the copies that carry it; all if not given"
    )
    hands: Listed[Literal["right", "left"]] | None = Field(
        None, description="which of a mirrored pair carries it; both if not given"
    )
    materials: Listed[str] | None = Field(
        None, description="the materials that carry it; all if not given"
    )
    face: Literal["right", "wrong"] = Field(
        "right", description="the face of the material it belongs on"
    )


class PieceTable(Shape):
    """A pattern piece."""

    name: Name = Field(description="as on the labels")
    from_: str | None = Field(
        None, alias="from", description="a pattern file (DXF or SVG) to take the piece from"
    )
    piece: str | None = Field(None, description="the piece's name in that file, if it differs")
    size_name: str | None = Field(None, alias="size", description="the size to take from that file")
    file_unit: str | None = Field(None, description="the unit of that file's numbers")
    line: Literal["cutting", "sewing"] | None = Field(
        None, description="what the outline is: the cutting line (default) or the sewing line"
    )
    seam_allowance: SeamAllowance | None = Field(
        None,
        description="one length all round, or a table: `all` and edges by number, or for "
        "rectangles by name (default: 10 mm if the outline is the sewing line, else none)",
    )
    sewing_line: str | None = Field(
        None,
        description="the sewing line as SVG path data, where no seam allowance describes it",
    )
    grain: Grain | None = Field(
        None,
        description="direction of the lengthwise grain in the drawing, towards the end that is up "
        "(the top of a print): along (to the right, x, the default), across (upwards, y), bias, or "
        "degrees",
    )
    up_known: bool = Field(
        True,
        description="false: which end of the grain is up is not known, so it can't be cut from "
        "goods with a right way up (a piece from a file without an arrowhead is so until its "
        "grain is given here)",
    )
    fold_edge: FoldEdge | None = Field(
        None,
        description="the edge that lies on the fold, by number, name or two points: the outline "
        "is a half and is opened there",
    )
    fold_axis: list[Pair] | None = Field(
        None,
        min_length=2,
        max_length=2,
        description="two points of the line about which the piece, drawn whole, is symmetric",
    )
    fold_back: list[Pair] | None = Field(
        None,
        min_length=2,
        max_length=2,
        description="two points of the line at which a shorter variant is folded back: what is "
        "on the left of it, going from the first to the second, is folded away",
    )
    strap: Pair | None = Field(
        None,
        description="instead of a shape: [length, finished width] of a strap folded in four; it is "
        "four times as wide, and its folds are marked",
    )
    binding: Pair | None = Field(
        None,
        description="instead of a shape: [length, width] of a bias binding cut round and round; "
        "gives the square it is cut from, the seam allowance of its seams added",
    )
    hole: list[ShapeTable] = Field([], description="cut-outs")
    motif: Pair | None = Field(
        None, description="the point to centre a print's motif on (default: the middle)"
    )
    named_points: dict[str, Pair] = Field(
        {}, description="points with names, such as the ends of seams to be matched"
    )
    mark: list[MarkTable] = Field([], description="what is to be transferred")
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
