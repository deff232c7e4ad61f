"""Small markers laid by hand, for the tests of the judge."""

import math

from nesting.errors import Finding
from nesting.marker.check import check
from nesting.marker.lay import (
    Lay,
    Part,
    Sheet,
    Sheets,
    Strip,
)
from nesting.marker.marker import Marker, Placement
from nesting.pattern.path import Arc, Path
from nesting.pattern.piece import Piece


def ring(*points):
    return Path.polyline(points, closed=True)


def box(x0, y0, x1, y1):
    return ring((x0, y0), (x1, y0), (x1, y1), (x0, y1))


def circle(x, y, r):
    return Path((Arc((x, y), (r, 0.0), (0.0, r), 0.0, 2.0 * math.pi),))


def part(name, outline=None, holes=(), **rules):
    return Part(
        name=name, piece=Piece(name=name, cut=outline or box(0, 0, 100, 50), holes=holes), **rules
    )


def at(*places, **same):
    return tuple(
        Placement(part=i, x=float(x), y=float(y), **same) for i, (x, y) in enumerate(places)
    )


def on_strip(parts, placements, *, width=200.0, longest=None, spacing=0.0):
    stock = Strip(width=width, longest=longest)
    lay = Lay(name="lay", parts=tuple(parts), stock=stock, spacing=spacing)
    return Marker(lay=lay, placements=tuple(placements))


def on_sheets(parts, placements, *, sheets, used=(0,), margin=0.0, spacing=0.0):
    stock = Sheets(sheets=tuple(sheets), margin=margin)
    lay = Lay(name="lay", parts=tuple(parts), stock=stock, spacing=spacing)
    return Marker(lay=lay, placements=tuple(placements), sheets=tuple(used))


def only(marker) -> Finding:
    findings = check(marker)
    assert len(findings) == 1, findings
    return findings[0]


SHEET = Sheet(name="hide", outline=box(0, 0, 400, 300))


A, B = part("a"), part("b")
