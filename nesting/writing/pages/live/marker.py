"""A marker as plain data for a page on which parts are moved: what each line is, and where.

How it looks is the page's own; nothing here is markup, so that names stay text.

A drawing has ``box`` (x, y, width, height), ``shown`` (a picture of the goods, see
`live_shown`), ``ground`` (of the goods) and ``parts``, all of which have the same three lists:
``lines`` (``is``: what it is, ``d``: SVG path data, ``name``, ``under``: on the face that lies
down), ``holes`` and ``texts``. All is in mm, y downwards as on a screen.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable

from nesting.errors import JobError
from nesting.marker.marker import Marker
from nesting.pattern.affine import Affine, Point
from nesting.pattern.polygon import piece_polygon
from nesting.pattern.svg_path import format_path
from nesting.planning.plan import Entry
from nesting.writing.files import one_line
from nesting.writing.neutral.draw import draw, draw_grounds
from nesting.writing.neutral.drawing import Drawing, Hole, Label, Operation, Stroke
from nesting.writing.neutral.font import text_width
from nesting.writing.neutral.keys import Keys
from nesting.writing.neutral.lettering import Lettering
from nesting.writing.neutral.look import piece_colour
from nesting.writing.neutral.naming import naming, shared_names
from nesting.writing.pages.live.shown import live_shown

__all__ = ["drawn_of", "live_ground", "live_marker", "live_part", "part_box"]

Json = dict[str, object]

_ACROSS = 300.0  # mm: about as wide as a page on a screen
_READABLE, _TALLEST = 2.5, 5.0  # mm of capitals: on the goods, for it is zoomed; on the screen
_DOWN = Affine.mirror()
_BARE = Lettering(names=False, readable=1e3, arrows=False, leaders=False, see_through=False)


def live_marker(
    entry: Entry, *, sheet: int = 0, keys: Keys | None = None, names: bool = True
) -> Json:
    """Return one ground of a marker, and all parts on it.

    `keys`: of the job's pieces, whose colours follow them. `names`: write them on the parts, for
    which room has to be found: without, it is there at once.
    """
    drawing = draw(
        entry.marker,
        sheet=sheet,
        material=entry.material,
        width=entry.width,
        keys=keys,
        lettering=_lettering(entry, sheet) if names else _BARE,
        loads=entry.loads,
        shared=shared_names(entry.bags),
    )
    on_it = [p.part for p in entry.marker.placements if p.sheet == sheet]
    drawn = _Drawn(drawing)
    ground = drawn.ground() if names else live_ground(entry, sheet=sheet)
    return {**ground, "parts": [drawn.part(part) for part in on_it]}


def live_ground(entry: Entry, *, sheet: int = 0) -> Json:
    """Return one ground of a marker as `live_marker` does, without parts."""
    return _Drawn(draw_grounds(entry)[sheet]).ground()


def live_part(entry: Entry, part: int, *, keys: Keys | None = None) -> Json:
    """Return one part of a marker as `live_marker` does; `part`: its index in the lay."""
    (placement,) = (p for p in entry.marker.placements if p.part == part)
    lay, sheet = entry.marker.lay, placement.sheet
    alone = Marker(lay=lay, placements=(placement,), sheets=entry.marker.sheets)
    lettering = _lettering(entry, sheet)
    drawing = draw(
        alone,
        sheet=sheet,
        material=entry.material,
        width=entry.width,
        keys=keys,
        lettering=lettering,
        shared=shared_names(entry.bags),
    )
    return drawn_of(drawing, part)


def part_box(entry: Entry, part: int) -> list[float]:
    """Return what a part that lies takes up: (x, y, width, height), mm, y downwards.

    Raises
    ------
    JobError
        It does not lie on the marker.

    """
    for placement in entry.marker.placements:
        if placement.part == part:
            piece = entry.marker.lay.parts[part].piece
            x0, y0, x1, y1 = piece_polygon(piece, by=placement.affine).bounds
            return [x0, -y1, x1 - x0, y1 - y0]
    raise JobError("this part does not lie on the marker", hint="load the page again")


def _lettering(entry: Entry, sheet: int) -> Lettering:
    x0, y0, x1, y1 = draw_grounds(entry)[sheet].box
    tallest = _TALLEST * max(x1 - x0, y1 - y0, 1.0) / _ACROSS
    readable = min(_READABLE, tallest)
    return Lettering(
        tallest=tallest, readable=readable, clear=0.2 * readable, leaders=False, see_through=False
    )


def drawn_of(drawing: Drawing, part: int) -> Json:
    """Return one part of a drawing; `part`: its index in the lay."""
    return _Drawn(drawing).part(part)


class _Drawn:
    """A drawing, sorted by its parts once."""

    def __init__(self, drawing: Drawing) -> None:
        self._drawing = drawing
        self._names = naming(drawing.parts, keys=drawing.keys)
        self._lines = defaultdict[int | None, list[Stroke]](list)
        self._holes = defaultdict[int | None, list[Json]](list)
        self._texts = defaultdict[int | None, list[Json]](list)
        for stroke in drawing.strokes:
            self._lines[stroke.part].append(stroke)
        for hole in drawing.holes:
            self._holes[hole.part].append(_hole(hole))
        for label in drawing.labels:
            self._texts[label.part].append(_text(label))

    def ground(self) -> Json:
        """Return what lies under all parts."""
        x0, y0, x1, y1 = self._drawing.box
        return {
            "box": [x0, -y1, x1 - x0, y1 - y0],
            "name": one_line(self._drawing.name),
            "shown": live_shown(self._drawing.shown),
            "ground": self._things(None),
        }

    def part(self, part: int) -> Json:
        """Return one part; `part`: its index in the lay."""
        of = self._drawing.parts[part]
        (full, *_), _ = self._names.texts(of)
        return {
            "part": part,
            "name": one_line(of.name),
            "says": one_line(" ".join(full)),
            "held": of.held is not None,
            "colour": piece_colour(self._drawing.keys.place_of(of)),
            **self._things(part),
        }

    def _things(self, part: int | None) -> Json:
        return {
            "lines": _lines(self._lines[part]),
            "holes": self._holes[part],
            "texts": self._texts[part],
        }


def _lines(strokes: Iterable[Stroke]) -> list[Json]:
    """Return lines, a part's cut-outs in one with its outline: what is filled is the part."""
    found, inner, outline = [], [], ""
    for stroke in strokes:
        d = format_path(stroke.path.transformed(_DOWN))
        if stroke.operation is Operation.CUT and stroke.inner:
            inner.append(d)
        elif stroke.operation is Operation.CUT:
            outline = d
        else:
            found.append(_line(stroke, d))
    if outline:
        found.insert(0, {"is": "part", "d": " ".join([outline, *inner])})
    return found


def _line(stroke: Stroke, d: str) -> Json:
    kind = stroke.role if stroke.operation in (Operation.EDGE, Operation.TEXT) else ""
    line: Json = {"is": str(kind or stroke.operation.value).replace(" ", "-"), "d": d}
    if stroke.called:
        line["name"] = one_line(stroke.called)
    if stroke.under:
        line["under"] = True
    return line


def _hole(hole: Hole) -> Json:
    x, y = _DOWN(hole.at)
    return {"at": [x, y], "across": hole.diameter}


def _text(label: Label) -> Json:
    at: Point = _DOWN(label.at)
    text = one_line(label.text)
    return {
        "text": text,
        "at": list(at),
        "high": label.height,
        "wide": text_width(text) * label.height,
        "turn": -label.angle,
    }
