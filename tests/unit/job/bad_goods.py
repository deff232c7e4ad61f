"""Prints, leather, stock and other files that don't go together.

Each: what of `GOOD` is replaced, by what, what the error says, its field, text on its line.
"""

from __future__ import annotations

from tests.unit.job.good_job import GOOD, RECTANGLE

GOODS = {
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
