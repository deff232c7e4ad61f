"""SVG at true size: 1 unit is 1 mm, a group for each operation, a bar to measure.

The paths are reflected into SVG's axes (y downwards) by their coordinates; there is
no transform to get wrong, except that a line of text is turned about its own middle.
"""

from __future__ import annotations

from collections.abc import Iterator
from hashlib import sha256
from html import escape
from pathlib import Path as FilePath

from nesting.amounts import METRIC, Amounts
from nesting.marker.lay import Part
from nesting.pattern.marks.capitals import CAPITALS
from nesting.pattern.path import Affine, Path
from nesting.pattern.piece import Face
from nesting.pattern.svg_path import format_path
from nesting.writing.files import one_line, whole_file
from nesting.writing.neutral.drawing import Drawing, Hole, Label, Operation, Role, Stroke
from nesting.writing.neutral.font import text_width
from nesting.writing.neutral.look import CHAIN

__all__ = [
    "CHECK_BAR",
    "CHECK_BAR_INCHES",
    "number",
    "shown_svg",
    "svg",
    "svg_path",
    "svg_text",
    "write_svg",
]

CHECK_BAR, CHECK_BAR_INCHES = 100.0, 101.6
"""Length of the bar to measure (mm): 100 mm, or 4 in for a job in inches."""

_MARGIN = 10.0  # mm around the drawing
_FOOT = 24.0  # mm below it for the bar and the notes
_LINE, _BOLD, _CHAIN = 0.25, 0.8, 5.0  # mm
_COLOURS = {
    Operation.CUT: "#b3122f",
    Operation.NOTCH: "#7a3aa8",
    Operation.DRILL: "#0a6f8f",
    Operation.MARK: "#1e7a3c",
    Operation.TEXT: "#333333",
    Operation.SEW: "#8f5a00",
    Operation.MATCH: "#0f4468",
    Operation.EDGE: "#8a8a8a",
}


def write_svg(
    drawing: Drawing, path: FilePath, *, amounts: Amounts = METRIC, overwrite: bool = False
) -> None:
    """Write the drawing as an SVG file, whole or not at all."""
    with whole_file(path, overwrite=overwrite) as temporary:
        temporary.write_text(svg(drawing, amounts=amounts), encoding="utf-8")


def svg(drawing: Drawing, *, amounts: Amounts = METRIC) -> str:
    """Return the drawing as an SVG document."""
    x0, y0, x1, y1 = drawing.box
    notes = [one_line(note) for note in drawing.notes]
    width = max(x1 - x0, CHECK_BAR_INCHES) + 2.0 * _MARGIN
    height = y1 - y0 + 2.0 * _MARGIN + _FOOT + 6.0 * len(notes)
    into = Affine(1.0, 0.0, 0.0, -1.0, _MARGIN - x0, _MARGIN + y1)
    lines = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{number(width)}mm" '
        f'height="{number(height)}mm" viewBox="0 0 {number(width)} {number(height)}">',
        f"<title>{_text(drawing.name)}</title>",
    ]
    if notes:
        lines.append(f"<desc>{_text(' '.join(notes))}</desc>")
    lines += shown_svg(drawing, into, strength=_STRENGTH)
    for layer in _layers(drawing):
        lines += _group(drawing, layer, into)
    lines += _foot(notes, y1 - y0 + 2.0 * _MARGIN, amounts)
    return "\n".join([*lines, "</svg>", ""])


_STRENGTH = 0.4
"""How opaque a picture of the goods is, so that lines on it are read."""


def shown_svg(drawing: Drawing, into: Affine, *, strength: float) -> list[str]:
    """Return the picture of the goods as a group that is no layer, or nothing.

    It is shown within what it is of, over and over if it is a print.
    """
    shown = drawing.shown
    if shown is None:
        return []
    picture = shown.picture
    name = sha256(f"{drawing.name} {drawing.frame} {picture.data}".encode()).hexdigest()[:12]
    to = into.after(shown.place)
    clip = " ".join(format_path(path.transformed(into)) for path in shown.within)
    image = (
        f'<image width="{number(picture.size[0])}" height="{number(picture.size[1])}" '
        f'preserveAspectRatio="none" href="{picture.uri}"'
    )
    lines = [f'<clipPath id="in-{name}"><path d="{clip}"/></clipPath>']
    if shown.tile is not None:
        along, across = shown.tile
        lines += [
            f'<pattern id="of-{name}" patternUnits="userSpaceOnUse" width="{number(along)}" '
            f'height="{number(across)}" patternTransform="{_matrix(to)}">',
            *(f'{image} x="{number(x)}" y="{number(y)}"/>' for x, y in shown.places),
            "</pattern>",
        ]
        drawn = f'<path fill="url(#of-{name})" stroke="none" d="{clip}"/>'
    else:
        drawn = f'{image} transform="{_matrix(to)}"/>'
    lines.append(f'<g id="ground-{name}" clip-path="url(#in-{name})" opacity="{strength:g}">')
    return [*lines, drawn, "</g>"]


def _matrix(to: Affine) -> str:
    return f"matrix({' '.join(number(v) for v in (to.a, to.c, to.b, to.d, to.e, to.f))})"


def _layers(drawing: Drawing) -> list[str]:
    """Return the layers that are used, in the order of the operations."""
    items: list[Stroke | Hole | Label] = [*drawing.strokes, *drawing.holes, *drawing.labels]
    used = {item.layer for item in items}
    order = [operation.value for operation in Operation]
    return sorted(used, key=lambda layer: (order.index(layer.split("-")[0]), layer))


def _group(drawing: Drawing, layer: str, into: Affine) -> Iterator[str]:
    """Give the lines of a layer's group."""
    colour = _COLOURS[Operation(layer.split("-")[0])]
    dashes = ' stroke-dasharray="3 2"' if layer.endswith("-underside") else ""
    if layer == Operation.SEW:
        dashes = ' stroke-dasharray="4 2"'
    wide = _BOLD if layer == Operation.MATCH else _LINE
    yield (
        f'<g id="{layer}" fill="none" stroke="{colour}" stroke-width="{wide}" '
        f'stroke-linejoin="round"{dashes}>'
    )
    strokes = [stroke for stroke in drawing.strokes if stroke.layer == layer]
    for count, stroke in enumerate(strokes, start=1):
        attributes = f'id="{layer}-{count}"' + _about(stroke, drawing.parts)
        if stroke.role is Role.CHAIN:
            attributes += f' stroke="{CHAIN}" stroke-width="{_CHAIN}" stroke-linecap="round"'
        yield svg_path(stroke.path, into, attributes)
    for hole in drawing.holes:
        if hole.layer == layer:
            yield _hole(hole, into, drawing.parts)
    for label in drawing.labels:
        if label.layer == layer:
            attributes = f'fill="{colour}" stroke="none"' + _about(label, drawing.parts)
            yield svg_text(label, into, attributes)
    yield "</g>"


def svg_path(path: Path, into: Affine, attributes: str) -> str:
    """Return a path element; `into` maps mm, y upwards, to the file's axes."""
    return f'<path {attributes} d="{format_path(path, into)}"/>'


def _hole(hole: Hole, into: Affine, parts: tuple[Part, ...]) -> str:
    x, y = into(hole.at)
    about = _about(hole, parts)
    if hole.diameter > 0.0:
        return (
            f'<circle cx="{number(x)}" cy="{number(y)}" r="{number(hole.diameter / 2.0)}"{about}/>'
        )
    # A line of no length with round ends is a dot.
    return f'<path stroke-linecap="round" d="M {number(x)},{number(y)} h 0"{about}/>'


def svg_text(label: Label, into: Affine, attributes: str) -> str:
    """Return a text element, middle at the label's anchor, as wide as it was given room.

    Whatever font the reader has for it, the letters fill that width.
    """
    x, y = into(label.at)
    place = f'x="{number(x)}" y="{number(y)}"'
    width = text_width(one_line(label.text)) * label.height
    if label.angle:
        place += f' transform="rotate({number(-label.angle)} {number(x)} {number(y)})"'
    return (
        f'<text {place} font-family="sans-serif" font-size="{number(label.height / CAPITALS)}" '
        f'text-anchor="middle" dy="{number(label.height / 2.0)}" '
        f'textLength="{number(round(width, 3))}" lengthAdjust="spacingAndGlyphs" {attributes}>'
        f"{_text(label.text)}</text>"
    )


def _about(item: Stroke | Hole | Label, parts: tuple[Part, ...]) -> str:
    """Return data attributes that say which part an element is of, and what it is."""
    said: dict[str, str] = {}
    if item.part is not None and item.part < len(parts):
        part = parts[item.part]
        said = {
            "part": part.name,
            "piece": part.piece.name,
            "copy": f"{part.copy}/{part.copies}",
            "hand": part.hand.value,
        }
        if part.variant:
            said["variant"] = part.variant
    if isinstance(item, Stroke):
        if item.inner:
            said["inner"] = "true"
        if item.called:
            said["name"] = item.called
    if item.face is Face.WRONG:
        said["face"] = item.face.value
    if item.under:
        said["underside"] = "true"
    return "".join(f' data-{key}="{_text(value)}"' for key, value in said.items())


def _foot(notes: list[str], top: float, amounts: Amounts) -> Iterator[str]:
    """Give the bar to measure, and the notes below it."""
    x, y = _MARGIN, top
    bar, ticks, said = (
        (CHECK_BAR_INCHES, 8, "4 in") if amounts.inches else (CHECK_BAR, 10, "100 mm")
    )
    yield '<g id="check" fill="none" stroke="#000000" stroke-width="0.25">'
    yield (
        f'<path id="check-bar" d="M {number(x)},{number(y + 3.0)} '
        f'L {number(x + bar)},{number(y + 3.0)}"/>'
    )
    for tick in range(ticks + 1):
        at, tall = x + tick * bar / ticks, 3.0 if tick % (ticks // 2) == 0 else 1.5
        yield f'<path d="M {number(at)},{number(y + 3.0 - tall)} v {number(tall)}"/>'
    style = 'font-family="sans-serif" font-size="4" fill="#000000" stroke="none"'
    yield (
        f'<text x="{number(x)}" y="{number(y + 9.0)}" {style}>'
        f"{said}: measure this bar before you cut</text>"
    )
    for i, note in enumerate(notes):
        yield f'<text x="{number(x)}" y="{number(y + 15.0 + 6.0 * i)}" {style}>{_text(note)}</text>'
    yield "</g>"


def number(value: float) -> str:
    """Return a number as short as it can be without loss."""
    text = repr(float(value))
    return text[:-2] if text.endswith(".0") else text


def _text(text: str) -> str:
    return escape(one_line(text), quote=True)
