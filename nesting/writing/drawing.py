"""One neutral drawing that every writer draws from, in mm, y upwards."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from nesting.pattern.path import Path, Point
from nesting.pattern.piece import Face

__all__ = ["Drawing", "Hole", "Label", "Operation", "Stroke"]


class Operation(StrEnum):
    """What is done along a stroke: the layers of every file."""

    CUT = "cut"
    NOTCH = "notch"
    DRILL = "drill"
    MARK = "mark"
    TEXT = "text"
    EDGE = "edge"
    """The cloth's or sheet's edge, flaws and zones: to look at, not to run."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Stroke:
    """A path and what is done along it. `part`: index of the lay's part, if of one.

    `inner`: a cut-out inside a part, to be cut before its outline.
    """

    operation: Operation
    path: Path
    part: int | None = None
    inner: bool = False
    face: Face = Face.RIGHT


@dataclass(frozen=True, slots=True, kw_only=True)
class Hole:
    """A drill hole: centre and diameter (mm; 0 is a point)."""

    at: Point
    diameter: float
    part: int | None = None
    face: Face = Face.RIGHT


@dataclass(frozen=True, slots=True, kw_only=True)
class Label:
    """A line of text: anchor (middle), height (mm), direction (degrees)."""

    text: str
    at: Point
    height: float
    angle: float = 0.0
    operation: Operation = Operation.TEXT
    part: int | None = None
    face: Face = Face.RIGHT


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawing:
    """Everything that is drawn of one marker (or one sheet of it), within 0…length × 0…width."""

    name: str
    length: float
    width: float
    strokes: tuple[Stroke, ...] = ()
    holes: tuple[Hole, ...] = ()
    labels: tuple[Label, ...] = ()
