"""Starter drawings as files: SVG, DXF and PDF."""

from __future__ import annotations

from html import escape
from io import BytesIO

from reportlab.lib.units import inch, mm
from reportlab.pdfgen.canvas import Canvas

from nesting.guide.starter import STARTERS, Item, Page, drawn
from nesting.pattern.marks.capitals import CAPITALS
from nesting.writing.dxf import dxf_text, new_document

__all__ = ["KINDS", "starter"]

KINDS = ("svg", "dxf", "pdf")


def starter(name: str, kind: str) -> bytes:
    """Return a starter drawing as a file; `kind`: one of `KINDS`."""
    page = STARTERS[name]
    return {"svg": _svg, "dxf": _dxf, "pdf": _pdf}[kind](page)


def _svg(page: Page) -> bytes:
    wide, high = page.size
    return "\n".join(
        [
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide:g}{page.unit}" '
            f'height="{high:g}{page.unit}" viewBox="0 0 {wide:g} {high:g}">',
            "<style>path, circle { fill: none; stroke: black; "
            f"stroke-width: {page.letters / 10.0:g} }}",
            f".sew {{ stroke-dasharray: {page.letters:g} }} text {{ font: {page.letters:g}px "
            "sans-serif }</style>",
            *(
                line
                for piece, items in drawn(page).items()
                for line in (
                    f'<g id="{piece}">' if piece else "<g>",
                    *(_svg_item(item, high) for item in items),
                    "</g>",
                )
            ),
            "</svg>\n",
        ]
    ).encode()


def _svg_item(item: Item, high: float) -> str:
    points = [(round(x, 6), round(high - y, 6)) for x, y in item.points]
    x, y = points[0]
    if item.text:
        turn = f' transform="rotate({-item.angle:g} {x:g} {y:g})"' if item.angle else ""
        return f'<text x="{x:g}" y="{y:g}"{turn}>{escape(item.text)}</text>'
    if item.radius:
        return f'<circle class="{item.layer}" cx="{x:g}" cy="{y:g}" r="{item.radius:g}"/>'
    way = " L".join(f"{x:g},{y:g}" for x, y in points)
    return f'<path class="{item.layer}" d="M{way}{" Z" if item.closed else ""}"/>'


_UNITS = {"in": 1, "mm": 4}
"""$INSUNITS of the DXF reference."""


def _dxf(page: Page) -> bytes:
    document = new_document()
    document.units = _UNITS[page.unit]
    document.header["$MEASUREMENT"] = int(page.unit == "mm")
    space = document.modelspace()
    for items in drawn(page).values():
        for item in items:
            layer = item.layer.upper()
            if layer not in document.layers:
                document.layers.add(layer)
            on: dict[str, object] = {"layer": layer}
            if item.text:
                on = {**on, "rotation": item.angle, "insert": item.points[0]}
                space.add_text(item.text, height=CAPITALS * page.letters, dxfattribs=on)
            elif item.radius:
                space.add_circle(item.points[0], item.radius, dxfattribs=on)
            else:
                space.add_lwpolyline(item.points, close=item.closed, dxfattribs=on)
    return dxf_text(document).encode()


def _pdf(page: Page) -> bytes:
    scale = mm if page.unit == "mm" else inch
    wide, high = page.size
    file = BytesIO()
    canvas = Canvas(file, pagesize=(wide * scale, high * scale), invariant=1)
    canvas.setTitle("A pattern to draw on from")
    canvas.setLineWidth(page.letters / 10.0 * scale)
    for items in drawn(page).values():
        for item in items:
            if item.layer == "fold":
                continue  # the word along the edge says it
            points = [(x * scale, y * scale) for x, y in item.points]
            if item.text:
                canvas.setFont("Helvetica", page.letters * scale)
                canvas.saveState()
                canvas.translate(*points[0])
                canvas.rotate(item.angle)
                canvas.drawString(0.0, 0.0, item.text)
                canvas.restoreState()
            elif item.radius:
                canvas.circle(*points[0], item.radius * scale)
            else:
                canvas.setDash([page.letters * scale] if item.layer == "sew" else [])
                path = canvas.beginPath()
                path.moveTo(*points[0])
                for point in points[1:]:
                    path.lineTo(*point)
                if item.closed:
                    path.close()
                canvas.drawPath(path)
                canvas.setDash([])
    canvas.showPage()
    canvas.save()
    return file.getvalue()
