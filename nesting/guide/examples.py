"""The examples of the page about the job file: each is read by a test, most are laid.

An example is what the page shows; `rest` is what a whole job needs besides.
"""

from __future__ import annotations

from base64 import b64decode
from collections.abc import Mapping
from dataclasses import dataclass, field

__all__ = ["EXAMPLES", "WHOLE", "Example"]

_PNG = (
    "iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAIAAACQd1PeAAAADElEQVR4nGPY0hMFAAOSAZv+3/C4AAAAAElFTkSuQmCC"
)
"""A picture of one brown pixel."""

WHOLE = """\
[job]
name = "Pouch"
bags = 2

[[piece]]
name = "front"
rectangle = ["24 cm", "18 cm"]
corner_radius = "2 cm"
seam_allowance = "10 mm"

    [[piece.mark]]
    kind = "drill"
    at = ["12 cm", "9 cm"]
    copies = 1

[[cloth]]
name = "canvas"
width = "140 cm"
price = 18.50

[[cut]]
piece = "front"
material = "canvas"
copies = 2
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Example:
    """A few lines of a job file, in words first.

    `says`: what they do, in plain words. `text`: what is shown. `rest`: TOML that makes it
    a whole job. `drawn`: a drawing in letters, where that is clearer. `included`: the text is
    a file that a job includes; `files`: others that the job needs, by name.
    """

    says: str
    text: str
    rest: str = ""
    drawn: str = ""
    included: bool = False
    files: Mapping[str, str | bytes] = field(default_factory=dict)

    @property
    def job(self) -> str:
        """The text of a whole job."""
        return self.rest if self.included else f"{self.text}\n{self.rest}"


_JOB = '[job]\nname = "Example"\n'
_FRONT = '[[piece]]\nname = "front"\nrectangle = ["24 cm", "18 cm"]\n'
_CANVAS = '[[cloth]]\nname = "canvas"\nwidth = "60 cm"\n'
_CUT = '[[cut]]\npiece = "front"\nmaterial = "canvas"\n'

EXAMPLES: Mapping[str, Example] = {
    "Top of the file": Example(
        says="The sections that a job file may have. Pieces say what it looks like, materials "
        "what it is cut from, and each `[[cut]]` puts the two together. `[name]` stands once; "
        "`[[name]]` as often as you like, one for each piece, cloth, cut.",
        text=f'include = "shelf.toml"      # left-overs on the shelf\n\n{_JOB}\n'
        + f"{_FRONT}\n{_CANVAS}\n{_CUT}\n"
        + '[[notion]]\nname = "magnet"\n',
        files={
            "shelf.toml": '[[remnant]]\nname = "canvas rest"\nmaterial = "canvas"\n'
            'rectangle = ["40 cm", "30 cm"]\n'
        },
        drawn="""\
[[piece]] front ────────┐
                        ├──► [[cut]] front from canvas ──► marker of canvas
[[cloth]] canvas ───────┤                                        │
                        │                                        ▼
[[remnant]] canvas rest ┘    [[notion]] magnet ──────────► report: what to buy
""",
    ),
    "`[job]`": Example(
        says="What the whole is called, and how many bags are made of it.",
        text='[job]\nname = "Pouch"\nunit = "cm"          # 24 is then 24 cm\n'
        'currency = "EUR"\nbags = 3\n',
        rest=_FRONT + _CANVAS + _CUT,
        drawn="""\
bags = 3      ×    [[cut]] copies = 2     =     6 parts of it
              ×    [[notion]] quantity = 1 =    3 magnets
""",
    ),
    "A shape": Example(
        says="Pieces, cut-outs, flaws, left-overs and hides all are shapes. Give one of the "
        "five: x runs to the right, y upwards. The dot is where `at` puts it.",
        text='[[piece]]\nname = "rectangle"\nrectangle = ["16 cm", "11 cm"]\n'
        'corner_radius = "2 cm"\n\n'
        '[[piece]]\nname = "circle"\ncircle = "12 cm"\n\n'
        '[[piece]]\nname = "ellipse"\nellipse = ["16 cm", "10 cm"]\n\n'
        '[[piece]]\nname = "points"\n'
        'points = [["0 cm", "0 cm"], ["14 cm", "0 cm"], ["11 cm", "12 cm"], ["3 cm", "12 cm"]]\n\n'
        '[[piece]]\nname = "outline"        # straight, straight, and a curve back\n'
        'outline = "M 0,0 L 140,0 L 140,70 C 110,130 30,130 0,70 Z"\n',
        rest=_JOB
        + _CANVAS
        + "".join(
            f'[[cut]]\npiece = "{name}"\nmaterial = "canvas"\n'
            for name in ("rectangle", "circle", "ellipse", "points", "outline")
        ),
    ),
    "`[[piece]]`": Example(
        says="You may draw the line you cut along or the line you sew along (dashed); half a "
        "piece is enough where the other half is the same. Edges are counted from where the "
        "outline starts, counter-clockwise. The arrow is the grain and points up.",
        text='[[piece]]\nname = "front"\noutline = "M 0,0 L 120,0 L 120,180 L 0,150 Z"   # half\n'
        'line = "sewing"\nseam_allowance = { all = "10 mm", 3 = "25 mm" }      # 3: the top\n'
        'fold_edge = 4\ngrain = "across"\n',
        rest=_JOB + _CANVAS + 'nap = "one-way"\n' + _CUT,
    ),
    "`in_size` of a piece": Example(
        says="A job whose `[job]` has `sizes` is laid in one of them, its `size`, and handed out in"
        " all. A piece says here what differs in a size, and is else the same in every one. A"
        " pattern file that holds all of them is named once, with `sized = true`.",
        text='[job]\nname = "Example"\nsizes = ["S", "M", "L"]\nsize = "M"\n\n'
        '[[piece]]\nname = "front"\nrectangle = ["24 cm", "18 cm"]\n\n'
        '    [piece.in_size.S]\n    rectangle = ["20 cm", "15 cm"]\n\n'
        '    [piece.in_size.L]\n    rectangle = ["28 cm", "21 cm"]\n',
        rest=_CANVAS + _CUT,
        drawn="""\
        S            M              L
    20 × 15      24 × 18        28 × 21
""",
    ),
    "`[[piece.hole]]`": Example(
        says="Something cut out of a piece.",
        text=_FRONT + '\n    [[piece.hole]]\n    name = "window"\n'
        '    rectangle = ["10 cm", "5 cm"]\n    corner_radius = "1 cm"\n'
        '    at = ["7 cm", "6.5 cm"]\n',
        rest=_JOB + _CANVAS + _CUT,
    ),
    "`[[piece.mark]]`": Example(
        says="What is cut into the edge, drilled, drawn or written on a piece, so that it can be "
        "sewn. Say where by what you see: from an edge, as with a ruler laid from one of its ends "
        "to the other (`edge`, `along`, `in`), from the middle of the piece (`from_centre`), or by"
        " coordinates (`at`).",
        text=_FRONT
        + '\n    [[piece.mark]]\n    kind = "notch"           # the middle of the lower edge\n'
        '    edge = "bottom"\n    style = "v"\n    size = "8 mm"\n    width = "10 mm"\n'
        '\n    [[piece.mark]]\n    kind = "drill"           # in the middle, below the top\n'
        '    edge = "top"\n    in = "3 cm"\n'
        '    size = "5 mm"\n'
        '\n    [[piece.mark]]\n    kind = "outline"         # where the pocket goes\n'
        '    rectangle = ["10 cm", "7 cm"]\n    at = ["12.5 cm", "4 cm"]\n'
        "    copies = 1               # on the first copy only\n"
        '\n    [[piece.mark]]\n    kind = "text"            # by the middle of the piece\n'
        '    from_centre = ["5.5 cm", "-2 cm"]\n'
        '    text = "pocket"\n    size = "9 mm"\n',
        rest=_JOB + _CANVAS + _CUT,
    ),
    "Any material": Example(
        says="What holds for cloth, sheets and leather alike. `nap` says how parts may be "
        "turned: a print with a right way up is `one-way`, plain cloth `none`, felt or foam "
        "`any`.",
        text='[[cloth]]\nname = "corduroy"\nwidth = "60 cm"\nnap = "one-way"\nspacing = "4 mm"\n'
        'substance = "cotton"\n',
        rest=_JOB
        + '[[piece]]\nname = "flap"\npoints = [["0 cm","0 cm"],["20 cm","4 cm"],["20 cm","14 cm"],'
        '["0 cm","18 cm"]]\n[[cloth]]\nname = "plain"\nwidth = "60 cm"\nspacing = "4 mm"\n'
        '[[cloth]]\nname = "felt"\nwidth = "60 cm"\nspacing = "4 mm"\nnap = "any"\n'
        '[[cut]]\npiece = "flap"\nmaterial = ["corduroy", "plain", "felt"]\ncopies = 3\n',
    ),
    "`[[cloth]]`": Example(
        says="What is sold by the length. Nothing is cut from the selvedges and the ends.",
        text='[[cloth]]\nname = "canvas"\nwidth = "60 cm"\nselvedge = "2 cm"\nends = "2 cm"\n'
        'step = "10 cm"           # the shop cuts 50 cm, 60 cm, 70 cm…\nprice = 18.50\n',
        rest=_JOB + _FRONT + _CUT + "copies = 4\n",
    ),
    "A width, in `widths`": Example(
        says="The same cloth is on sale in two widths: both are tried, and the cheaper one is "
        "taken.",
        text='[[cloth]]\nname = "canvas"\nwidths = [\n'
        '    { booked = "45 cm", price = 9.80 },\n'
        '    { booked = "80 cm", usable = "77 cm", price = 13.20 },\n]\n',
        rest=_JOB + _FRONT + _CUT + "copies = 4\n",
    ),
    "`print` of a cloth": Example(
        says="The print repeats along and across the cloth; each ring is the middle of a motif. "
        "A part with `centred = true` lies with its middle on one.",
        text='[[cloth]]\nname = "canvas"\nwidth = "47 cm"\n'
        'print = { along = "20 cm", across = "15 cm", drop = 0.5, origin = ["10 cm", "7.5 cm"] }\n'
        '\n[[cut]]\npiece = "front"\nmaterial = "canvas"\ncentred = true\n',
        rest=_JOB + _FRONT,
    ),
    "`shrinkage` of a cloth": Example(
        says="Cloth that gets shorter in the wash. Either you wash it first and buy more, or you "
        "cut larger and wash later.",
        text='[[cloth]]\nname = "canvas"\nwidth = "60 cm"\n'
        'shrinkage = { along = ["50 cm", "45 cm"], across = "4 %", cut_larger = true }\n',
        rest=_JOB + _FRONT + _CUT,
    ),
    "`[[sheet]]`": Example(
        says="Foam, cork, stiffener, panels of leather: sheets of one size.",
        text='[[sheet]]\nname = "foam"\nsize = ["60 cm", "40 cm"]\nmargin = "15 mm"\n'
        'count = 4\nnap = "any"\nprice = 11.50\n',
        rest=_JOB + _FRONT + '[[cut]]\npiece = "front"\nmaterial = "foam"\ncopies = 3\n',
    ),
    "`[[remnant]]`, `[[sheet.remnant]]`": Example(
        says="What is left of an earlier bag, drawn as it lies there. It is used before anything "
        "is bought.",
        text='[[remnant]]\nname = "foam, cut around"\nmaterial = "foam"\n'
        'points = [["0 cm", "0 cm"], ["56 cm", "0 cm"], ["56 cm", "24 cm"], ["30 cm", "38 cm"], '
        '["0 cm", "38 cm"]]\n'
        '\n    [[remnant.hole]]\n    circle = "7 cm"\n    at = ["50 cm", "6 cm"]\n',
        rest=_JOB
        + _FRONT
        + '[[sheet]]\nname = "foam"\nsize = ["60 cm", "40 cm"]\n'
        + '[[cut]]\npiece = "front"\nmaterial = "foam"\ncopies = 2\n',
    ),
    "`[[leather]]`": Example(
        says="One leather and the hides you have of it. Only as many hides are begun as are "
        "needed.",
        text='[[leather]]\nname = "bridle"\nprice = 9.80\nprice_per = "ft²"\nmargin = "2 cm"\n\n'
        '    [[leather.hide]]\n    name = "shoulder 3"\n    ellipse = ["90 cm", "60 cm"]\n',
        rest=_JOB + _FRONT + '[[cut]]\npiece = "front"\nmaterial = "bridle"\ncopies = 4\n',
    ),
    "`[[leather.hide]]`": Example(
        says="One hide as it lies on the table: its outline, measured or traced, and which way the "
        "backbone runs.",
        text='[[leather]]\nname = "calf"\n\n'
        '    [[leather.hide]]\n    name = "calf 4"\n'
        '    outline = "M 0,120 L 120,0 C 300,60 560,60 720,0 L 800,90 C 760,220 760,330 800,460 '
        'L 720,560 C 560,500 300,500 120,560 L 0,440 C 40,330 40,220 0,120 Z"\n'
        '    guess_zones = "hide"\n    backbone = 0       # tail on the left, neck on the right\n',
        rest=_JOB + _FRONT + '[[cut]]\npiece = "front"\nmaterial = "calf"\ngrade = "A"\n',
    ),
    "`[[leather.hide.flaw]]`": Example(
        says="A scar, a brand, a hole: no part lies on it, nor nearer to it than the margin.",
        text='[[leather]]\nname = "calf"\n\n    [[leather.hide]]\n    name = "calf 4"\n'
        '    rectangle = ["60 cm", "40 cm"]\n\n'
        '        [[leather.hide.flaw]]\n        name = "brand"\n        circle = "6 cm"\n'
        '        at = ["29 cm", "20 cm"]\n',
        rest=_JOB + _FRONT + '[[cut]]\npiece = "front"\nmaterial = "calf"\ncopies = 2\n',
    ),
    "`picture` of a hide or a print": Example(
        says="What it looks like from straight above, drawn under the marker at true scale, so "
        "that you see on what each part lies. `thriftlay hide` and `thriftlay repeat` make such "
        "pictures and write this; no file for a machine has them.",
        text='[[leather]]\nname = "calf"\n\n    [[leather.hide]]\n    name = "side 17"\n'
        '    rectangle = ["60 cm", "40 cm"]\n'
        '    picture = { file = "side-17.png", size = ["60 cm", "40 cm"], at = [0, 0] }\n',
        rest=_JOB + _FRONT + '[[cut]]\npiece = "front"\nmaterial = "calf"\ncopies = 2\n',
        files={"side-17.png": b64decode(_PNG)},
        drawn="""\
photograph ──► thriftlay hide ──► side-17.toml    outline, flaws, backbone
                                  side-17.jpg     the hide from straight above ──► under the marker
""",
    ),
    "`[[leather.hide.zone]]`": Example(
        says="An area of one quality. In the butt below, leather stretches least along x: parts "
        'lie that way, give or take 20°. A cut with `grade = "B"` may lie in both zones, and '
        "across their border.",
        text='[[leather]]\nname = "calf"\n\n    [[leather.hide]]\n    name = "calf 4"\n'
        '    rectangle = ["80 cm", "40 cm"]\n\n'
        '        [[leather.hide.zone]]\n        name = "butt"\n        grade = "A"\n'
        '        rectangle = ["45 cm", "40 cm"]\n        tight = 0\n        slack = 20\n\n'
        '        [[leather.hide.zone]]\n        name = "shoulder"\n        grade = "B"\n'
        '        rectangle = ["35 cm", "40 cm"]\n        at = ["45 cm", "0 cm"]\n'
        "        tight = 0\n        slack = 40\n",
        rest=_JOB
        + _FRONT
        + '[[cut]]\npiece = "front"\nmaterial = "calf"\ncopies = 2\ngrade = "B"\n',
    ),
    "`[[cut]]`": Example(
        says="One line of the cutting list: this piece, from this material, so often. The same "
        "piece may stand in many lines: whole from canvas, without seam allowance from foam.",
        text='[[cut]]\npiece = "side"\nmaterial = "canvas"\npairs = true          # a right one '
        'and a left one\n\n[[cut]]\npiece = "side"\nmaterial = "foam"\ntrimmed = true        # '
        'along the sewing line\ngap = "4 mm"\n\n'
        '[[cut]]\npiece = "side"\nmaterial = "lining"\nreversed = true       # the left one only\n',
        rest=_JOB
        + '[[piece]]\nname = "side"\npoints = [["0 cm","0 cm"],["20 cm","0 cm"],["20 cm","8 cm"],'
        '["6 cm","16 cm"],["0 cm","16 cm"]]\nline = "sewing"\nseam_allowance = "12 mm"\n'
        + '[[cloth]]\nname = "canvas"\nwidth = "44 cm"\n'
        + '[[cloth]]\nname = "foam"\nwidth = "24 cm"\n'
        + '[[cloth]]\nname = "lining"\nwidth = "24 cm"\n',
    ),
    "`matches` of a cut": Example(
        says="Two pieces are sewn together and the print should run on. Name a point at the same "
        "end of the seam on both: they then lie on the same place of the print.",
        text='[[piece]]\nname = "left half"\nrectangle = ["14 cm", "20 cm"]\n'
        'named_points = { top = ["14 cm", "20 cm"] }\n\n'
        '[[piece]]\nname = "right half"\nrectangle = ["14 cm", "20 cm"]\n'
        'named_points = { top = ["0 cm", "20 cm"] }\n\n'
        '[[cut]]\npiece = "left half"\nmaterial = "canvas"\ncentred = true\n\n'
        '[[cut]]\npiece = "right half"\nmaterial = "canvas"\n'
        'matches = { point = "top", piece = "left half", to = "top" }\n',
        rest=_JOB + '[[cloth]]\nname = "canvas"\nwidth = "30 cm"\n'
        'print = { along = "10 cm", across = "12 cm", origin = ["7 cm", "1 cm"] }\n',
    ),
    "`[[held]]`": Example(
        says="A part stays where you put it: the motif that you want in its middle, a place away "
        "from a weak spot of the cloth. All else is laid round it, and the marker is as short as "
        "that allows. What breaks a rule there is refused.",
        text='[[held]]\nmaterial = "canvas"\npiece = "front"\ncopy = 2\n'
        'at = ["20 cm", "21 cm"]      # along and across, its lower left corner\n',
        rest=_JOB + _FRONT + _CANVAS + _CUT + "copies = 3\n",
    ),
    "`[[notion]]`": Example(
        says=(
            "Buckles, thread, zips: they are only counted and priced. They are of each bag that "
            "has neither notions nor pieces of its own; where there is no such bag they are "
            "refused, and belong into a `[[bag.notion]]`."
        ),
        text='[[notion]]\nname = "buckle 25 mm"\nquantity = 2\nprice = 2.40\n\n'
        '[[notion]]\nname = "thread"\nquantity = 12\nunit = "m"\n',
        rest=_JOB + "bags = 3\n" + _FRONT + _CANVAS + _CUT,
        drawn="""\
3 bags    6 × buckle 25 mm    14.40
         36 m of thread
""",
    ),
    "`[[bag]]`": Example(
        says="An order of several kinds of bags, which share markers where that saves cloth. A "
        "bag has its own job file, or its pieces and cuts here.",
        text='[[bag]]\nname = "pouch, moss"\ncount = 5\nmaterials = { canvas = "canvas, moss" }'
        '      # colourway\n\n[[bag]]\nname = "pouch, rust"\ncount = 3\n'
        'materials = { canvas = "canvas, rust" }\n',
        rest=_JOB
        + _FRONT
        + "".join(
            f'[[cloth]]\nname = "{name}"\nwidth = "60 cm"\n'
            for name in ("canvas", "canvas, moss", "canvas, rust")
        )
        + _CUT,
        drawn="""\
[[bag]] pouch, moss × 5 ──► canvas, moss ──► 5 fronts
[[bag]] pouch, rust × 3 ──► canvas, rust ──► 3 fronts
""",
    ),
    "`[table]`": Example(
        says="For an order: cloth is spread in layers (plies) on a table, a marker is put on top, "
        "and all layers are cut at once. `bed` is for a machine that can't reach everything.",
        text='[table]\nlength = "3 m"\nplies = 4\nbags = 6\nspread_cost = "5 cm"\n',
        rest=_JOB + "bags = 8\n" + _FRONT + _CANVAS + _CUT + "copies = 2\n",
        drawn="""\
marker   ┌───────┬───────┬────────────┐   the parts of up to `bags` bags
         │ front │ front │  base      │
         └───────┴───────┴────────────┘
plies    ──────────────────────────────┐
         ──────────────────────────────┤  `plies` = 4: every part is cut 4 times
         ──────────────────────────────┤
         ──────────────────────────────┘
table    ═══════════════════════════════  no longer than `length`
""",
    ),
    "An included file": Example(
        says="What several jobs share stands in a file of its own, which they `include`: pieces "
        "from a pattern file, or what lies on the shelf.",
        text='[[remnant]]\nname = "canvas rest"\nmaterial = "canvas"\n'
        'rectangle = ["40 cm", "30 cm"]\n\n'
        '[at_hand]\ncanvas = [{ length = "240 cm", width = "60 cm" }, "90 cm"]\n'
        "magnet = 12\n",
        rest='include = "shelf.toml"\n'
        + _JOB
        + _FRONT
        + _CANVAS
        + _CUT
        + '[[notion]]\nname = "magnet"\n',
        included=True,
        drawn="""\
pouch.toml ──┐
             ├── include = "shelf.toml" ──► shelf.toml: left-overs, lengths, sheets, notions
tote.toml  ──┘
""",
    ),
}
"""By the title of their section."""
