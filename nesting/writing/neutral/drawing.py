"""One neutral drawing that every writer draws from, in mm, y upwards."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from string import ascii_lowercase

from nesting.marker.lay import Part
from nesting.material.picture import Picture
from nesting.pattern.path import Affine, Path, Point
from nesting.pattern.piece import Face
from nesting.tolerance import TOLERANCE
from nesting.writing.neutral.keys import Keys

__all__ = [
    "Box",
    "Drawing",
    "Hole",
    "Label",
    "Operation",
    "Role",
    "Shown",
    "Stroke",
    "by_key",
    "legend",
]


Box = tuple[float, float, float, float]
"""x0, y0, x1, y1 (mm)."""


class Operation(StrEnum):
    """What is done along a stroke: the layers of every file."""

    CUT = "cut"
    NOTCH = "notch"
    DRILL = "drill"
    MARK = "mark"
    TEXT = "text"
    SEW = "sew"
    """The seam line: to look at, never run."""
    MATCH = "match"
    """Middles of motifs and named points of what is laid to a print: to look at, not to run."""
    EDGE = "edge"
    """The cloth's or sheet's edge, flaws and zones: to look at, not to run."""


class Role(StrEnum):
    """What a stroke is, where what is done along it doesn't tell."""

    OTHER = ""
    CLOTH = "cloth"
    """The whole of the cloth: with selvedges and ends."""
    USABLE = "usable"
    SHEET = "sheet"
    FLAW = "flaw"
    FOLD = "fold"
    REPEAT = "repeat"
    """Lines and rings of a print."""
    BORDER = "border"
    """Of a zone or a load, which its name tells."""
    LEADER = "leader"
    """From a name to what it names."""
    CHAIN = "chain"
    """Through what holds a marker's length."""
    MOTIF = "motif"
    POINT = "point"
    GRAIN = "grain"
    SHARED = "common line"
    """An outline of which a stretch is another's, too."""
    REGISTER = "register"
    """A mark by which the next window is laid."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Stroke:
    """A path and what is done along it. `part`: index of the lay's part, if of one.

    `inner`: a cut-out inside a part, to be cut before its outline. `face`: the face of
    the material it belongs on; `under`: that face lies underneath, so it can't be done
    from above. `name`: for people, the mark's or the zone's own. `line`: the number of the
    line of text that it is a letter of; `name` is the text then. `size`: of a pattern whose sizes
    are drawn one within the other.
    """

    operation: Operation
    path: Path
    part: int | None = None
    inner: bool = False
    face: Face = Face.RIGHT
    under: bool = False
    role: Role = Role.OTHER
    name: str = ""
    line: int | None = None
    size: str = ""

    @property
    def called(self) -> str:
        """What people call it."""
        return self.name or self.role

    @property
    def layer(self) -> str:
        """The layer it is on: what is done, and how it differs."""
        return _layer(self.operation, inner=self.inner, under=self.under)


@dataclass(frozen=True, slots=True, kw_only=True)
class Hole:
    """A drill hole: centre and diameter (mm; 0 is a point); `under`, `size` as for a stroke."""

    at: Point
    diameter: float
    part: int | None = None
    face: Face = Face.RIGHT
    under: bool = False
    size: str = ""

    @property
    def layer(self) -> str:
        """The layer it is on."""
        return _layer(Operation.DRILL, under=self.under)


@dataclass(frozen=True, slots=True, kw_only=True)
class Label:
    """A line of text: middle of its capitals, their height (mm), direction (degrees).

    `key`: the key that stands in it for a piece's name.
    """

    text: str
    at: Point
    height: float
    angle: float = 0.0
    operation: Operation = Operation.TEXT
    part: int | None = None
    face: Face = Face.RIGHT
    under: bool = False
    key: str = ""

    @property
    def layer(self) -> str:
        """The layer it is on."""
        return _layer(self.operation, under=self.under)


def _layer(operation: Operation, *, inner: bool = False, under: bool = False) -> str:
    return operation.value + ("-inner" if inner else "") + ("-underside" if under else "")


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """A picture of the goods under the parts: `place` maps its own axes (mm, y down) to these.

    `within`: outlines beyond which it is not shown. `along`, `across`: after how much (mm) it is
    shown again, every other row moved along by `shift`; None: once only that way.
    """

    picture: Picture
    place: Affine
    within: tuple[Path, ...]
    along: float | None = None
    across: float | None = None
    shift: float = 0.0

    @property
    def repeats(self) -> bool:
        """Whether it is shown over and over."""
        return self.along is not None

    @property
    def tile(self) -> Point | None:
        """How long and high the part of it is (mm) that comes again and again, if one does."""
        if self.along is None or self.across is None:
            return None
        return (self.along, (2.0 if self.shift else 1.0) * self.across)

    @property
    def places(self) -> tuple[Point, ...]:
        """Where its upper left corner lies in its own axes, on one tile of it."""
        if self.tile is None or self.along is None or self.across is None or not self.shift:
            return ((0.0, 0.0),)
        # Of the other row, which lies above: rows are counted downwards here.
        others = (self.shift - k * self.along for k in range(2))
        return ((0.0, 0.0), *((x, self.across) for x in others))


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawing:
    """Everything that is drawn of one marker (or one sheet of it).

    Parts lie within 0…length × 0…width on cloth and within the outline on a sheet;
    selvedges and ends lie outside. `parts`: the lay's parts, which a stroke's `part`
    is an index of. `keys`: of their pieces, which colours follow, too. `notes`: what every
    file has to say, one sentence each. `frame`: what is shown of it (x0, y0, x1, y1; mm), if
    not all. `corner`: the goods' lower left one, if not the origin. `shown`: a picture of
    the goods, to look at and never to run. `sizes`: of a pattern, if it shows several.
    """

    name: str
    length: float
    width: float
    strokes: tuple[Stroke, ...] = ()
    holes: tuple[Hole, ...] = ()
    labels: tuple[Label, ...] = ()
    parts: tuple[Part, ...] = ()
    keys: Keys = field(default_factory=Keys)
    notes: tuple[str, ...] = ()
    frame: Box | None = None
    corner: Point = (0.0, 0.0)
    shown: Shown | None = None
    sizes: tuple[str, ...] = ()

    @property
    def legend(self) -> tuple[tuple[str, str], ...]:
        """The keys that stand in the labels for names, and what each means."""
        return legend(self.labels, self.parts, self.keys)

    def cut_outs(self) -> defaultdict[int | None, list[Path]]:
        """Return the cut-outs of every part that has any."""
        found: defaultdict[int | None, list[Path]] = defaultdict(list)
        for stroke in self.strokes:
            if stroke.inner:
                found[stroke.part].append(stroke.path)
        return found

    @property
    def box(self) -> Box:
        """The frame, or the box (mm) around every stroke and the goods, length × width."""
        if self.frame is not None:
            return self.frame
        points = [self.corner, (self.length, self.width)]
        for stroke in self.strokes:
            points.extend(stroke.path.points_once(TOLERANCE.search_chord))
        for label in self.labels:
            (x, y), h = label.at, label.height
            points += [(x, y - h), (x, y + h)]
        xs, ys = [x for x, _ in points], [y for _, y in points]
        return (min(xs), min(ys), max(xs), max(ys))


def legend(
    labels: Iterable[Label], parts: Sequence[Part], keys: Keys
) -> tuple[tuple[str, str], ...]:
    """Return each key that stands in some labels for a name, and its meaning, in order."""
    shown = {
        label.key: keys.meaning(parts[label.part])
        for label in labels
        if label.key and label.part is not None
    }
    return tuple(sorted(shown.items(), key=by_key))


def by_key(item: tuple[str, str]) -> tuple[int, str]:
    """Put keys, and what they mean, in order: Z before AA."""
    return len(item[0].rstrip(ascii_lowercase)), item[0]
