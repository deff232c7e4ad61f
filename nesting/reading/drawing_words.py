"""The page on what to draw a pattern file with, written from the tables that read it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from textwrap import fill

from nesting.pattern.piece import NotchStyle
from nesting.reading.dxf.sewn import ROLES
from nesting.reading.items import CLOSE, WORDS, Role
from nesting.reading.unit.check_square import LARGEST

__all__ = ["EXAMPLE", "drawing_page"]

_MEANING: dict[Role, str] = {
    Role.CUT: "the outline, a closed line, or lines that meet end to end",
    Role.HOLE: "a cut-out inside an outline",
    Role.SEW: "the sewing line inside an outline",
    Role.GRAIN: "the grain line; one arrowhead says which end is up",
    Role.FOLD: "the straight edge of a half piece, or the middle of a whole one",
    Role.LINE: "a line or outline to draw on the part",
    Role.NOTCH: "a notch: a short line at the edge, or a point",
    Role.DRILL: "a drill hole: a circle or a point",
    Role.STRIPE: "where a stripe of the print runs",
    Role.PLAID: "where a cross stripe runs; the print is centred where the two cross",
    Role.TEXT: "words to write on the part",
    Role.REFERENCE: "a line or square of known length; never a piece",
    Role.IGNORE: "nothing; it is not read",
    Role.TURN: "a corner point",
    Role.CURVE: "a point on a curve",
    Role.CHECK: "a dense copy of the outline, compared with it",
}

EXAMPLE = """\
<svg xmlns="http://www.w3.org/2000/svg" width="300mm" height="250mm" viewBox="0 0 300 250">
  <marker id="up" orient="auto" refX="9" refY="3"><path d="M0,0 L9,3 L0,6 z"/></marker>
  <g id="Front">
    <path class="cut" d="M20,20 H240 V180 H20 Z"/>
    <path class="sew" d="M30,30 H230 V170 H30 Z"/>
    <line class="grain" x1="130" y1="150" x2="130" y2="50" marker-end="url(#up)"/>
    <line class="notch" x1="130" y1="20" x2="130" y2="24"/>
    <circle class="drill" cx="60" cy="60" r="2"/>
    <path class="line" d="M80,120 H180"/>
    <text x="40" y="50">Quantity: 1,1</text>
  </g>
  <rect x="20" y="195" width="50" height="50"/><text x="25" y="220">5 cm</text>
</svg>
"""


def drawing_page() -> str:
    """Return the page as Markdown, which is plain enough for a terminal."""
    return "\n".join(_lines()) + "\n"


def _lines() -> Iterator[str]:
    yield from (
        "# What to draw a pattern file with",
        "",
        "Any program that writes SVG, DXF or PDF will do. Draw each piece as a closed outline;",
        "what else lies on it is told by the name of its layer, class, label or id. Then look:",
        "",
        "```sh",
        "thriftlay pieces FILE --picture pieces.png",
        "```",
        "",
        "To begin with, draw on from one of the small patterns in `starters`, beside this page",
        "(`thriftlay samples` copies them): SVG, DXF or PDF, mm on A4 or inches on Letter.",
        "",
        "## Names of layers",
        "",
        "Capitals, spaces, hyphens, numbers and a last s don't matter: `Sew lines 2` is `sewline`.",
        "In SVG the name may be a class, a label, a title or an id, of the thing or of a group",
        "around it; in DXF it is the layer.",
        "",
        "| what it is | names |",
        "|---|---|",
    )
    for role, words in WORDS.items():
        every = words.split("|")
        plain = [word for word in every if word.removesuffix("s") not in every or word[-1] != "s"]
        names = ", ".join(f"`{word}`" for word in plain)
        yield f"| {_MEANING[role]} | {names} |"
    yield from (
        "",
        "A layer of any other name: closed lines are outlines, and cut-outs where they lie in one;",
        "one that runs parallel inside an outline is its sewing line; open lines are drawn. For",
        "layers with names of their own say what they are for, in SVG also by the stroke's colour:",
        "`--role RED=cut --role '#0000ff=line'`. The roles:",
        *_wrapped(f"`{role.value}`" for role in WORDS),
        "",
        "A dashed contour inside an outline that is not dashed is drawn and not cut out, or its",
        "sewing line (`stroke-dasharray` in SVG, line types in DXF); `--role dashed=sew` says what",
        "`dashed`, `dotted` or `dash-dotted` lines are. Widths say nothing, nor do colours for",
        "which no role is said.",
        "",
        "## PDF",
        "",
        "Layers of a PDF are named as above, and `--role` takes a colour, `dashed`, `dotted` and",
        "`dash-dotted`. For the rest the shape of a line and the words beside it say what it is:",
        "",
        "- grain: a straight line with an arrowhead, or with the word `grain` beside it;",
        "- the edge on the fold: a bracket whose arms point to it, or the word `fold` along it;",
        "- notch: a short line at the edge, or a small triangle with two corners on it;",
        "- a place to mark: a small circle or cross with a word beside it;",
        "- where something is sewn on, which is drawn and not cut out: a dashed contour inside an",
        "  outline that is not, or one in which `placement` or `position` is written (anywhere,",
        "  not in a PDF alone); a dashed one along the whole outline is its sewing line, be the",
        "  allowance wider at a hem;",
        "- sizes drawn into one another: layers of their names, or a key: a short level line in",
        "  the colour or dashes of each, its size beside it.",
        "",
        "Evenly spaced lines over the whole page are squared ground and left out.",
        "",
        "A pattern on several pages is put together by lines that are drawn on both of two pages",
        "or go on from one to the next, by half diamonds with the same letters at facing edges,",
        "and by labels such as `B3`. A frame that all pages have is none of it.",
        "",
        "## Scans and photographs (PNG, JPEG)",
        "",
        "A picture needs something of known size in it, which `--reference` (in a job",
        "`file_reference`) names; it is no piece:",
        "",
        '- a sheet that lies beside the pieces, or several: `A4`, `Letter`, `"30 x 20 cm"`;',
        '- a square that is drawn on what is scanned, or lies there: `"5 cm square"`;',
        "- a rectangle, by its corners in pixels, the first side from the first corner to the",
        '  second: `"60 x 40 cm at 120,80 2010,95 1990,1400 100,1380"`;',
        '- of a flat scan, its resolution: `"150 dpi"`;',
        "- nothing where our own marks lie at the corners (`thriftlay print --what marks`).",
        "",
        'Two or more are joined: `"A4 and 5 cm square"`. Paper pieces lie flat on a plain ground',
        "of another colour, with ground seen all round each; what is drawn with a pen is closed,",
        "and `--line` (`file_line`) says whether the middle of the line or its outside is meant.",
        "Cut-outs and notches that are cut are found; in what is drawn, too, an arrow (the grain,",
        "one head is up) and seam lines, dashed or not. Words, folds and marks are not read, which",
        "is told, and drawn in the picture (`--picture`).",
        "",
        "## Names of pieces",
        "",
        "- SVG: the title, label or id of the group that holds the piece, or of its outline.",
        "  Names that programs give (`path12`) don't count.",
        "- DXF: the block's name.",
        "- Without these: the largest text inside, then the layer's name, if it is none of",
        "  those above. A text beside all pieces is a title.",
        "- Texts such as `Piece Name: Front`, `Quantity: 1,1` (right, left) and",
        "  `Material: canvas` are read, too; so are `cut 2 outer, 2 lining`, `cut 1 on fold` and",
        "  `cut 1 pair`: how many, told with the piece.",
        "",
        "## Which end is up",
        "",
        "Draw one arrowhead at the end of the grain line that points to the top of the print: two",
        "strokes, a triangle, or SVG's `marker-end`. Without one, or with one at each end, the",
        "piece is not laid on goods with a right way up until the job says `grain`.",
        "",
        "## Size",
        "",
        f"Draw a check square and write its length in it: `5 cm`, `2 in`. Up to {LARGEST:g} mm",
        "the length alone will do; a larger one says `test square 10 cm`. It settles the unit,",
        "tells if the drawing was shrunk, and is no piece. A line on a layer called",
        "`scale bar 100 mm` does the same. Any other line or square of known length can be named",
        "by its label or the text beside it: `--reference 'my ruler=30 cm'`.",
        "",
        f"Outlines that are open by up to {CLOSE:g} mm are closed; `--close` closes wider gaps.",
        "An edge that two pieces share may be drawn once if it is on a layer to cut.",
        "",
        "## Notches",
        "",
        "A short line from the edge into the piece is a slit as deep as it is long. In SVG the",
        "class may name the shape (`notch castle`), `data-depth` and `data-width` give sizes:",
        *_wrapped(f"`{style.value}`" for style in NotchStyle),
        "",
        "## DXF with numbered layers",
        "",
        "Files with an outline on layer 1 are read by the layer plan of sewn products; every block",
        "is a piece.",
        "",
        "| layer | what it is |",
        "|---|---|",
    )
    layers: dict[Role, list[int]] = defaultdict(list)
    for number, role in ROLES.items():
        layers[role].append(number)
    for role, numbers in sorted(layers.items(), key=lambda one: one[1][0]):
        yield f"| {', '.join(map(str, sorted(numbers)))} | {_MEANING[role]} |"
    yield from ("", "## An example", "", "```xml", EXAMPLE.rstrip("\n"), "```")


def _wrapped(words: Iterable[str]) -> list[str]:
    return fill(", ".join(words) + ".", width=90).split("\n")
