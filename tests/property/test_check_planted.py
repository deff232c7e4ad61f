"""Faults planted in random good markers: the judge finds each."""

import math
from dataclasses import replace

import numpy as np
import pytest

from nesting.errors import Severity
from nesting.marker.check import check
from nesting.marker.lay import (
    Edge,
    Region,
    Sheets,
    Strip,
    Turns,
)
from nesting.pattern.path import Affine, Arc, Path
from tests.property.good_markers import MARKERS, box, faults, good, true_bounds
from tests.property.test_check_measures import deep_point, ring_distance, rings, sampled_depth


@pytest.mark.parametrize("seed", MARKERS)
def test_good_markers_give_no_finding(seed):
    marker, _ = good(seed)
    assert check(marker) == ()


def set_placement(marker, i, **changes):
    placements = list(marker.placements)
    placements[i] = replace(placements[i], **changes)
    return replace(marker, placements=tuple(placements))


def set_part(marker, i, **changes):
    parts = list(marker.lay.parts)
    parts[i] = replace(parts[i], **changes)
    return replace(marker, lay=replace(marker.lay, parts=tuple(parts)))


def turned(marker, i, rng):
    off = float(rng.uniform(1.5, 20.0))
    part = marker.lay.parts[i]
    angle = part.turns.angles[0] + part.turns.slack + off
    away = min(
        abs((angle - a + 180.0) % 360.0 - 180.0) - part.turns.slack for a in part.turns.angles
    )
    return set_placement(marker, i, angle=angle), "turn", away


def flipped(marker, i, rng):
    marker = set_part(marker, i, flip=False)
    return set_placement(marker, i, flipped=True), "flip", None


def dropped(marker, i, rng):
    placements = marker.placements[:i] + marker.placements[i + 1 :]
    return replace(marker, placements=placements), "missing", None


def doubled(marker, i, rng):
    extra = replace(marker.placements[i], x=marker.placements[i].x + 1e6)
    return replace(marker, placements=(*marker.placements, extra)), "extra", None


def stacked(marker, i, rng):
    """Lay a copy of the part on itself: the middle of any part lies deep in it."""
    twin = replace(marker.lay.parts[i], name="twin")
    parts = (*marker.lay.parts, twin)
    laid = replace(marker.placements[i], part=len(parts) - 1)
    marker = replace(
        marker,
        lay=replace(marker.lay, parts=parts),
        placements=(*marker.placements, laid),
    )
    return marker, "overlap", None


def unread(marker, i, rng):
    return set_placement(marker, i, x=math.nan), "number", None


def grouped(marker, i, rng):
    for k in (i, (i + 1) % len(marker.lay.parts)):
        marker = set_part(marker, k, turn_group="g", turns=Turns(slack=180.0))
    angle = marker.placements[i].angle
    off = float(rng.uniform(1.0, 90.0))
    return (
        set_placement(marker, (i + 1) % len(marker.lay.parts), angle=angle + off),
        "turn_group",
        off,
    )


def elsewhere(marker, i, rng):
    return set_placement(marker, i, sheet=7), "sheet", None


def below_the_edge(marker, i, rng):
    """Move a part so that it reaches a known way over the low edge."""
    out = float(10.0 ** rng.uniform(-2.0, 0.0)) * 10.0
    part, laid = marker.lay.parts[i], marker.placements[i]
    _, y0, _, _ = true_bounds(part.piece, laid.affine)
    margin = marker.lay.stock.margin if isinstance(marker.lay.stock, Sheets) else 0.0
    moved = set_placement(marker, i, y=laid.y - y0 - out)
    size = max(abs(v) for v in true_bounds(part.piece, Affine()))
    return moved, "outside", out + margin if out < 0.2 * size else None


def off_the_fold(marker, i, rng):
    part, laid = marker.lay.parts[i], marker.placements[i]
    _, y0, _, _ = true_bounds(part.piece, laid.affine)
    off = float(rng.uniform(0.1, 5.0))
    marker = set_part(marker, i, edge=Edge.LOW)
    return set_placement(marker, i, y=laid.y - y0 + off), "edge", off


ANYWHERE = (
    turned,
    flipped,
    dropped,
    doubled,
    stacked,
    unread,
    grouped,
    elsewhere,
    below_the_edge,
    off_the_fold,
)


@pytest.mark.parametrize("plant", ANYWHERE)
@pytest.mark.parametrize("seed", MARKERS[::7])
def test_planted_faults_are_found(seed, plant):
    marker, rng = good(seed + 1000)
    i = int(rng.integers(len(marker.lay.parts)))
    name = marker.lay.parts[i].name
    spoilt, kind, amount = plant(marker, i, rng)
    found = [f for f in faults(spoilt) if f.kind == kind and (name in f.parts or not f.parts)]
    assert found
    if amount is not None:
        assert max(f.amount for f in found) == pytest.approx(amount, rel=3e-3, abs=2.5e-3)


@pytest.mark.parametrize("seed", range(2, 82, 4))
def test_parts_shifted_off_the_print_are_found(seed):
    marker, rng = good(seed)
    for i, part in enumerate(marker.lay.parts):
        lattice = part.binding.lattice
        # Far from half the repeat, where the nearest lattice point changes.
        off = float(rng.uniform(3.0, 8.0)) + 2.0 * lattice.tolerance
        laid = marker.placements[i]
        spoilt = set_placement(marker, i, x=laid.x + off)
        found = [f for f in faults(spoilt) if f.kind == "lattice" and part.name in f.parts]
        assert len(found) == 1
        room = lattice.tolerance
        assert found[0].amount == pytest.approx(off, abs=3.01 * room + 2e-9)


@pytest.mark.parametrize("seed", range(3, 63, 4))
def test_faults_of_sheets_are_found(seed):
    marker, rng = good(seed)
    stock = marker.lay.stock
    hide = stock.sheets[0]
    i = int(rng.integers(6))
    part, laid = marker.lay.parts[i], marker.placements[i]
    # A flaw right under a part, seen by that part only.
    at = deep_point(marker, i)
    scar = Path((Arc(at, (0.5, 0.0), (0.0, 0.5), 2.0 * math.pi, -2.0 * math.pi),))
    scarred = replace(hide, holes=(*hide.holes, scar))
    spoilt = replace(marker, lay=replace(marker.lay, stock=replace(stock, sheets=(scarred,))))
    assert any(f.kind == "flaw" and part.name in f.parts for f in faults(spoilt))
    # A region that the sheet lacks, and one that leaves a bit of the part out.
    bare = replace(hide, regions=())
    spoilt = replace(marker, lay=replace(marker.lay, stock=replace(stock, sheets=(bare,))))
    assert {f.kind for f in faults(spoilt)} == {"region"}
    x0, y0, x1, y1 = true_bounds(part.piece, laid.affine)
    out = 0.01 * (x1 - x0)
    small = Region(name="prime", outlines=(box(x0 - 1, y0 - 1, x1 - out, y1 + 1),))
    spoilt = replace(
        marker,
        lay=replace(marker.lay, stock=replace(stock, sheets=(replace(hide, regions=(small,)),))),
    )
    mine = [f for f in faults(spoilt) if f.kind == "region" and part.name in f.parts]
    assert [f.amount for f in mine] == [pytest.approx(out, rel=3e-3, abs=2.5e-3)]
    # One sheet less than is used; mates torn apart.
    few = replace(hide, count=1)
    spoilt = replace(marker, lay=replace(marker.lay, stock=replace(stock, sheets=(few,))))
    assert {f.kind for f in faults(spoilt)} == {"sheet"}
    torn = set_part(set_part(marker, 0, mates="pair"), 7, mates="pair")
    assert {f.kind for f in faults(torn)} == {"mates"}


@pytest.mark.parametrize("seed", range(0, 80, 4))
def test_parts_pushed_together_show_their_true_gap(seed):
    """Nearer and nearer: first a gap, then an overlap, never nothing."""
    marker, _ = good(seed)
    spacing = 3.0
    marker = replace(marker, lay=replace(marker.lay, spacing=spacing, parts=marker.lay.parts[:2]))
    first, second = marker.placements[:2]
    a, b = (rings(marker, i, chord=5e-3)[0] for i in (0, 1))
    size = max(np.ptp(a), np.ptp(b))
    marker = replace(marker, lay=replace(marker.lay, stock=Strip(width=20.0 * size + 100.0)))
    b = b - (second.x, second.y)
    for share in (1.0, 0.6, 0.3):
        y = second.y - (1.0 - share) * (b[:, 1] + second.y).min()
        moved = replace(second, y=float(y))
        there = b + np.array([moved.x, moved.y])
        findings = check(replace(marker, placements=(first, moved)))
        apart = ring_distance(a, there)
        kinds = [f.kind for f in findings if f.severity is Severity.FAULT]
        if kinds == ["gap"]:
            assert findings[0].amount == pytest.approx(spacing - apart, abs=1.2e-2)
        elif kinds == []:
            assert apart >= spacing - 1.2e-2
        else:
            assert kinds == ["overlap"]
            assert sampled_depth(a, there) > 0.0
