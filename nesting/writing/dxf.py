"""DXF in mm: a layer for each operation, one entity for each path.

A path of lines and circular arcs is one polyline with bulges, a whole ellipse an
ELLIPSE, any other path one SPLINE that is exactly the path: lines and Bézier curves
are cubics already, elliptic arcs are rational cubics (their control points and
weights by degree elevation of the rational quadratic; Piegl and Tiller, The NURBS
Book, 2nd ed. 1997, sections 5.5 and 7.3).
"""

from __future__ import annotations

import io
import math
import re
import threading
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path as FilePath

from ezdxf import options, units  # type: ignore[attr-defined]
from ezdxf.document import Drawing as Document
from ezdxf.entities.lwpolyline import LWPolylinePoints
from ezdxf.enums import TextEntityAlignment
from ezdxf.filemanagement import new
from ezdxf.layouts.layout import Modelspace
from ezdxf.lldxf.types import DXFTag
from ezdxf.sections.classes import ClassesSection

from nesting.pattern.path import Arc, Bezier, Line, Path, Point, Segment
from nesting.writing.files import one_line, whole_file
from nesting.writing.neutral.drawing import Drawing, Hole, Label, Operation, Stroke

__all__ = [
    "add_label",
    "add_path",
    "bulges",
    "dxf_document",
    "dxf_text",
    "layer_of",
    "new_document",
    "write_dxf",
]

_COLOURS = {
    Operation.CUT: 1,
    Operation.NOTCH: 6,
    Operation.DRILL: 4,
    Operation.MARK: 3,
    Operation.TEXT: 7,
    Operation.SEW: 30,
    Operation.MATCH: 5,
    Operation.EDGE: 8,
}
"""DXF colour numbers of the layers (DXF reference)."""

_STYLE, _SEAM = "LABEL", "SEAM"
_NOTE_HEIGHT = 6.0  # mm
_WRITING = threading.Lock()
"""ezdxf's own switch, which is global, is held while a file is written."""


def write_dxf(drawing: Drawing, path: FilePath, *, overwrite: bool = False) -> None:
    """Write the drawing as a DXF file (AC1024, DXF 2010), whole or not at all."""
    text = dxf_text(dxf_document(drawing))
    with whole_file(path, overwrite=overwrite) as temporary:
        temporary.write_text(text, encoding="utf-8", errors="strict", newline="\r\n")


@contextmanager
def _without_times() -> Iterator[None]:
    """Let ezdxf put fixed times and ids into files; its switch is global, so it is held."""
    with _WRITING:
        before = options.write_fixed_meta_data_for_testing
        options.write_fixed_meta_data_for_testing = True
        try:
            yield
        finally:
            options.write_fixed_meta_data_for_testing = before


def new_document() -> Document:
    """Return an empty document (DXF 2010) in mm, without times and random ids."""
    with _without_times():
        return new("R2010", units=units.MM)


def dxf_text(document: Document) -> str:
    """Return a document as text: the same drawing gives the same file, byte for byte."""
    text = io.StringIO()
    _order_classes(document)
    with _without_times():
        document.write(text)
    return text.getvalue()


def _order_classes(document: Document) -> None:
    """Put the classes that a file names beside the usual ones in order: ezdxf has a set of them."""
    document.classes.add_required_classes(document.dxfversion)
    usual = ClassesSection()
    usual.add_required_classes(document.dxfversion)
    known = document.classes.classes
    for key in [*usual.classes, *sorted(known.keys() - usual.classes.keys())]:
        known[key] = known.pop(key)


def dxf_document(drawing: Drawing) -> Document:
    """Return the drawing as a DXF document: units mm, extents set, layers by operation.

    Layers: CUT, CUT-INNER (cut-outs, to be cut before the outlines), NOTCH, DRILL,
    MARK, MARK-UNDERSIDE (belongs on the face that lies down), TEXT, SEW (seam lines, dashed),
    MATCH (motifs and points that are laid to a print), EDGE.
    """
    document = new_document()
    document.styles.add(_STYLE, font="arial.ttf")
    space = document.modelspace()
    for stroke in drawing.strokes:
        add_path(space, stroke.path, layer=layer_of(document, stroke))
    for hole in drawing.holes:
        layer = layer_of(document, hole)
        if hole.diameter > 0.0:
            space.add_circle(hole.at, hole.diameter / 2.0, dxfattribs={"layer": layer})
        else:
            space.add_point(hole.at, dxfattribs={"layer": layer})
    for label in drawing.labels:
        add_label(space, label, layer=layer_of(document, label))
    x0, y0, x1, y1 = drawing.box
    for i, note in enumerate(drawing.notes):
        at = (x0, y0 - 2.0 * _NOTE_HEIGHT * (i + 1))
        line = Label(text=note, at=at, height=_NOTE_HEIGHT, operation=Operation.EDGE)
        add_label(space, line, layer=layer_of(document, line), align=TextEntityAlignment.LEFT)
    document.header["$EXTMIN"], document.header["$EXTMAX"] = (x0, y0, 0.0), (x1, y1, 0.0)
    document.set_modelspace_vport(
        height=max(y1 - y0, (x1 - x0) / 1.6) * 1.1, center=((x0 + x1) / 2.0, (y0 + y1) / 2.0)
    )
    return document


def layer_of(document: Document, item: Stroke | Hole | Label) -> str:
    """Return the name of an item's layer, which is made on first use."""
    name = item.layer.upper()
    if name not in document.layers:
        operation = Operation(item.layer.split("-")[0])
        layer = document.layers.add(name, color=_COLOURS[operation])
        if operation is Operation.SEW:
            document.linetypes.add(_SEAM, pattern=[6.0, 4.0, -2.0], description="seam _ _ _")
            layer.dxf.linetype = _SEAM
    return name


def add_path(space: Modelspace, path: Path, *, layer: str, chord: float | None = None) -> None:
    """Add a path as one entity; with `chord` (mm) as a polyline of chords at most that far off."""
    attributes = {"layer": layer}
    if chord is not None:
        flat = [(x, y, 0.0) for x, y in path.points(chord)]
        _add_polyline(space, flat, attributes, closed=path.closed)
    elif all(isinstance(s, Line) or (isinstance(s, Arc) and s.radius) for s in path.segments):
        _add_polyline(space, list(bulges(path)), attributes, closed=path.closed)
    elif (ellipse := _whole_ellipse(path)) is not None:
        _add_ellipse(space, ellipse, attributes)
    else:
        _add_spline(space, path, attributes)


def _add_polyline(
    space: Modelspace,
    points: Sequence[tuple[float, float, float]],
    attributes: dict[str, str],
    *,
    closed: bool,
) -> None:
    """Add a polyline of vertices (x, y, bulge)."""
    line = space.add_lwpolyline((), close=closed, dxfattribs=attributes)
    # All of them at once: each that is added alone copies those before it.
    line.lwpoints = _Corners([(x, y, 0.0, 0.0, bulge) for x, y, bulge in points])


class _Corners(LWPolylinePoints):
    """Corners of a polyline that are written as one text: ezdxf makes three objects of each."""

    def dxftags(self) -> Iterator[DXFTag]:
        """Give one tag, which is all of them."""
        yield _Written(
            "".join(
                f" 10\n{x}\n 20\n{y}\n" + (f" 42\n{bulge}\n" if bulge else "")
                for x, y, _, _, bulge in self
            )
        )


class _Written(DXFTag):
    """Tags as they stand in a file."""

    def __init__(self, text: str) -> None:
        super().__init__(0, text)

    def dxfstr(self) -> str:
        """Return them."""
        return str(self.value)


def bulges(path: Path) -> Iterator[tuple[float, float, float]]:
    """Give vertices (x, y, bulge) of lines and circular arcs; bulge = tan(angle / 4)."""
    for segment in path.segments:
        if isinstance(segment, Arc):
            left = _cross(segment.u, segment.v) > 0.0
            parts = _parts(segment, math.pi)
            for part in parts:
                bulge = math.tan(part.sweep / 4.0)
                yield (*part.start, bulge if left else -bulge)
        else:
            yield (*segment.start, 0.0)
    if not path.closed:
        yield (*path.end, 0.0)


def _parts(arc: Arc, most: float) -> list[Arc]:
    """Split an arc into equal parts of at most `most` radians."""
    n = max(1, math.ceil(abs(arc.sweep) / most - 1e-9))
    return [
        Arc(arc.centre, arc.u, arc.v, arc.begin + arc.sweep * i / n, arc.sweep / n)
        for i in range(n)
    ]


def _whole_ellipse(path: Path) -> Arc | None:
    """Return the arc of a path that is one whole ellipse."""
    arcs = [s for s in path.segments if isinstance(s, Arc)]
    if len(arcs) != len(path.segments) or not path.closed:
        return None
    first = arcs[0]
    alike = all((a.centre, a.u, a.v) == (first.centre, first.u, first.v) for a in arcs)
    turn = sum(a.sweep for a in arcs)
    return first if alike and abs(abs(turn) - math.tau) < 1e-9 else None


def _add_ellipse(space: Modelspace, arc: Arc, attributes: dict[str, str]) -> None:
    """Add a whole ellipse by its axes, which conjugate half-diameters turn into."""
    (ux, uy), (vx, vy) = arc.u, arc.v
    # The parameter at which centre + u·cos t + v·sin t is farthest from the centre.
    t = 0.5 * math.atan2(2.0 * (ux * vx + uy * vy), ux * ux + uy * uy - vx * vx - vy * vy)
    c, s = math.cos(t), math.sin(t)
    major, minor = (ux * c + vx * s, uy * c + vy * s), (vx * c - ux * s, vy * c - uy * s)
    space.add_ellipse(
        arc.centre,
        major_axis=major,
        ratio=math.hypot(*minor) / math.hypot(*major),
        dxfattribs=attributes,
    )


def _add_spline(space: Modelspace, path: Path, attributes: dict[str, str]) -> None:
    """Add the path as one cubic spline, each segment a span between triple knots."""
    spans = [span for segment in path.segments for span in _cubics(segment)]
    points, weights = [spans[0][0][0]], [1.0]
    for control, w in spans:
        points += control[1:]
        weights += w[1:]
    n = len(spans)
    knots = [0.0] * 4 + [float(k) for k in range(1, n) for _ in range(3)] + [float(n)] * 4
    vertices = [(x, y, 0.0) for x, y in points]
    if any(w != 1.0 for w in weights):
        spline = space.add_rational_spline(vertices, weights, degree=3, knots=knots)
    else:
        spline = space.add_open_spline(vertices, degree=3, knots=knots)
    spline.dxf.layer = attributes["layer"]
    if path.closed:
        spline.closed = True


def _cubics(segment: Segment) -> Iterator[tuple[list[Point], list[float]]]:
    """Give the cubic spans (control points, weights) that a segment is."""
    if isinstance(segment, Line):
        yield [_between(segment.start, segment.end, i / 3.0) for i in range(4)], [1.0] * 4
    elif isinstance(segment, Bezier):
        yield [segment.start, segment.first, segment.second, segment.end], [1.0] * 4
    else:
        for part in _parts(segment, math.pi / 2.0):
            yield _rational(part)


def _rational(arc: Arc) -> tuple[list[Point], list[float]]:
    """Return an arc of at most 90° as a rational cubic."""
    half = arc.sweep / 2.0
    w = math.cos(half)
    t = arc.begin + half
    c, s = math.cos(t) / w, math.sin(t) / w
    # Where the tangents at both ends meet.
    meet = (
        arc.centre[0] + arc.u[0] * c + arc.v[0] * s,
        arc.centre[1] + arc.u[1] * c + arc.v[1] * s,
    )
    weight = (1.0 + 2.0 * w) / 3.0
    share = 2.0 * w / (1.0 + 2.0 * w)
    return [
        arc.start,
        _between(arc.start, meet, share),
        _between(arc.end, meet, share),
        arc.end,
    ], [1.0, weight, weight, 1.0]


def _between(p: Point, q: Point, t: float) -> Point:
    return (p[0] + t * (q[0] - p[0]), p[1] + t * (q[1] - p[1]))


def _cross(u: Point, v: Point) -> float:
    return u[0] * v[1] - u[1] * v[0]


def add_label(
    space: Modelspace,
    label: Label,
    *,
    layer: str,
    align: TextEntityAlignment = TextEntityAlignment.MIDDLE_CENTER,
) -> None:
    """Add a line of text, its middle (or what `align` says) at the label's anchor."""
    text = space.add_text(
        plain_text(label.text),
        height=label.height,
        rotation=label.angle,
        dxfattribs={"layer": layer, "style": _STYLE},
    )
    text.set_placement(label.at, align=align)


def plain_text(text: str) -> str:
    r"""Return text for a DXF TEXT entity: one line, without the codes that readers act on.

    ``%%c`` and the like, ``^J`` and ``\U+xxxx`` are codes; a space takes their force.
    """
    spaced = re.sub(r"%(?=%)", "% ", one_line(text))
    return spaced.replace("^", "^ ").replace("\\U+", "\\ U+")
