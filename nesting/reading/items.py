"""What a pattern file draws, before it is known which piece it belongs to."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, field, replace
from enum import StrEnum

from nesting.errors import PatternError
from nesting.pattern.path import Affine, Arc, Bezier, Line, Path, Point, Segment
from nesting.pattern.piece import NotchStyle

__all__ = [
    "CLOSE",
    "MAX_POINTS",
    "MOST_LOOSE",
    "WORDS",
    "Group",
    "Item",
    "Role",
    "clean",
    "reference_length",
    "role_of",
    "too_many_loose",
    "transformed_item",
]

CLOSE = 1.0
"""Widest gap (mm) over which an open outline is closed, and reported; common practice,
no source."""

MAX_POINTS = 100_000
"""Most points of one outline; a cutter resolves no more."""

MOST_LOOSE = 50_000
"""No layer of a group may have more lines that have to be joined."""


class Role(StrEnum):
    """What something in a pattern file is for."""

    ANY = "any"
    """Not said: closed contours are outlines and cut-outs, open ones lines to draw."""
    CUT = "cut"
    HOLE = "hole"
    SEW = "sew"
    GRAIN = "grain"
    FOLD = "fold"
    LINE = "line"
    NOTCH = "notch"
    DRILL = "drill"
    STRIPE = "stripe"
    PLAID = "plaid"
    TEXT = "text"
    TURN = "turn"
    CURVE = "curve"
    CHECK = "check"
    REFERENCE = "reference"
    IGNORE = "ignore"


# Only words that are no names of pieces: a label, an edge or a frame can be one.
WORDS: dict[Role, str] = {
    Role.CUT: "cut|cuts|cutting|cuttingline|cutline|outline|boundary|contour",
    Role.HOLE: "hole|holes|cutout|cutouts|innercut",
    Role.SEW: "sew|sewing|sewingline|sewline|seam|seamline|stitch|stitching|stitchline"
    "|stitchingline",
    Role.GRAIN: "grain|grainline|straightgrain",
    Role.FOLD: "fold|foldline|mirror|mirrorline|onfold",
    Role.LINE: "line|lines|mark|marks|marking|placement|placementline|internal|draw|pen|score",
    Role.NOTCH: "notch|notches",
    Role.DRILL: "drill|drills|drillhole|drillholes|punch",
    Role.STRIPE: "stripe|stripeline",
    Role.PLAID: "plaid|plaidline|check|checkline",
    Role.TEXT: "text|texts|annotation|annotations",
    Role.REFERENCE: "reference|referenceline|scalebar|scale|checksquare|testsquare",
    Role.IGNORE: "ignore|guide|guides|pageborder|defpoints|dimensions|dimension",
}
_ROLES = {word: role for role, words in WORDS.items() for word in words.split("|")}


def role_of(label: str, *, owner: str = "") -> Role | None:
    """Return the role that a layer name, class, id or title names, if it names one.

    "cut", "Cutting line", "sew 2", "sew_line", "Seam_lines" do; "Front pocket line" is a name. With
    `owner`, the name of the piece may stand before: "front.sew", "front-sew-2".
    """
    if reference_length(label) is not None:
        return Role.REFERENCE
    text = label.strip().lower()
    if owner and text.startswith(owner.strip().lower()):
        text = text[len(owner.strip()) :]
    word = re.sub(r"[\W_\d]+", "", text)
    return _ROLES.get(word) or _ROLES.get(word.removesuffix("s"))


def reference_length(label: str) -> float | None:
    """Return the length (mm) that a label states for itself: "reference 100 mm", "scale 4 in"."""
    match = _REFERENCE.fullmatch(label)
    if not match:
        return None
    return float(match[1].replace(",", ".")) * {"mm": 1.0, "cm": 10.0, "in": 25.4}[match[2].lower()]


_REFERENCE = re.compile(
    r"\s*(?:reference|scale|check|test)[ _-]?(?:line|bar|square)?[ _-]?(?:of )?"
    r"(\d{1,4}(?:[.,]\d{1,3})?)[ _-]?(mm|cm|in)\s*",
    re.IGNORECASE,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Item:
    """One drawn thing: a path, a point or a text, with what the file says about it.

    `size`, `width`: depth and width of a notch, diameter of a drill hole, height of a text, in the
    unit of the coordinates. `angle`: degrees. `label`: the name the thing itself has. `layer`: the
    layer it lies on. `dash`: "dashed" or its like, if the file tells. `once`: not mirrored when a
    half piece is opened. `square`: a notch follows the edge, however it is drawn; `told`: its size
    is what is said, not what is drawn. `known`: the true length (mm) that a reference states for
    itself. `along`, `up`: where on a text its place is, as shares of its width and of its
    capitals' height. `line`: where it stands in the file, from 1. `off`: how far (mm) it may lie
    from where it is given, in a picture.
    """

    role: Role
    path: Path | None = None
    at: Point | None = None
    text: str = ""
    size: float = 0.0
    width: float = 0.0
    angle: float | None = None
    style: NotchStyle = NotchStyle.SLIT
    label: str = ""
    layer: str = ""
    dash: str = ""
    once: bool = False
    square: bool = False
    told: bool = False
    known: float | None = None
    along: float = 0.0
    up: float = 0.0
    line: int | None = None
    off: float | None = None


@dataclass(slots=True, kw_only=True)
class Group:
    """What a file keeps together: a block, a group, or all that lies loose."""

    name: str
    items: list[Item] = field(default_factory=list)
    loose: bool = False
    """Whether nothing but its place tells what belongs to which piece."""


def transformed_item(item: Item, by: Affine) -> Item:
    """Return the item mapped by a map that keeps shapes (turn, mirror, scale, move)."""
    factor = math.sqrt(abs(by.a * by.d - by.b * by.c))
    angle = item.angle
    if angle is not None:
        x, y = by.vector((math.cos(math.radians(angle)), math.sin(math.radians(angle))))
        if (by.b, by.c) != (0.0, 0.0) or by.a <= 0.0 or by.d <= 0.0:
            angle = math.degrees(math.atan2(y, x))
    return replace(
        item,
        path=item.path.transformed(by) if item.path else None,
        at=by(item.at) if item.at else None,
        size=item.size * factor,
        width=item.width * factor,
        angle=angle,
    )


def clean(segments: list[Segment], *, line: int | None = None) -> Path | None:
    """Make a path without segments of no length; None if nothing is left.

    Raises
    ------
    PatternError
        If a coordinate is no number or beyond 10⁹, or there are too many points.

    """
    if len(segments) > MAX_POINTS:
        raise PatternError(
            f"an outline of {len(segments):,} points", line=line, hint=f"at most {MAX_POINTS:,}"
        )
    kept: list[Segment] = []
    for segment in segments:
        if isinstance(segment, Line):
            (x0, y0), (x1, y1) = segment.start, segment.end
            if not (abs(x0) < 1e9 and abs(y0) < 1e9 and abs(x1) < 1e9 and abs(y1) < 1e9):
                raise PatternError(
                    "a coordinate is not a usable number",
                    line=line,
                    hint="save the drawing anew, or mend that line",
                )
            if segment.start != segment.end:
                kept.append(segment)
        elif not all(abs(value) < 1e9 for value in _numbers(segment)):  # also false for NaN
            raise PatternError(
                "a coordinate is not a usable number",
                line=line,
                hint="save the drawing anew, or mend that line",
            )
        elif isinstance(segment, Arc):
            if segment.sweep != 0.0 and (segment.u != (0.0, 0.0) or segment.v != (0.0, 0.0)):
                kept.append(segment)
        elif not segment.start == segment.first == segment.second == segment.end:
            kept.append(segment)
    return Path(tuple(kept)) if kept else None


def _numbers(segment: Arc | Bezier) -> tuple[float, ...]:
    if isinstance(segment, Arc):
        return (*segment.centre, *segment.u, *segment.v, segment.begin, segment.sweep)
    return (*segment.start, *segment.first, *segment.second, *segment.end)


def too_many_loose() -> PatternError:
    """Return the refusal of a crowd of lines that would have to be joined to outlines."""
    return PatternError(
        f"more than {MOST_LOOSE:,} loose lines lie together", hint="join them to outlines"
    )
