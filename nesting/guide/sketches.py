"""The sketches of the pages, each by its file's name; what they show is judged like any marker."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from shapely import Polygon, box

from nesting.amounts import METRIC
from nesting.guide.examples import EXAMPLES
from nesting.guide.sketch import Dash, Dot, Make, Measure, Scene, Word, beside, scene, sketch
from nesting.marker.figures import figures
from nesting.pattern.path import Path
from nesting.planning.buying.bought import buying

__all__ = ["OF_SECTION", "SKETCHES"]


def _job(section: str) -> str:
    return EXAMPLES[section].job


def _shape() -> str:
    corners = ((0.0, 0.0), (180.0, 0.0), (330.0, 0.0), (520.0, 0.0), (680.0, 0.0))
    names = ("rectangle", "circle", "ellipse", "points", "outline")
    what = scene(_job("A shape").replace('"60 cm"', '"90 cm"'), *corners, ground=False)
    at = [(0.0, 0.0), (240.0, 60.0), (410.0, 50.0), (520.0, 0.0), (680.0, 0.0)]
    lowest = -28.0
    words = [Word((x, lowest), n) for x, n in zip((80, 240, 410, 590, 750), names, strict=True)]
    return sketch(
        replace(what, names=False, arrows=False),
        *(Dot(p) for p in at),
        *words,
        title="the five ways to give a shape",
    )


def _piece() -> str:
    what = scene(_job("`[[piece]]`"), (0.0, 0.0), ground=False, upright=True)
    part = what.marker.lay.parts[0].piece
    placed = what.marker.placements[0].affine
    assert part.sew is not None
    assert part.fold is not None
    sewing = part.sew.transformed(placed)
    fold = Path.polyline([placed(p) for p in part.fold], closed=False)
    x, y = 130.0, 10.0  # where the drawn half begins
    return sketch(
        replace(what, names=False, arrows=False),
        Dash(sewing),
        Dash(fold),
        *(Word((x + a, y + b), f"{n}") for n, (a, b) in _EDGES.items()),
        Measure((x + 190.0, y + 172.0), (x + 128.0, y + 178.0), one_way=True),
        Word((x + 230.0, y + 172.0), "cut here"),
        Measure((x + 190.0, y + 130.0), (x + 122.0, y + 130.0), one_way=True),
        Word((x + 230.0, y + 130.0), "sew here"),
        Measure((x - 190.0, y + 60.0), (x - 4.0, y + 60.0), one_way=True),
        Word((x - 215.0, y + 60.0), "fold"),
        Measure((x + 50.0, y + 25.0), (x + 50.0, y + 125.0), "grain", one_way=True),
        title="a piece drawn as a half and opened on the fold; its edges have numbers",
        shrink=0.85,
    )


_EDGES = {1: (60.0, 0.0), 2: (120.0, 90.0), 3: (60.0, 165.0), 4: (0.0, 30.0)}
"""Where each edge of the half has its middle (mm)."""


def _hole() -> str:
    return sketch(
        scene(_job("`[[piece.hole]]`"), (0.0, 0.0), ground=False),
        title="a piece with a window",
        shrink=0.6,
    )


def _mark() -> str:
    what = scene(_job("`[[piece.mark]]`"), (0.0, 0.0), ground=False)
    return sketch(
        what,
        Measure((125.0, -24.0), (121.0, -3.0), one_way=True),
        Word((125.0, -32.0), "notch"),
        Measure((120.0, 180.0), (120.0, 153.0)),
        Word((148.0, 168.0), "3 cm in"),
        Measure((176.0, 150.0), (124.0, 150.0), one_way=True),
        Word((192.0, 150.0), "drill"),
        Measure((255.0, 75.0), (226.0, 75.0), one_way=True),
        Word((274.0, 75.0), "outline"),
        title="a notch, a drill hole, an outline and a text on a piece",
        shrink=0.9,
    )


def _nap() -> str:
    text = _job("Any material")
    corduroy = scene(text, (0.0, 0.0), (0.0, 186.0), (0.0, 372.0))
    plain = scene(text, (0.0, 0.0), (0.0, 186.0, 180.0), (0.0, 372.0), of="plain")
    felt = scene(text, (0.0, 0.0), (0.0, 186.0, 180.0), (5.0, 375.0, 90.0), of="felt")
    return beside(
        (corduroy, [Word((100.0, -40.0), 'nap = "one-way"')]),
        (plain, [Word((100.0, -40.0), 'nap = "none"')]),
        (felt, [Word((100.0, -40.0), 'nap = "any"')]),
        title="how parts may be turned on goods with, without and of any nap",
        gap=70.0,
    )


def _cloth() -> str:
    what = scene(_job("`[[cloth]]`"), (0.0, 0.0), (0.0, 190.0), (0.0, 372.0), (244.0, 0.0))
    return sketch(
        what,
        Measure((-60.0, -20.0), (-60.0, 580.0), "width"),
        Measure((520.0, 0.0), (520.0, 560.0), "usable"),
        Measure((-20.0, 610.0), (504.0, 610.0), "length needed, with its ends"),
        Measure((380.0, 500.0), (380.0, 572.0), one_way=True),
        Word((380.0, 485.0), "selvedge"),
        title="cloth: width, usable width, selvedges, ends",
    )


def _widths() -> str:
    text = _job("A width, in `widths`")
    first, second = (line for line in text.splitlines(keepends=True) if "booked" in line)
    narrow = scene(text.replace(second, ""), (0, 0), (0, 184), (244, 0), (244, 184))
    wide = scene(text.replace(first, ""), (0, 0), (0, 184), (0, 368), (0, 552))
    return beside(
        (narrow, [Word((242.0, -50.0), _bought(narrow)), Measure((-10, -22), (494, -22))]),
        (wide, [Word((120.0, -50.0), _bought(wide)), Measure((-10, -22), (250, -22))]),
        title="the same parts on two widths of a cloth",
        gap=60.0,
    )


def _bought(what: Scene) -> str:
    """Say how much of a cloth is bought, and what that costs."""
    cloth = what.material
    width, long = cloth.widths[0], figures(what.marker).length
    buy = buying(what.marker, cloth, width=width, length=long)
    assert buy.cost is not None
    return f"{width.booked / 10:g} cm wide: buy {METRIC.said(buy.to_buy)}, {buy.cost:.2f}"


def _print() -> str:
    what = scene(_job("`print` of a cloth"), (280.0, 135.0))
    return sketch(
        what,
        Measure((100.0, 75.0), (300.0, 75.0), "along"),
        Measure((100.0, 75.0), (100.0, 225.0), "across"),
        Dot((100.0, 75.0)),
        title="a print's repeat along and across, with a half-drop",
    )


def _shrinkage() -> str:
    text = _job("`shrinkage` of a cloth")
    after = text.replace(
        text[text.index("shrinkage =") : text.index("\n", text.index("shrinkage"))], ""
    )
    return beside(
        (scene(text, (0.0, 0.0), ground=False), [Word((133.0, -14.0), "as it is cut")]),
        (scene(after, (0.0, 0.0), ground=False), [Word((120.0, -14.0), "when it is washed")]),
        title="a part cut larger, and the size it shrinks to",
        shrink=0.7,
        gap=60.0,
    )


def _sheet() -> str:
    what = scene(_job("`[[sheet]]`"), (15.0, 15.0), (15.0, 197.0), (260.0, 15.0))
    return sketch(
        what,
        Measure((0.0, -20.0), (600.0, -20.0), "size"),
        Measure((560.0, 0.0), (560.0, 15.0)),
        Word((560.0, 40.0), "margin"),
        title="a sheet with three parts and its margin",
        shrink=0.9,
    )


def _remnant() -> str:
    what = scene(_job("`[[remnant]]`, `[[sheet.remnant]]`"), (10.0, 10.0), (10.0, 195.0))
    return sketch(what, title="two parts on a left-over with a hole", shrink=0.8)


def _leather() -> str:
    what = scene(
        _job("`[[leather]]`"),
        (-255.0, -190.0), (3.0, -190.0), (-255.0, 3.0), (3.0, 3.0),
    )  # fmt: skip
    return sketch(
        what,
        Measure((445.0, 0.0), (425.0, 0.0)),
        Word((436.0, -30.0), "margin"),
        title="four parts on a hide",
    )


def _hide() -> str:
    what = scene(_job("`[[leather.hide]]`"))
    hides = what.material
    spine = box(0.0, 240.0, 800.0, 320.0)
    words = []
    for zone in hides.hides[0].zones:
        spot = Polygon(zone.outline.points(1.0)).difference(spine).representative_point()
        words.append(Word((spot.x, spot.y), f"{zone.name} {zone.grade}"))
    return sketch(
        replace(what, names=False),
        *words,
        Measure((60.0, 280.0), (740.0, 280.0), "backbone, from tail to neck", one_way=True),
        title="a hide with guessed zones and its backbone",
    )


def _flaw() -> str:
    what = scene(_job("`[[leather.hide.flaw]]`"), (10.0, 10.0), (340.0, 170.0))
    return sketch(what, Word((290.0, 252.0), "brand"), title="parts keep off a flaw", shrink=0.8)


def _zone() -> str:
    what = scene(_job("`[[leather.hide.zone]]`"), (20.0, 60.0, 12.0), (340.0, 60.0))
    return sketch(
        what,
        Measure((40.0, 330.0), (240.0, 330.0), "tight"),
        Measure((520.0, 330.0), (720.0, 330.0), "tight"),
        title="two zones of a hide; a part lies across their border",
    )


def _cut() -> str:
    text = _job("`[[cut]]`")
    return beside(
        (scene(text, (0.0, 0.0), (0.0, 205.0), ground=False), [Word((110.0, -22.0), "pairs")]),
        (scene(text, (0.0, 0.0), of="foam", ground=False), [Word((95.0, -22.0), "trimmed")]),
        (scene(text, (0.0, 0.0), of="lining", ground=False), [Word((110.0, -22.0), "reversed")]),
        title="one piece cut as a pair, trimmed, and reversed",
        shrink=0.9,
        gap=60.0,
    )


def _matches() -> str:
    what = scene(_job("`matches` of a cut"), (0.0, 30.0), (240.0, 30.0))
    return sketch(
        what,
        Dot((140.0, 230.0)),
        Dot((240.0, 230.0)),
        Word((190.0, 262.0), "top is sewn to top"),
        title="two pieces that lie on the same place of the print",
        shrink=0.9,
    )


def _held() -> str:
    what = scene(_job("`[[held]]`"), (0.0, 0.0), (200.0, 210.0), (242.0, 0.0))
    return sketch(
        what,
        Dot((200.0, 210.0)),
        Measure((0.0, 210.0), (200.0, 210.0), "20 cm"),
        Measure((200.0, 0.0), (200.0, 210.0), "21 cm"),
        title="a part that is held by its lower left corner, two others laid round it",
    )


OF_SECTION: Mapping[str, str] = {
    "A shape": "shape",
    "`[[piece]]`": "piece",
    "`[[piece.hole]]`": "hole",
    "`[[piece.mark]]`": "mark",
    "Any material": "nap",
    "`[[cloth]]`": "cloth",
    "A width, in `widths`": "widths",
    "`print` of a cloth": "print",
    "`shrinkage` of a cloth": "shrinkage",
    "`[[sheet]]`": "sheet",
    "`[[remnant]]`, `[[sheet.remnant]]`": "remnant",
    "`[[leather]]`": "leather",
    "`[[leather.hide]]`": "hide",
    "`[[leather.hide.flaw]]`": "flaw",
    "`[[leather.hide.zone]]`": "zone",
    "`[[cut]]`": "cut",
    "`matches` of a cut": "matches",
    "`[[held]]`": "held",
}
"""Which sketch stands in which section."""

SKETCHES: Mapping[str, Make] = {
    "shape": _shape,
    "piece": _piece,
    "hole": _hole,
    "mark": _mark,
    "nap": _nap,
    "cloth": _cloth,
    "widths": _widths,
    "print": _print,
    "shrinkage": _shrinkage,
    "sheet": _sheet,
    "remnant": _remnant,
    "leather": _leather,
    "hide": _hide,
    "flaw": _flaw,
    "zone": _zone,
    "cut": _cut,
    "matches": _matches,
    "held": _held,
}
"""What makes each."""
