"""What the judge lets pass is never called impossible, and no bound is above it."""

from __future__ import annotations

from dataclasses import replace

import pytest

from nesting.marker.bound import lower_bound
from nesting.marker.figures import figures
from nesting.marker.impossible import fits_nowhere, too_little
from nesting.marker.lay import Lay, Region, Sheet, Sheets, Turns
from nesting.marker.marker import Marker
from tests.property.good_markers import MARKERS, box, faults, good

TIGHT = 1 + 1e-6  # a share of a part's size that the judge lets pass


def as_hide(marker: Marker) -> Marker:
    """Return a strip's marker on one hide just as large, all parts bound to one zone of it."""
    strip, length = marker.lay.stock, figures(marker).length
    assert strip.open_ended
    whole = box(0.0, 0.0, length, strip.width)
    zone = Region(name="back", outlines=(whole,))
    hide = Sheet(name="hide", outline=whole, regions=(zone,), count=1, cost=1.0, origin=0)
    parts = tuple(replace(part, region="back") for part in marker.lay.parts)
    lay = Lay(name="hide", parts=parts, stock=Sheets(sheets=(hide,)), spacing=marker.lay.spacing)
    return Marker(lay=lay, placements=marker.placements, sheets=(0,))


def freer(marker: Marker, slack: float) -> Marker:
    """Return a marker whose parts might have been turned."""
    parts = tuple(
        part if part.binding else replace(part, turns=replace(part.turns, slack=slack))
        for part in marker.lay.parts
    )
    return replace(marker, lay=replace(marker.lay, parts=parts))


@pytest.mark.parametrize("seed", MARKERS)
def test_a_good_marker_is_possible(seed: int) -> None:
    marker, _ = good(seed)
    assert not faults(marker)
    variants = [marker, freer(marker, 3.0), freer(marker, Turns(slack=180.0).slack)]
    if marker.lay.stock.open_ended:
        tight = replace(marker.lay.stock, longest=figures(marker).length)
        variants.append(replace(marker, lay=replace(marker.lay, stock=tight)))
        variants.append(as_hide(marker))
    for one in variants:
        assert fits_nowhere(one.lay) == ()
        assert not too_little(one.lay)
        found = figures(one)
        counts = found.length if one.lay.stock.open_ended else float(found.sheets)
        assert lower_bound(one.lay).value <= counts * TIGHT
