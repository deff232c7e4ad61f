"""A small bag of our own invention, laid by hand in rows: no search is needed to write."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from dataclasses import replace

# Before numpy comes: beside a process for each core, threads of linear algebra wait for each other.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import pytest
from hypothesis import settings

from nesting.job.job import Bag, Cut, Job
from nesting.marker.figures import figures
from nesting.marker.lay import Lay, Part, Region, Sheet, Sheets, Strip, Turns
from nesting.marker.marker import Marker, Placement
from nesting.material.material import (
    Cloth,
    Grade,
    Hide,
    Hides,
    Material,
    Print,
    SheetGoods,
    Width,
    Zone,
)
from nesting.pattern.path import Affine, Arc, Bezier, Line, Path
from nesting.pattern.piece import Face, Hand, Mark, MarkKind, NotchStyle, Piece
from nesting.pattern.polygon import piece_polygon
from nesting.pattern.shapes import circle, ellipse, rectangle
from nesting.planning.buying.bought import buying
from nesting.planning.plan import Entry, Plan
from nesting.planning.records import SearchRecord
from nesting.quantity import Quantity

GAP = 6.0

settings.register_profile("busy", deadline=None)  # the machine may be: no test is of time
settings.load_profile("busy")


def pytest_configure(config: pytest.Config) -> None:
    """Compile the search once, before there are workers that would all do it at the same time."""
    if not hasattr(config, "workerinput") and config.getoption("numprocesses", None):
        subprocess.run([sys.executable, "-m", "nesting.search.ready"], check=True)


@pytest.fixture(scope="session", autouse=True)
def interruptible() -> None:
    """Hear interrupts: a worker of pytest-xdist ignores them, and so does all that it starts."""
    signal.signal(signal.SIGINT, signal.default_int_handler)


PANEL = Piece(
    name="Front panel",
    cut=rectangle(420.0, 300.0, radius=40.0),
    holes=(circle(30.0, centre=(60.0, 240.0)).reversed(),),
    sew=rectangle(400.0, 280.0, radius=30.0, at=(10.0, 10.0)),
    marks=(
        Mark(kind=MarkKind.NOTCH, name="centre", at=(210.0, 0.0), size=5.0),
        Mark(kind=MarkKind.NOTCH, at=(210.0, 300.0), size=5.0, width=6.0, style=NotchStyle.V),
        Mark(
            kind=MarkKind.OUTLINE,
            name="pocket",
            path=rectangle(160.0, 120.0, at=(130.0, 40.0)),
            copies=frozenset({1}),
        ),
        Mark(
            kind=MarkKind.LINE,
            name="loop",
            path=Path.polyline([(40.0, 60.0), (40.0, 200.0)], closed=False),
            face=Face.WRONG,
        ),
        Mark(kind=MarkKind.DRILL, name="rivet", at=(380.0, 150.0), size=4.0),
        Mark(kind=MarkKind.TEXT, text="top <edge>", at=(380.0, 270.0), size=6.0, angle=0.0),
    ),
)
FLAP = Piece(
    name="Flap",
    cut=Path(
        (
            Line((0.0, 0.0), (260.0, 0.0)),
            Bezier((260.0, 0.0), (290.0, 90.0), (230.0, 180.0), (130.0, 180.0)),
            Bezier((130.0, 180.0), (30.0, 180.0), (-30.0, 90.0), (0.0, 0.0)),
        )
    ),
)
BASE = Piece(name="Base", cut=ellipse(300.0, 160.0))
STRAP = Piece(name="Shoulder strap", cut=rectangle(620.0, 38.0, radius=8.0))
SIDE = Piece(
    name="Side",
    cut=Path(
        (
            Line((0.0, 0.0), (240.0, 0.0)),
            Line((240.0, 0.0), (240.0, 90.0)),
            Arc((140.0, 90.0), (100.0, 0.0), (0.0, 60.0), 0.0, 1.5707963267948966),
            Line((140.0, 150.0), (0.0, 120.0)),
            Line((0.0, 120.0), (0.0, 0.0)),
        )
    ),
)
TAB = Piece(name="Loop tab", cut=rectangle(50.0, 26.0))
_OUTER = Arc((0.0, 0.0), (230.0, 0.0), (0.0, 230.0), 0.3, 2.5)
_INNER = Arc((0.0, 0.0), (190.0, 0.0), (0.0, 190.0), 2.8, -2.5)
GUSSET = Piece(
    name="Curved gusset",
    cut=Path((_OUTER, Line(_OUTER.end, _INNER.start), _INNER, Line(_INNER.end, _OUTER.start))),
)

CANVAS = Cloth(
    name="Waxed canvas",
    widths=(Width(booked=1150.0, usable=1110.0, price=18.5),),
    ends=15.0,
    step=100.0,
    spacing=GAP,
    substance="cotton",
)
PRINTED = Cloth(
    name="Lining, printed",
    widths=(Width(booked=1400.0, usable=1380.0, price=9.0),),
    step=50.0,
    spacing=GAP,
    print=Print(along=120.0, across=90.0, drop=0.5, origin=(10.0, 20.0)),
)
FOAM = SheetGoods(name="Foam", length=700.0, width=500.0, price=4.0, spacing=GAP, substance="foam")
LEATHER = Hides(
    name="Bridle leather",
    hides=(
        Hide(
            name="Hide 7",
            outline=Path(
                (
                    Bezier((0.0, 0.0), (300.0, -120.0), (900.0, -90.0), (1250.0, 30.0)),
                    Bezier((1250.0, 30.0), (1500.0, 200.0), (1450.0, 600.0), (1200.0, 720.0)),
                    Bezier((1200.0, 720.0), (800.0, 860.0), (300.0, 800.0), (40.0, 700.0)),
                    Bezier((40.0, 700.0), (120.0, 500.0), (-90.0, 300.0), (0.0, 0.0)),
                )
            ),
            flaws=(circle(50.0, centre=(620.0, 640.0)).reversed(),),
            zones=(
                Zone(
                    name="zone A", grade=Grade.A, outline=rectangle(900.0, 420.0, at=(150.0, 20.0))
                ),
            ),
        ),
    ),
    spacing=GAP,
    price=62.0,
    substance="leather",
)


def parts_of(*wanted: tuple[Piece, int, bool], turns: Turns | None = None) -> tuple[Part, ...]:
    """Make parts: piece, copies, and whether in mirrored pairs."""
    made: list[Part] = []
    for piece, copies, pairs in wanted:
        for copy in range(1, copies + 1):
            for hand in (Hand.RIGHT, Hand.LEFT) if pairs else (Hand.RIGHT,):
                left = hand is Hand.LEFT
                drawn = mirrored(piece) if left else piece
                made.append(
                    Part(
                        name=f"{piece.name} {copy}{' L' if left else ' R' if pairs else ''}",
                        piece=drawn,
                        copy=copy,
                        copies=copies,
                        hand=hand,
                        turns=turns or Turns(angles=(0.0, 180.0)),
                    )
                )
    return tuple(made)


def mirrored(piece: Piece) -> Piece:
    """Reflect a piece without marks in its grain line."""
    by = Affine.mirror()
    return replace(piece, cut=piece.cut.transformed(by).reversed())


def in_rows(lay: Lay, *, across: float, start: tuple[float, float] = (0.0, 0.0)) -> Marker:
    """Lay the parts in columns from the low edge upwards."""
    placements = []
    x, y, deep = start[0], start[1], 0.0
    for index, part in enumerate(lay.parts):
        angle = 180.0 if index % 3 == 2 and 180.0 in part.turns.angles else 0.0
        turned = piece_polygon(part.piece, by=Affine.turn(angle)).bounds
        long, tall = turned[2] - turned[0], turned[3] - turned[1]
        if y + tall > across:
            x, y, deep = x + deep + GAP, start[1], 0.0
        placements.append(Placement(part=index, x=x - turned[0], y=y - turned[1], angle=angle))
        y, deep = y + tall + GAP, max(deep, long)
    sheets = (0,) if isinstance(lay.stock, Sheets) else ()
    return Marker(lay=lay, placements=tuple(placements), sheets=sheets)


def entry_of(material: Material, marker: Marker) -> Entry:
    width = material.widths[0] if isinstance(material, Cloth) else None
    length = figures(marker).length
    return Entry(
        material=material,
        width=width,
        marker=marker,
        search=SearchRecord(
            stopped="time",
            seconds=3.2,
            first_seconds=0.14,
            first_length=length * 1.1,
            rounds=420,
            seed=7,
            workers=2,
            bound=Quantity(length * 0.93 if width else 1.0, material.taken_in),
        ),
        buying=buying(marker, material, width=width, length=length),
    )


def canvas_marker() -> Marker:
    lay = Lay(
        name=CANVAS.name,
        parts=parts_of(
            (PANEL, 2, False),
            (FLAP, 1, False),
            (SIDE, 2, True),
            (BASE, 1, False),
            (STRAP, 2, False),
            (GUSSET, 1, False),
            (TAB, 4, False),
        ),
        stock=Strip(width=1110.0),
        spacing=GAP,
    )
    return in_rows(lay, across=1110.0)


def printed_marker() -> Marker:
    lay = Lay(
        name=PRINTED.name,
        parts=parts_of((FLAP, 2, False), (PANEL, 2, False), turns=Turns()),
        stock=Strip(width=1380.0),
        spacing=GAP,
    )
    return in_rows(lay, across=1380.0)


def foam_marker() -> Marker:
    sheet = Sheet(name="Foam sheet", outline=rectangle(700.0, 500.0))
    lay = Lay(
        name=FOAM.name,
        parts=parts_of((BASE, 2, False), (TAB, 3, False), turns=Turns(slack=180.0)),
        stock=Sheets(sheets=(sheet,)),
        spacing=GAP,
    )
    marker = in_rows(lay, across=500.0)
    second = tuple(replace(p, sheet=1 if p.part == 1 else 0) for p in marker.placements)
    return replace(marker, placements=second, sheets=(0, 0))


def leather_marker() -> Marker:
    hide = LEATHER.hides[0]
    sheet = Sheet(
        name=hide.name,
        outline=hide.outline,
        holes=hide.flaws,
        regions=(Region(name="zone A", outlines=(hide.zones[0].outline,)),),
        count=1,
        origin=0,
    )
    lay = Lay(
        name=LEATHER.name,
        parts=parts_of((STRAP, 3, False), (SIDE, 1, True), (TAB, 2, False)),
        stock=Sheets(sheets=(sheet,)),
        spacing=GAP,
    )
    return in_rows(lay, across=460.0, start=(150.0, 30.0))


def bag_plan() -> Plan:
    materials: tuple[Material, ...] = (CANVAS, PRINTED, FOAM, LEATHER)
    markers = (canvas_marker(), printed_marker(), foam_marker(), leather_marker())
    job = Job(
        name="Market bag (invented)",
        bags=(
            Bag(
                name="Market bag",
                pieces=(PANEL, FLAP, BASE, STRAP, SIDE, TAB, GUSSET),
                cuts=(Cut(piece="Front panel", material=CANVAS.name, copies=2),),
            ),
        ),
        materials=materials,
        currency="EUR",
        assumptions=("Waxed canvas: no nap was given, so parts may be turned by 180°.",),
    )
    entries = tuple(entry_of(m, k) for m, k in zip(materials, markers, strict=True))
    return Plan(job=job, entries=entries, seconds=8.1, program="thriftlay test")


@pytest.fixture(scope="session")
def hand_laid_plan() -> Plan:
    """Return a plan for cloth, printed cloth, sheets and a hide."""
    return bag_plan()


@pytest.fixture(scope="session")
def hand_laid_marker() -> Marker:
    """Return a marker with every kind of curve and mark."""
    return canvas_marker()
