"""Whatever is wrong with a job file is told in one line: what, where, what to do."""

from __future__ import annotations

from pathlib import Path as FilePath

import pytest

from nesting.errors import JobError
from nesting.job.file import parse_job, read_job
from nesting.planning.lay.lays import lays

GOOD = """\
[job]
name = "Pouch"

[[piece]]
name = "front"
rectangle = ["20 cm", "15 cm"]
line = "cutting"
seam_allowance = "10 mm"
fold_back = [[0, 100], [200, 100]]
named_points = { corner = [10, 10], other = [190, 10] }

    [[piece.mark]]
    kind = "notch"
    at = [100, 0]

[[piece]]
name = "disc"
circle = "6 cm"

[[cloth]]
name = "canvas"
width = "140 cm"
nap = "one-way"
print = { along = "8 cm", across = "6 cm" }

[[cloth]]
name = "lining"
widths = ["90 cm", "110 cm"]

[[sheet]]
name = "foam"
size = ["50 cm", "40 cm"]
count = 3

[[leather]]
name = "hide leather"

    [[leather.hide]]
    name = "hide 1"
    rectangle = ["60 cm", "50 cm"]

        [[leather.hide.flaw]]
        circle = 30
        at = [300, 250]

        [[leather.hide.zone]]
        grade = "A"
        rectangle = [300, 500]

[[cut]]
piece = "front"
material = ["canvas", "lining"]
copies = 2

[[cut]]
piece = "front"
material = "foam"
trimmed = true

[[cut]]
piece = "disc"
material = "hide leather"
grade = "A"
"""


def complaint(text: str) -> JobError:
    """Return the error that a job text gives, from reading or from its lays."""
    with pytest.raises(JobError) as caught:
        lays(parse_job(text, file="pouch.toml"))
    message = str(caught.value)
    assert "\n" not in message
    assert message.isprintable()
    assert len(message) < 320
    assert message.startswith("pouch.toml")
    return caught.value


def changed(old: str, new: str) -> str:
    assert GOOD.count(old) >= 1, old
    return GOOD.replace(old, new, 1)


def line_of(text: str, part: str) -> int:
    return text[: text.index(part)].count("\n") + 1


def test_the_good_one_is_good() -> None:
    assert [lay.name for lay in lays(parse_job(GOOD))] == [
        "canvas",
        "lining",
        "foam",
        "hide leather",
    ]


BOW_TIE = "points = [[0, 0], [200, 150], [200, 0], [0, 150]]"
RECTANGLE = 'rectangle = ["20 cm", "15 cm"]'

# (what is replaced, by what, what the error says, its field, text on the line it names)
CASES = {
    "syntax: no value": ('name = "Pouch"', "name =", "not valid TOML", None, "name ="),
    "syntax: no quote": ('name = "disc"', 'name = "disc', "not valid TOML", None, 'name = "disc'),
    "syntax: key twice": (
        'name = "disc"',
        'name = "disc"\nname = "disk"',
        "not valid TOML",
        None,
        'name = "disk"',
    ),
    "unknown key": ("copies = 2", "copys = 2", 'did you mean "copies"?', "cut[1].copys", "copys"),
    "unknown key in a piece": (
        "seam_allowance",
        "seam_allowence",
        'did you mean "seam_allowance"?',
        "piece.front.seam_allowence",
        "seam_allowence",
    ),
    "unknown key in a mark": (
        "    at = [100, 0]",
        "    where = [100, 0]",
        'unknown key "where"',
        "piece.front.mark[1].where",
        "where",
    ),
    "unknown key in an inline table": (
        'along = "8 cm"',
        'alon = "8 cm"',
        'did you mean "along"?',
        "cloth.canvas.print.alon",
        "alon",
    ),
    "unknown section": ("[[sheet]]", "[[sheets]]", 'did you mean "sheet"?', "sheets", "[[sheets]]"),
    "no job": ('[job]\nname = "Pouch"', "", '"job" is missing', "", None),
    "no name": ('name = "disc"\n', "", '"name" is missing', "piece[2]", "[[piece]]\ncircle"),
    "no shape": (RECTANGLE, "", "has no shape", "piece.front", '[[piece]]\nname = "front"'),
    "two shapes": (
        'circle = "6 cm"',
        "circle = 5\npoints = [[0, 0]]",
        "give one of",
        "piece.disc",
        None,
    ),
    "no width": ('width = "140 cm"', "", "has no width", "cloth.canvas", None),
    "negative width": ('"140 cm"', '"-140 cm"', "more than 0", "cloth.canvas.width", '"-140'),
    "zero size": ('"6 cm"\n', "0\n", "more than 0", "piece.disc.circle", "circle = 0"),
    "negative allowance": (
        '"10 mm"',
        '"-1 mm"',
        "not be negative",
        "piece.front.seam_allowance",
        '"-1',
    ),
    "unknown unit": ('"6 cm"\n', '"6 cn"\n', 'did you mean "', "piece.disc.circle", '"6 cn"'),
    "unknown unit in a point": (
        "corner = [10, 10]",
        'corner = ["1 qm", 10]',
        "unknown unit",
        "piece.front.named_points.corner[1]",
        "corner",
    ),
    "unknown default unit": (
        "[job]",
        '[job]\nunit = "mn"',
        "must be one of mm",
        "job.unit",
        "unit",
    ),
    "nan": ('"6 cm"\n', "nan\n", "not a usable number", "piece.disc.circle", "circle = nan"),
    "infinity": ('"6 cm"\n', "inf\n", "not a usable number", "piece.disc.circle", "circle = inf"),
    "nan as text": ('"6 cm"\n', '"nan cm"\n', "not a number", "piece.disc.circle", "nan cm"),
    "nan in path data": (
        RECTANGLE,
        'outline = "M 0,0 L nan,0 L 100,100 Z"',
        "",
        "piece.front.outline",
        "outline =",
    ),
    "crosses itself": (
        RECTANGLE,
        BOW_TIE,
        "crosses or touches itself",
        "piece.front.points",
        "points =",
    ),
    "open": (
        RECTANGLE,
        'outline = "M 0,0 L 200,0 L 200,150 L 0,150"',
        "is open",
        "piece.front.outline",
        "outline =",
    ),
    "no area": (
        RECTANGLE,
        "points = [[0, 0], [200, 0], [100, 0]]",
        "",
        "piece.front.points",
        "points =",
    ),
    "two points": (
        RECTANGLE,
        "points = [[0, 0], [200, 0]]",
        "at least 3",
        "piece.front.points",
        None,
    ),
    "duplicate points only": (
        RECTANGLE,
        f"points = [{', '.join(['[5, 5]'] * 5000)}]",
        "",
        "piece.front.points",
        "points =",
    ),
    "thousands of duplicate points": (
        RECTANGLE,
        f"points = [{', '.join(['[0, 0]'] * 5000)}, [200, 0], [200, 100], [0, 100]]",
        "4999 of its points repeat the point before",
        "piece.front.points",
        "points =",
    ),
    "thousands of steps of no length": (
        RECTANGLE,
        f'outline = "M 0,0 {"h 0 " * 5000} H 200 V 100 H 0 Z"',
        "5000 of its points repeat the point before",
        "piece.front.outline",
        "outline",
    ),
    "a cut-out over the edge": (
        RECTANGLE,
        'outline = "M 0,0 H 200 V 100 H 0 Z M 180,40 h 40 v 20 h -40 Z"',
        "cut-out is not inside the outline",
        "piece.front.outline",
        "outline",
    ),
    "cut-outs that overlap": (
        RECTANGLE,
        'outline = "M 0,0 H 200 V 100 H 0 Z M 20,20 h 40 v 40 h -40 Z M 50,50 h 40 v 40 h -40 Z"',
        "two cut-outs overlap",
        "piece.front.outline",
        "outline",
    ),
    "path data that draws nothing": (
        RECTANGLE,
        'outline = ""',
        "draws nothing",
        "piece.front.outline",
        "outline",
    ),
    "name that can't be printed": (
        'piece = "disc"',
        'piece = "di\\u202esc"',
        'did you mean "disc"?',
        "cut[3].piece",
        "u202e",
    ),
    "path data that is none": (
        RECTANGLE,
        'outline = "hello"',
        "",
        "piece.front.outline",
        "outline",
    ),
    "allowance larger than the piece": (
        '"10 mm"',
        '"8 cm"',
        "",
        "piece.front.seam_allowance",
        "seam_allowance",
    ),
    "no such edge": (
        'seam_allowance = "10 mm"',
        'seam_allowance = { all = "10 mm", 9 = 0 }',
        "no edge 9",
        "piece.front.seam_allowance",
        "seam_allowance",
    ),
    "trimmed to nothing": (
        "trimmed = true",
        'trimmed = true\ngap = "7 cm"',
        "",
        "cut[2].trimmed",
        "trimmed = true",
    ),
    "trimmed without a sewing line": (
        'piece = "front"\nmaterial = "foam"',
        'piece = "disc"\nmaterial = "foam"',
        "sewing line is not known",
        "cut[2].trimmed",
        "trimmed = true",
    ),
    "gap without trimming": (
        "trimmed = true",
        "gap = 1",
        "trimmed pieces only",
        "cut[2].gap",
        "gap",
    ),
    "trimmed and cut roughly": (
        "trimmed = true",
        "trimmed = true\nrough_margin = 5",
        "both trimmed and cut larger",
        "cut[2]",
        None,
    ),
    "no fold-back line": (
        'piece = "disc"\nmaterial',
        'piece = "disc"\nfolded_back = true\nmaterial',
        "no fold-back line",
        "cut[3].folded_back",
        "folded_back",
    ),
    "notch off the edge": (
        "at = [100, 0]",
        "at = [100, 40]",
        "off the edge",
        "piece.front.mark[1].at",
        "at = [100",
    ),
    "drill hole off the piece": (
        "    at = [100, 0]\n",
        '    at = [100, 0]\n\n    [[piece.mark]]\n    kind = "drill"\n    at = [500, 50]\n',
        "drill mark is off the piece by 30 cm",
        "piece.front.mark[2]",
        None,
    ),
    "placement line off the piece": (
        "    at = [100, 0]\n",
        '    at = [100, 0]\n\n    [[piece.mark]]\n    kind = "line"\n'
        "    points = [[500, 0], [500, 90]]\n",
        "line mark is off the piece by 30 cm",
        "piece.front.mark[2]",
        None,
    ),
    "notch without a place": (
        "    at = [100, 0]\n",
        "",
        "no place",
        "piece.front.mark[1]",
        "[[piece.mark]]",
    ),
    "a kind of mark nobody knows": (
        '"notch"',
        '"notsch"',
        'did you mean "notch"?',
        "piece.front.mark[1].kind",
        "notsch",
    ),
    "copy 0 of a mark": (
        "    at = [100, 0]",
        "    at = [100, 0]\n    copies = 0",
        "from 1",
        "piece.front.mark[1].copies",
        "copies = 0",
    ),
    "mark for no material": (
        "    at = [100, 0]",
        '    at = [100, 0]\n    materials = "linning"',
        'did you mean "lining"?',
        "piece.front.mark[1].materials",
        "linning",
    ),
    "mark for a copy there is not": (
        "    at = [100, 0]",
        "    at = [100, 0]\n    copies = [3]",
        "no line of the cutting list has 3 copies",
        "piece.front.mark[1].copies",
        "copies = [3]",
    ),
    "material nobody defined": (
        'material = "foam"',
        'material = "fome"',
        'did you mean "foam"?',
        "cut[2].material",
        "fome",
    ),
    "piece nobody defined": (
        'piece = "disc"',
        'piece = "disk"',
        'did you mean "disc"?',
        "cut[3].piece",
        '"disk"',
    ),
    "wider than every width": (
        RECTANGLE,
        'rectangle = ["20 cm", "120 cm"]',
        "needs a width of 120 cm",
        "piece.front",
        '[[piece]]\nname = "front"',
    ),
    "larger than the sheet": (
        'size = ["50 cm", "40 cm"]',
        'size = ["15 cm", "15 cm"]',
        "front fits no sheet of foam",
        "piece.front",
        None,
    ),
    "larger than every hide": (
        'circle = "6 cm"',
        'circle = "55 cm"',
        "fits no hide",
        "piece.disc",
        None,
    ),
    "zero copies": ("copies = 2", "copies = 0", "at least 1", "cut[1].copies", "copies = 0"),
    "half a copy": ("copies = 2", "copies = 1.5", "whole number", "cut[1].copies", "copies"),
    "copies as text": ("copies = 2", 'copies = "two"', "whole number", "cut[1].copies", "copies"),
    "zero bags": ("[job]", "[job]\nbags = 0", "at least 1", "job.bags", "bags = 0"),
    "far too many parts": (
        "copies = 2",
        "copies = 100000\npairs = true",
        "more than 200000",
        "",
        None,
    ),
    "same name twice": (
        'name = "disc"',
        'name = "front"',
        "is used twice",
        "piece.front.name",
        None,
    ),
    "names that clash": (
        'name = "disc"',
        'name = "Front"',
        "same file name",
        "piece.Front.name",
        '"Front"',
    ),
    "names that clash as files": (
        'name = "lining"',
        'name = "Canvas"',
        "same file name",
        "cloth.Canvas.name",
        '"Canvas"',
    ),
    "name with a slash": (
        'name = "disc"',
        'name = "../disc"',
        "can't have",
        "piece.../disc.name",
        None,
    ),
    "name with a control character": (
        'name = "disc"',
        'name = "di\\u0007sc"',
        "can't be printed",
        "piece[2].name",
        "u0007",
    ),
    "reserved name": ('name = "disc"', 'name = "CON"', "file name", "piece.CON.name", "CON"),
    "empty name": ('name = "disc"', 'name = " "', "empty", "piece. .name", None),
    "endless name": (
        'name = "disc"',
        f'name = "{"x" * 5000}"',
        "longer than",
        "piece[2].name",
        None,
    ),
    "same cut twice": (
        'material = "foam"\ntrimmed = true',
        'material = "canvas"\ncopies = 2',
        "stands twice",
        "cut[2]",
        None,
    ),
    "no cutting list": (
        GOOD[GOOD.index("[[cut]]") :],
        "",
        "cutting list of Pouch is empty",
        "",
        None,
    ),
    "usable wider than booked": (
        'width = "140 cm"',
        'width = "140 cm"\nusable = "150 cm"',
        "would be usable",
        "cloth.canvas.width",
        None,
    ),
    "selvedge that leaves nothing": (
        'width = "140 cm"',
        'width = "140 cm"\nselvedge = "70 cm"',
        "would be usable",
        "cloth.canvas.width",
        None,
    ),
    "shrinkage of all": (
        'nap = "one-way"',
        "shrinkage = 1.0",
        "share",
        "cloth.canvas.shrinkage.along",
        None,
    ),
    "a nap of two ways": (
        'nap = "one-way"',
        'nap = "two-way"',
        'write "none": parts may be turned by 180°',
        "cloth.canvas.nap",
        'nap = "two-way"',
    ),
    "a directional nap": (
        'nap = "one-way"',
        'nap = "directional"',
        'write "one-way": all parts point the same way',
        "cloth.canvas.nap",
        'nap = "directional"',
    ),
    "reversed and in pairs": (
        "trimmed = true",
        "pairs = true\nreversed = true",
        "both reversed and cut in pairs",
        "cut[2]",
        None,
    ),
    "a nap nobody knows": (
        '"one-way"',
        '"oneway"',
        'did you mean "one-way"?',
        "cloth.canvas.nap",
        "oneway",
    ),
    "text for a number": (
        "size = [",
        "margin = true\nsize = [",
        "not a length",
        "sheet.foam.margin",
        None,
    ),
    "a number for text": ('name = "Pouch"', "name = 7", "must be text", "job.name", "name = 7"),
    "a table for a list": (
        '[[piece]]\nname = "front"',
        '[piece]\nname = "front"',
        "not valid TOML",
        None,
        None,
    ),
    "wrong shape of a point": (
        "at = [100, 0]",
        "at = [100]",
        "two lengths",
        "piece.front.mark[1].at",
        None,
    ),
    # prints
    "repeat larger than the cloth": (
        'across = "6 cm"',
        'across = "2 m"',
        "larger than the usable cloth",
        "cloth.canvas.print.across",
        "2 m",
    ),
    "print without a repeat": (
        'print = { along = "8 cm", across = "6 cm" }',
        "print = {}",
        "no repeat",
        "cloth.canvas.print",
        "print = {}",
    ),
    "drop of a stripe": (
        'along = "8 cm", across',
        "drop = 0.5, across",
        "repeat both ways",
        "cloth.canvas.print.drop",
        None,
    ),
    "folded print": ('nap = "one-way"', 'fold = "folded"', "print", "cloth.canvas.fold", "fold ="),
    "centred where no print is": (
        'material = "foam"\ntrimmed = true',
        'material = "foam"\ncentred = true',
        "foam has no print",
        "cut[2].centred",
        None,
    ),
    "match to a piece nobody defined": (
        'material = ["canvas", "lining"]',
        'material = "canvas"\nmatches = { point = "corner", piece = "fromt", to = "corner" }',
        'did you mean "front"?',
        "cut[1].matches.piece",
        "matches",
    ),
    "match at a point nobody named": (
        'material = ["canvas", "lining"]',
        'material = "canvas"\nmatches = { point = "korner", piece = "front", to = "other" }',
        'did you mean "corner"?',
        "cut[1].matches.point",
        "matches",
    ),
    "match to itself": (
        'material = ["canvas", "lining"]',
        'material = "canvas"\nmatches = { point = "corner", piece = "front", to = "corner" }',
        "matched to itself",
        "cut[1].matches",
        None,
    ),
    # leather
    "zone outside its hide": (
        "rectangle = [300, 500]",
        "rectangle = [300, 500]\nat = [2000, 0]",
        "the zone lies outside its hide",
        "leather.hide leather.hide.hide 1.zone[1]",
        None,
    ),
    "flaw outside its hide": (
        "at = [300, 250]",
        "at = [3000, 250]",
        "outside its hide",
        "leather.hide leather.hide.hide 1.flaw[1]",
        None,
    ),
    "flaw that leaves nothing": (
        "circle = 30",
        "circle = 2000",
        "leave nothing",
        "leather.hide leather.hide.hide 1.flaw",
        None,
    ),
    "no hide": (
        GOOD[GOOD.index("    [[leather.hide]]") : GOOD.index("[[cut]]")],
        "",
        "there is no hide of hide leather",
        "leather.hide leather",
        None,
    ),
    "grade of cloth": (
        "copies = 2",
        'grade = "A"',
        "only leather has grades",
        "cut[1].grade",
        None,
    ),
    "mate that is none": (
        'piece = "disc"\n',
        'piece = "disc"\nmates = "front"\n',
        "can't be a mate",
        "cut[3].mates",
        "mates",
    ),
    "mate that is itself": (
        'piece = "disc"\n',
        'piece = "disc"\nmates = "disc"\n',
        "its own mate",
        "cut[3].mates",
        "mates",
    ),
    "bed that is none": (
        "[[cut]]",
        "[table]\nbed = [900, 6]\n\n[[cut]]",
        "at least 50 mm",
        "table.bed",
        "bed",
    ),
    "strap of no length": (
        "[[cloth]]",
        '[[piece]]\nname = "strap"\nstrap = [0, 30]\n\n[[cloth]]',
        "a length and a width",
        "piece.strap.strap",
        "strap = [0",
    ),
    "grain of a remnant, a slip": (
        "[[cut]]",
        '[[remnant]]\nname = "rest"\nmaterial = "foam"\ncircle = 300\ngrain = "unknwon"\n\n[[cut]]',
        'did you mean "unknown"?',
        "remnant.rest.grain",
        "grain = ",
    ),
    "two remnants of one name": (
        "[[cut]]",
        2 * '[[remnant]]\nname = "rest"\nmaterial = "foam"\ncircle = 300\n\n' + "[[cut]]",
        'foam has 2 remnants named "rest"',
        None,
        None,
    ),
    "remnant of what is not of the job": (
        "[[cut]]",
        '[[remnant]]\nname = "rest"\nmaterial = "velvet"\ncircle = 300\n\n[[cut]]',
        "is not of this job",
        "remnant.rest",
        None,
    ),
    # other files
    "include that is not there": (
        "[job]",
        'include = "none.toml"\n[job]',
        "no such file",
        "include[1]",
        "include",
    ),
    "pattern file without a reader": (
        RECTANGLE,
        'from = "front.dxf"',
        "",
        "piece.front.from",
        None,
    ),
    "shape and pattern file": (
        RECTANGLE,
        RECTANGLE + '\nfrom = "front.dxf"',
        "can't be added",
        "piece.front.rectangle",
        None,
    ),
}


@pytest.mark.parametrize("case", CASES)
def test_bad_input(case: str) -> None:
    old, new, says, field, mark = CASES[case]
    text = changed(old, new)
    error = complaint(text)
    assert error.what
    assert says in str(error)
    if field is not None:
        assert (error.field or "") == field
    if mark is not None:
        assert error.line == line_of(text, mark)


def test_fold_back_line_beside_the_piece() -> None:
    text = changed("[[0, 100], [200, 100]]", "[[0, 300], [200, 300]]")
    text = text.replace("trimmed = true", "folded_back = true")
    error = complaint(text)
    assert "doesn't cross" in error.what
    assert error.field == "cut[2].folded_back"


def test_everything_folded_away() -> None:
    text = changed("[[0, 100], [200, 100]]", "[[0, -10], [200, -10]]")
    text = text.replace("trimmed = true", "folded_back = true")
    assert "nothing is left" in complaint(text).what


def test_no_motif_within_the_cloth() -> None:
    """Motifs 60 mm apart, the first 5 mm from the edge; a piece 150 mm wide on 155 mm."""
    text = changed('width = "140 cm"', 'width = "16 cm"\nusable = "155 mm"')
    text = text.replace('across = "6 cm"', 'across = "6 cm", origin = [0, "5 mm"]')
    centred = text.replace('material = ["canvas", "lining"]', 'material = "canvas"\ncentred = true')
    assert lays(parse_job(text))
    error = complaint(centred)
    assert "no motif of the print" in error.what
    assert error.field == "piece.front"


CHAIN = """\
[job]
name = "Panels"

[[piece]]
name = "left"
rectangle = [100, 100]
named_points = { top = [100, 90], low = [100, 10] }

[[piece]]
name = "right"
rectangle = [100, 100]
named_points = { top = [0, 90], low = [0, SHIFT] }

[[cloth]]
name = "stripe"
width = "140 cm"
print = { across = 40 }
nap = "one-way"

[[cut]]
piece = "left"
material = "stripe"
matches = { point = "top", piece = "right", to = "top" }

[[cut]]
piece = "right"
material = "stripe"
matches = { point = "low", piece = "left", to = "low" }
"""


@pytest.mark.parametrize("shift", ["10", "50"])
def test_matches_that_agree(shift: str) -> None:
    """The second match asks for the same shift as the first, give or take whole repeats."""
    (lay,) = lays(parse_job(CHAIN.replace("SHIFT", shift)))
    assert {part.binding.phase for part in lay.parts if part.binding} == {"Panels 1: left right"}


def test_matches_that_contradict_each_other() -> None:
    text = CHAIN.replace("SHIFT", "25")
    error = complaint(text)
    assert "contradict" in error.what
    assert error.field in ("piece.left", "piece.right")
    assert error.line in (line_of(text, 'name = "left"') - 1, line_of(text, 'name = "right"') - 1)


def test_match_to_a_piece_of_another_cloth() -> None:
    text = CHAIN.replace("SHIFT", "10").replace(
        'piece = "right"\nmaterial = "stripe"\nmatches', 'piece = "right"\nmaterial = "plain"\n#'
    )
    error = complaint(text + '\n[[cloth]]\nname = "plain"\nwidth = 1000\n')
    assert "not cut from stripe" in error.what


def test_print_out_of_reach_is_not_hidden_by_another_width() -> None:
    """A piece that fits one of two widths is laid; one that fits none is refused."""
    wide = changed('rectangle = ["20 cm", "15 cm"]', 'rectangle = ["20 cm", "100 cm"]')
    wide = wide.replace('size = ["50 cm", "40 cm"]', 'size = ["2 m", "2 m"]')
    assert lays(parse_job(wide))


# Hostile files: refused quickly, in one line, without a traceback.


@pytest.mark.parametrize(
    "text",
    [
        "a = " + "[" * 100_000,
        "a = " + "[" * 5_000 + "]" * 5_000,
        "a = " + "{b=" * 5_000,
        "a" + ".a" * 5_000 + " = 1",
        "[" + "a." * 5_000 + "a]",
        "x = " + "9" * 100_000,
        "[job]\nname = 9e999",
        "\x00",
        '[job]\nname = "\x1b[31m"',
        "\ud7ff = 1",
        "",
        "[job]\nname = 'x'\nbags = " + "9" * 4000,
        "[job]\nname = 'x'\n[[piece]]\nname='y'\ncircle = 1e308",
        "[job]\nname = 'x'\n[[piece]]\nname='y'\npoints = [[0,0],[1e308,0],[0,1e308]]",
        "[job]\nname = 'x'\n[[piece]]\nname='y'\noutline = 'M 0 0 L 1e308 0 L 0 1e308 Z'",
        "[job]\nname = 'x'\n[[piece]]\nname='y'\noutline = '" + "M 0 0 " * 20_000 + "'",
        "[job]\nname = 'x'\n" + "[[piece]]\nname = 'y'\ncircle = 5\n" * 500,
        '"\\u202e" = 1',
    ],
    ids=lambda text: repr(text[:40]),
)
def test_hostile_text(text: str) -> None:
    complaint(text)


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"\xff\xfe[\x00j\x00", "UTF-8"),
        (bytes(range(256)) * 100, "UTF-8"),
        (b"PK\x03\x04 not a job", "not valid TOML"),
    ],
)
def test_files_that_are_no_text(tmp_path: FilePath, data: bytes, says: str) -> None:
    path = tmp_path / "job.toml"
    path.write_bytes(data)
    with pytest.raises(JobError, match=says) as caught:
        read_job(path)
    assert "\n" not in str(caught.value)


def test_files_that_are_none(tmp_path: FilePath) -> None:
    with pytest.raises(JobError, match="no such file"):
        read_job(tmp_path / "none.toml")
    with pytest.raises(JobError, match="folder"):
        read_job(tmp_path)
    with pytest.raises(JobError, match="not usable"):
        read_job("a\0b.toml")


def test_a_byte_order_mark_and_other_line_ends_are_no_trouble(tmp_path: FilePath) -> None:
    path = tmp_path / "job.toml"
    path.write_bytes(b"\xef\xbb\xbf" + GOOD.replace("\n", "\r\n").encode())
    assert read_job(path).name == "Pouch"


def test_the_file_of_an_include_is_named(tmp_path: FilePath) -> None:
    (tmp_path / "more.toml").write_text('unit = "cm"\n\n[[piece]]\nname = "x"\ncirle = 5\n')
    path = tmp_path / "job.toml"
    path.write_text('include = "more.toml"\n' + GOOD)
    with pytest.raises(JobError) as caught:
        read_job(path)
    assert caught.value.file == str(tmp_path / "more.toml")
    assert caught.value.line == 5
    assert caught.value.field == "piece.x.cirle"
