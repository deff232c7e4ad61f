"""Files of our own invention to be spoilt: small, and with something of every kind."""

from __future__ import annotations

from pathlib import Path

__all__ = ["write_sources"]

JOB = '''include = "stock.toml"

[job]
name = "Kit"
unit = "mm"
currency = "EUR"
bags = 2

[table]
length = "2 m"
bed = ["60 cm", "90 cm"]

[[cloth]]
name = "canvas"
widths = [{ booked = "60 cm", price = 12 }, { booked = "80 cm", price = 15 }]
selvedge = "1 cm"
nap = "one-way"
spacing = "3 mm"
shrinkage = ["50 cm", "49 cm"]
step = "10 cm"
substance = "cotton"
thickness = "0.6 mm"

[[cloth]]
name = "print"
width = "70 cm"
nap = "one-way"
spacing = 4
print = { along = "12 cm", across = "9 cm", drop = 0.5, drift = "1 mm" }

[[sheet]]
name = "foam"
size = ["40 cm", "30 cm"]
spacing = "2 mm"
margin = "3 mm"
nap = "any"
price = 4

[[leather]]
name = "hide"
spacing = "3 mm"
margin = "4 mm"
price = 80
    [[leather.hide]]
    name = "belly"
    outline = "M 0,0 L 600,0 C 640,120 640,300 600,420 L 40,400 C 0,300 20,100 0,0 Z"
    backbone = 0
        [[leather.hide.zone]]
        name = "butt"
        grade = "A"
        outline = "M 20,20 L 380,20 L 380,380 L 40,380 Z"
        tight = 0
        slack = 30
        [[leather.hide.flaw]]
        circle = "20 mm"
        at = [300, 200]

[[piece]]
name = "front"
outline = """M 20,0 L 180,0 A 20,20 0 0 1 200,20 C 220,60 220,90 200,120
L 0,120 L 0,20 A 20,20 0 0 1 20,0 Z"""
line = "sewing"
seam_allowance = { all = "10 mm", 3 = "20 mm" }
grain = "across"
motif = [100, 60]
named_points = { a = [0, 60], b = [200, 60] }
    [[piece.mark]]
    kind = "notch"
    at = [100, -10]
    size = "4 mm"
    [[piece.mark]]
    kind = "drill"
    at = [60, 60]
    size = "4 mm"
    [[piece.mark]]
    kind = "text"
    text = "up"
    at = [50, 80]
    [[piece.hole]]
    circle = "12 mm"
    at = [150, 60]

[[piece]]
name = "half"
points = [[0, 0], [90, 0], [90, 110], [0, 140]]
fold_edge = 4
fold_back = [[0, 100], [90, 100]]
seam_allowance = 6

[[piece]]
name = "strap"
strap = ["50 cm", "2 cm"]

[[piece]]
name = "disc"
circle = "7 cm"
grain = "across"

[[piece]]
name = "block"
from = "pattern.svg"
file_unit = "mm"

[[cut]]
piece = "front"
material = "canvas"
copies = 2

[[cut]]
piece = "half"
material = "canvas"
pairs = true

[[cut]]
piece = "strap"
material = "canvas"
pieced = "1 cm"

[[cut]]
piece = "front"
material = "print"
centred = true

[[cut]]
piece = "half"
material = "foam"
trimmed = true

[[cut]]
piece = "disc"
material = "hide"
copies = 3
grade = "A"
mates = true

[[cut]]
piece = "block"
material = "hide"

[[notion]]
name = "zip"
quantity = 1
'''

STOCK = """unit = "cm"

[at_hand]
canvas = ["120 cm", { length = "80 cm", width = "60 cm" }]  # on the shelf
foam = 1

[[remnant]]
name = "corner"
material = "foam"
points = [[0, 0], [30, 0], [25, 25], [0, 20]]

[[remnant]]
name = "bit"
material = "canvas"
rectangle = ["40 cm", "25 cm"]

[book]
cut = ["0123456789abcdef"]
"""

MACHINE = """name = "Try-out table"
kind = "drag knife"
reads = ["svg", "dxf", "hpgl"]
blade_offset = 0.4
compensates = true
over_cut = 1.0

[bed]
length = 900
width = 700

[tools.cut]
tool = "knife"
[tools.mark]
tool = "pen"
pen = 2
"""

SVG = """<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"
 width="300mm" height="200mm" viewBox="0 0 300 200">
<style>.gone { display: none } .seam { stroke: #00f }</style>
<defs><g id="tab"><path d="M 0 0 h 40 v 20 h -40 z"/></g>
<clipPath id="clip"><rect width="300" height="200"/></clipPath></defs>
<g id="block" transform="translate(20 30) rotate(5)">
<path d="M 0 0 L 80 0 Q 100 30 80 60 T 0 60 Z" fill="none" stroke="black"/>
<line x1="20" y1="30" x2="60" y2="30" class="grain"/>
<circle cx="30" cy="40" r="3"/><text x="20" y="20" font-size="6">Block Cut 2</text>
</g>
<use xlink:href="#tab" x="150" y="40"/>
<g clip-path="url(#clip)"><polygon points="150,100 220,100 240,160 150,150"/></g>
<rect class="gone" width="10" height="10"/><ellipse cx="60" cy="150" rx="30" ry="14"/>
<switch><rect x="250" y="150" width="30" height="30" rx="4"/></switch>
</svg>
"""


def write_sources(folder: Path) -> None:
    """Write a job, its stock and pattern files, and a machine file into a folder."""
    folder.mkdir(parents=True)
    texts = {
        "kit.toml": JOB,
        "stock.toml": STOCK,
        "pattern.svg": SVG,
        "plain.dxf": _plain_dxf(),
        "sewn.dxf": _sewn_dxf(),
        "table.toml": MACHINE,
    }
    for name, text in texts.items():
        (folder / name).write_text(text, encoding="utf-8")


def _dxf(*sections: tuple[str, list[object]]) -> str:
    words: list[object] = []
    for name, tags in sections:
        words += [0, "SECTION", 2, name, *tags, 0, "ENDSEC"]
    return "\n".join(str(word) for word in (*words, 0, "EOF", ""))


def _plain_dxf() -> str:
    square = [0, "LWPOLYLINE", 8, "CUT", 90, 4, 70, 1]
    for x, y, bulge in ((0, 0, 0), (120, 0, 0.3), (120, 80, 0), (0, 80, 0)):
        square += [10, x, 20, y, 42, bulge]
    spline: list[object] = [0, "SPLINE", 8, "CUT", 70, 8, 71, 3, 72, 8, 73, 4]
    for knot in (0, 0, 0, 0, 1, 1, 1, 1):
        spline += [40, knot]
    for x, y in ((200, 0), (200, 60), (260, 60), (260, 0)):
        spline += [10, x, 20, y, 30, 0]
    lines = [0, "LINE", 8, "CUT", 10, 260, 20, 0, 11, 200, 21, 0]
    arcs = [0, "CIRCLE", 8, "CUT", 10, 30, 20, 40, 40, 4, 0, "ARC", 8, "MARK"]
    arcs += [10, 60, 20, 40, 40, 10, 50, 0, 51, 90]
    ellipse = [0, "ELLIPSE", 8, "CUT", 10, 60, 20, 160, 11, 40, 21, 0, 40, 0.5, 41, 0, 42, 6.283185]
    text = [0, "MTEXT", 8, "TEXT", 10, 20, 20, 20, 40, 5, 1, "{\\fArial;Front} \\P Cut 2"]
    insert = [0, "INSERT", 8, "CUT", 2, "TAB", 10, 300, 20, 100, 41, 1, 42, -1, 50, 30]
    block = [
        0,
        "BLOCK",
        8,
        "0",
        2,
        "TAB",
        70,
        0,
        10,
        0,
        20,
        0,
        0,
        "POLYLINE",
        8,
        "CUT",
        66,
        1,
        70,
        1,
    ]
    for x, y in ((0, 0), (50, 0), (50, 30), (0, 30)):
        block += [0, "VERTEX", 8, "CUT", 10, x, 20, y]
    block += [0, "SEQEND", 0, "ENDBLK"]
    header = [9, "$ACADVER", 1, "AC1015", 9, "$INSUNITS", 70, 4]
    drawn = [*square, *spline, *lines, *arcs, *ellipse, *text, *insert]
    return _dxf(("HEADER", header), ("BLOCKS", block), ("ENTITIES", drawn))


def _sewn_dxf() -> str:
    def poly(layer: int, *points: tuple[float, float]) -> list[object]:
        tags: list[object] = [0, "POLYLINE", 8, layer, 66, 1, 70, 1]
        for x, y in points:
            tags += [0, "VERTEX", 8, layer, 10, x, 20, y]
        return [*tags, 0, "SEQEND", 8, layer]

    def text(words: str) -> list[object]:
        return [0, "TEXT", 8, 1, 10, 40, 20, 40, 40, 4, 1, words]

    block: list[object] = [0, "BLOCK", 8, 1, 2, "FRONT", 70, 0, 10, 0, 20, 0]
    block += poly(1, (0, 0), (200, 0), (200, 140), (0, 140))
    block += poly(14, (10, 10), (190, 10), (190, 130), (10, 130))
    block += poly(11, (80, 60), (100, 60), (100, 80), (80, 80))
    block += [0, "LINE", 8, 7, 10, 30, 20, 70, 11, 170, 21, 70]
    block += [0, "POINT", 8, 4, 10, 100, 20, 0, 0, "POINT", 8, 13, 10, 50, 20, 100]
    for words in ("Piece Name: Front", "Quantity: 2,1", "Material: canvas", "Size: M"):
        block += text(words)
    block += [0, "ENDBLK", 8, 1]
    drawn: list[object] = [0, "INSERT", 8, 1, 2, "FRONT", 10, 0, 20, 0]
    drawn += [0, "TEXT", 8, 1, 10, 0, 20, 0, 40, 4, 1, "Units: METRIC"]
    return _dxf(("BLOCKS", block), ("ENTITIES", drawn))
