"""Invented patterns drawn as PDF, on one page or on tiles, with what is true of them.

The pieces are made up for these tests. Coordinates are mm on the whole drawing, y up.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from reportlab.pdfgen.canvas import Canvas

MM = 72.0 / 25.4
A4 = (210.0, 297.0)
LETTER = (215.9, 279.4)

FRONT = 300.0 * 150.0 + 300.0 * 60.0 * 0.6
"""Area (mm²) of the front: a rectangle, and under a Bézier's arch 3/5 of its control box."""
GUSSET = 300.0 * 200.0
POCKET = 140.0 * 240.0
FLAP = 170.0 * 110.0 + 110.0 * 100.0 * 0.6
AREAS = {"Front": FRONT, "Gusset": GUSSET, "Pocket": POCKET, "Flap": FLAP}


def path(canvas: Canvas, points: list[tuple[float, ...]], *, close: bool = False) -> None:
    """Draw a path of points (x, y) and curves (x1, y1, x2, y2, x3, y3)."""
    line = canvas.beginPath()
    line.moveTo(*points[0])
    for point in points[1:]:
        (line.lineTo if len(point) == 2 else line.curveTo)(*point)
    if close:
        line.close()
    canvas.drawPath(line)


def tote(canvas: Canvas) -> None:
    """Draw a front with an arch, half a gusset, a pocket with its seam and a check square.

    All within 560 × 620 mm.
    """
    canvas.setLineWidth(0.4)
    path(canvas, [(20, 20), (320, 20), (320, 170), (320, 230, 20, 230, 20, 170)], close=True)
    canvas.setFont("Helvetica", 12)
    canvas.drawString(150, 120, "Front")
    canvas.setFont("Helvetica", 7)
    canvas.drawString(150, 108, "cut 2 outer, 2 lining")
    canvas.line(90, 50, 90, 190)
    path(canvas, [(86, 182), (90, 190), (94, 182)])
    canvas.line(170, 20, 170, 26)
    canvas.circle(250, 150, 2)
    canvas.setFont("Helvetica", 5)
    canvas.drawString(254, 149, "snap")
    # Half a gusset: its left edge lies on the fold.
    canvas.rect(360, 20, 150, 200)
    path(canvas, [(360, 60), (370, 60), (370, 180), (360, 180)])
    canvas.setFont("Helvetica", 12)
    canvas.drawString(400, 120, "Gusset")
    canvas.setFont("Helvetica", 7)
    canvas.drawString(400, 108, "cut 1 on fold")
    canvas.line(450, 50, 450, 190)
    path(canvas, [(446, 182), (450, 190), (454, 182)], close=True)
    # A pocket with its seam line, dashed.
    canvas.rect(60, 330, 140, 240)
    canvas.setDash([4, 2])
    canvas.rect(70, 340, 120, 220)
    canvas.setDash([])
    canvas.setFont("Helvetica", 10)
    canvas.drawString(100, 390, "Pocket")
    canvas.setFont("Helvetica", 7)
    canvas.drawString(100, 378, "cut 1 pair lining")
    canvas.rect(400, 330, 50, 50)
    canvas.drawString(412, 353, "5 cm")
    # A flap with round corners that lies across four pages.
    path(
        canvas,
        [(230, 450), (400, 450), (500, 450, 500, 560, 400, 560), (230, 560)],
        close=True,
    )
    canvas.setFont("Helvetica", 10)
    canvas.drawString(260, 490, "Flap")
    canvas.setFont("Helvetica", 7)
    canvas.drawString(260, 478, "cut 2")


def single(file: Path, draw: Callable[[Canvas], None] = tote, *, scale: float = 1.0) -> Path:
    """Draw on one large page, perhaps at a wrong scale."""
    canvas = Canvas(str(file), pagesize=(600 * MM, 660 * MM))
    canvas.scale(MM * scale, MM * scale)
    draw(canvas)
    canvas.save()
    return file


def tiled(
    file: Path,
    draw: Callable[[Canvas], None] = tote,
    *,
    grid: tuple[int, int] = (3, 3),
    paper: tuple[float, float] = A4,
    frame: tuple[float, float] = (190.0, 260.0),
    overlap: float = 0.0,
    framed: bool = True,
    marks: bool = False,
    labels: bool = False,
    cover: bool = True,
    order: str = "rows",
    scale: float = 1.0,
    inset: bool = False,
) -> Path:
    """Draw on pages in a grid, row by row from the upper left one, as a pattern's maker would.

    `frame`: what is seen on a page; neighbours share `overlap` of it. `inset`: marks stand in the
    middle of the overlap, not at the frame.
    """
    canvas = Canvas(str(file), pagesize=(paper[0] * MM, paper[1] * MM))
    if cover:
        _cover(canvas, paper)
    columns, rows = grid
    x0, y0 = (paper[0] - frame[0]) / 2.0, (paper[1] - frame[1]) / 2.0
    step = (frame[0] - overlap, frame[1] - overlap)
    places = [(c, r) for r in range(rows) for c in range(columns)]
    if order == "columns":
        places = [(c, r) for c in range(columns) for r in range(rows)]
    for column, row in places:
        canvas.saveState()
        canvas.scale(MM, MM)
        canvas.setLineWidth(0.3)
        if framed:
            canvas.rect(x0, y0, *frame)
        canvas.setFont("Helvetica", 8)
        if labels:
            canvas.drawString(x0 + 4, y0 + 4, f"{chr(65 + row)}{column + 1}")
        if marks:
            into = overlap / 2.0 if inset else 0.0
            inner = (frame[0] - 2.0 * into, frame[1] - 2.0 * into)
            _marks(canvas, (x0 + into, y0 + into), inner, (column, row), grid)
        clip = canvas.beginPath()
        clip.rect(x0, y0, *frame)
        canvas.clipPath(clip, stroke=0, fill=0)
        canvas.translate(x0 - column * step[0], y0 - (rows - 1 - row) * step[1])
        canvas.scale(scale, scale)
        draw(canvas)
        canvas.restoreState()
        canvas.showPage()
    canvas.save()
    return file


def _cover(canvas: Canvas, paper: tuple[float, float]) -> None:
    canvas.setFont("Helvetica", 30)
    canvas.drawString(100, 600, "Invented tote")
    canvas.setFillColorRGB(0.8, 0.3, 0.2)
    canvas.circle(300, 400, 80, stroke=0, fill=1)
    canvas.showPage()
    canvas.setFont("Helvetica", 10)
    for line in range(30):
        canvas.drawString(
            60, 750 - 14 * line, "Sew the two long edges together and press them flat."
        )
    canvas.rect(100, 100, 120, 80)
    canvas.showPage()


def _marks(
    canvas: Canvas,
    corner: tuple[float, float],
    frame: tuple[float, float],
    cell: tuple[int, int],
    grid: tuple[int, int],
) -> None:
    """Draw half diamonds with a number at the edges that have a neighbour."""
    (x0, y0), (w, h), (c, r) = corner, frame, cell
    columns, rows = grid
    canvas.setFont("Helvetica", 6)
    if c > 0:
        path(canvas, [(x0, y0 + h / 2 - 5), (x0 + 5, y0 + h / 2), (x0, y0 + h / 2 + 5)])
        canvas.drawString(x0 + 6, y0 + h / 2 - 1, f"{r * columns + c}")
    if c < columns - 1:
        x = x0 + w
        path(canvas, [(x, y0 + h / 2 - 5), (x - 5, y0 + h / 2), (x, y0 + h / 2 + 5)])
        canvas.drawRightString(x - 6, y0 + h / 2 - 1, f"{r * columns + c + 1}")
    if r > 0:
        y = y0 + h
        path(canvas, [(x0 + w / 2 - 5, y), (x0 + w / 2, y - 5), (x0 + w / 2 + 5, y)])
        canvas.drawCentredString(x0 + w / 2, y - 9, f"{chr(65 + (r - 1) * columns + c)}")
    if r < rows - 1:
        path(canvas, [(x0 + w / 2 - 5, y0), (x0 + w / 2, y0 + 5), (x0 + w / 2 + 5, y0)])
        canvas.drawCentredString(x0 + w / 2, y0 + 7, f"{chr(65 + r * columns + c)}")
