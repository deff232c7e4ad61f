"""Hundreds of markers that are good by construction, and faults planted in each of them.

Parts lie in cells that don't overlap, so the markers need no search and no judge to be
known good. The amounts found are compared with plain numpy computations that share
nothing with the judge: separating axes, even-odd sampling, clipping.
"""

import math
from dataclasses import replace

import numpy as np
import pytest
from shapely import Polygon

from nesting.errors import Severity
from nesting.marker.check import check
from nesting.marker.contact import overlap_depth
from nesting.marker.lay import (
    Binding,
    Edge,
    Lattice,
    Lay,
    Part,
    Region,
    Sheet,
    Sheets,
    Strip,
    Turns,
)
from nesting.marker.marker import Marker, Placement
from nesting.pattern.path import Affine, Arc, Bezier, Path
from nesting.pattern.piece import Piece

MARKERS = range(200)
QUARTERS = (0.0, 90.0, 180.0, 270.0)


# ---- pieces


def box(x0, y0, x1, y1):
    return Path.polyline([(x0, y0), (x1, y0), (x1, y1), (x0, y1)], closed=True)


def star(rng, size):
    """Make a star-shaped outline: concave, straight edges."""
    n = int(rng.integers(5, 30))
    turns = np.sort((np.arange(n) + rng.uniform(0.05, 0.95, n)) / n) * 2.0 * math.pi
    radii = size * rng.uniform(0.25, 0.5, n)
    return Path.polyline(np.c_[radii * np.cos(turns), radii * np.sin(turns)].tolist(), closed=True)


def oval(rng, size):
    a, b = 0.5 * size * rng.uniform(0.3, 1.0, 2)
    return Path((Arc((0.0, 0.0), (a, 0.0), (0.0, b), 0.0, 2.0 * math.pi),))


def petal(rng, size):
    """Make a closed outline of two Bézier curves and a line."""
    w, h = size * rng.uniform(0.3, 0.6, 2)
    return Path(
        (
            Bezier((0.0, 0.0), (w, -h), (w, 0.0), (w, 0.5 * h)),
            Bezier((w, 0.5 * h), (w, h), (0.5 * w, h), (0.0, h)),
            Bezier((0.0, h), (0.3 * w, 0.7 * h), (0.3 * w, 0.3 * h), (0.0, 0.0)),
        )
    )


def frame(rng, size):
    w, h = size * rng.uniform(0.5, 0.9, 2)
    rim = 0.15 * min(w, h)
    return box(0, 0, w, h), (box(rim, rim, w - rim, h - rim).reversed(),)


def random_piece(rng, name, size):
    kind = int(rng.integers(5))
    if kind == 4:
        cut, holes = frame(rng, size)
        return Piece(name=name, cut=cut, holes=holes)
    if kind == 3:
        return Piece(name=name, cut=box(0, 0, *(size * rng.uniform(0.2, 0.9, 2))))
    return Piece(name=name, cut=(star, oval, petal)[kind](rng, size))


def fine_points(segment):
    t = np.linspace(0.0, 1.0, 2001)[:, None]
    if isinstance(segment, Arc):
        angle = segment.begin + t * segment.sweep
        spokes = np.cos(angle) * np.array(segment.u) + np.sin(angle) * np.array(segment.v)
        return np.array(segment.centre) + spokes
    if isinstance(segment, Bezier):
        p, q, r, s = map(np.array, (segment.start, segment.first, segment.second, segment.end))
        return (1 - t) ** 3 * p + 3 * (1 - t) ** 2 * t * q + 3 * (1 - t) * t**2 * r + t**3 * s
    return np.array([segment.start, segment.end])


def true_bounds(piece, affine):
    """Bounding box of a mapped outline, from points far finer than the judge's."""
    fine = np.vstack([fine_points(segment) for segment in piece.cut.segments])
    x = affine.a * fine[:, 0] + affine.b * fine[:, 1] + affine.e
    y = affine.c * fine[:, 0] + affine.d * fine[:, 1] + affine.f
    return x.min(), y.min(), x.max(), y.max()


# ---- good markers


def in_cells(rng, count, size):
    """Parts in a grid of cells: (part, turned and flipped placement), as close as the cells."""
    spacing = float(rng.choice([0.0, 0.0, 2.5]))
    rows = int(rng.integers(2, 6))
    pitch = size + spacing
    parts, placements = [], []
    for i in range(count):
        piece = random_piece(rng, f"piece {i}", size)
        angle = float(rng.choice(QUARTERS)) if rng.random() < 0.6 else float(rng.uniform(0, 360))
        flipped = bool(rng.random() < 0.3)
        part = Part(
            name=f"part {i}",
            piece=piece,
            turns=Turns(angles=(angle, 7.0), slack=float(rng.choice([0.0, 1.0]))),
            flip=flipped,
        )
        spun = Placement(part=i, x=0.0, y=0.0, angle=angle, flipped=flipped)
        x0, y0, _, _ = true_bounds(piece, spun.affine)
        # 1.45 bounds the diagonal of what random_piece makes.
        x, y = 1.45 * pitch * (i // rows), 1.45 * pitch * (i % rows)
        parts.append(part)
        placements.append(replace(spun, x=x - x0, y=y - y0))
    return parts, placements, spacing, 1.45 * pitch * rows


def good_cells(rng):
    size = float(10.0 ** rng.uniform(0.0, 3.5))
    parts, placements, spacing, width = in_cells(rng, int(rng.integers(4, 16)), size)
    lay = Lay(name="cells", parts=tuple(parts), stock=Strip(width=width), spacing=spacing)
    return Marker(lay=lay, placements=tuple(placements))


def good_tiling(rng):
    """Cut a rectangle into convex tiles by random lines: every part touches its neighbours."""
    width, length = 10.0 ** rng.uniform(0.5, 4.0) * rng.uniform(0.5, 1.0, 2)
    tiles = [np.array([[0, 0], [length, 0], [length, width], [0, width]], dtype=float)]
    for _ in range(int(rng.integers(3, 15))):
        k = int(np.argmax([abs(area_of(tile)) for tile in tiles]))
        tile = tiles.pop(k)
        tiles.extend(halves(rng, tile))
    parts, placements = [], []
    for i, tile in enumerate(tiles):
        corner = tile[int(rng.integers(len(tile)))]
        angle = float(rng.choice([0.0, float(rng.uniform(0, 360))]))
        local = Affine.turn(-angle)
        outline = [local(p) for p in (tile - corner).tolist()]
        piece = Piece(name=f"tile {i}", cut=Path.polyline(outline, closed=True))
        parts.append(Part(name=f"part {i}", piece=piece, turns=Turns(angles=(angle,))))
        placements.append(Placement(part=i, x=corner[0], y=corner[1], angle=angle))
    stock = Strip(width=float(width), longest=float(length))
    return Marker(
        lay=Lay(name="tiling", parts=tuple(parts), stock=stock), placements=tuple(placements)
    )


def halves(rng, tile):
    """Cut a convex tile between points of two of its edges."""
    n = len(tile)
    i, j = sorted(rng.choice(n, 2, replace=False).tolist())
    s, t = rng.uniform(0.3, 0.7, 2)
    p = tile[i] + s * (tile[(i + 1) % n] - tile[i])
    q = tile[j] + t * (tile[(j + 1) % n] - tile[j])
    return (
        np.vstack([p, tile[i + 1 : j + 1], q]),
        np.vstack([q, tile[j + 1 :], tile[: i + 1], p]),
    )


def good_print(rng):
    """Parts whose anchors lie on a lattice, some bound absolutely and some as a match."""
    drop = float(rng.choice([0.0, 0.5]))
    size = float(rng.uniform(30.0, 90.0))
    lattice = Lattice(
        along=1.5 * size,
        across=1.5 * size,
        drop=drop,
        origin=(float(rng.uniform(0, 50)), float(rng.uniform(0, 50))),
        tolerance=float(rng.choice([0.0, 0.3])),
    )
    shift = rng.uniform(0, 40, 2)
    parts, placements = [], []
    for i in range(int(rng.integers(4, 14))):
        column, row = i // 4, i % 4
        piece = random_piece(rng, f"piece {i}", 0.9 * size)
        x0, y0, x1, y1 = true_bounds(piece, Affine())
        anchor = (float(0.5 * (x0 + x1)), float(0.5 * (y0 + y1)))
        matched = i % 3 == 0
        binding = Binding(anchor=anchor, lattice=lattice, phase="match" if matched else None)
        x = lattice.origin[0] + (column + 1) * lattice.along
        x += drop * lattice.along * (row % 2)
        y = lattice.origin[1] + (row + 2) * lattice.across
        if matched:
            # All that match are shifted together, and have columns of their own.
            x, y = x + 30 * lattice.along + shift[0], y + shift[1]
        slack = lattice.tolerance * rng.uniform(-0.9, 0.9, 2)
        parts.append(Part(name=f"part {i}", piece=piece, binding=binding))
        placements.append(
            Placement(part=i, x=float(x - anchor[0] + slack[0]), y=float(y - anchor[1] + slack[1]))
        )
    lay = Lay(name="print", parts=tuple(parts), stock=Strip(width=20 * size))
    return Marker(lay=lay, placements=tuple(placements))


def good_sheets(rng):
    """Two or three sheets with flaws between the parts, a margin, and a region for some."""
    size, margin = float(rng.uniform(20.0, 200.0)), float(rng.choice([0.0, 4.0]))
    count = int(rng.integers(2, 4))
    parts, placements = [], []
    everything, flaws, far = [], [], margin
    pieces_on = 6
    for _ in range(count):
        more, laid, spacing, width = in_cells(rng, pieces_on, size)
        rows = round(width / (1.45 * (size + spacing)))
        everything.append((more, laid, rows, spacing))
        far = max(far, width, 1.45 * (size + spacing) * (pieces_on // rows + 1))
    far += 2.0 * margin
    spacing = min(entry[3] for entry in everything)
    for sheet, (more, laid, _, _) in enumerate(everything):
        for part, placement in zip(more, laid, strict=True):
            i = len(parts)
            region = "prime" if sheet == 0 else None
            parts.append(replace(part, name=f"part {i}", region=region))
            placements.append(
                replace(
                    placement, part=i, sheet=sheet, x=placement.x + margin, y=placement.y + margin
                )
            )
    # A band beyond all parts takes the flaws.
    r = 0.2 * size
    for k in range(3):
        at = (far + 2.0 * size, (k + 1) * size)
        flaws.append(Path((Arc(at, (r, 0.0), (0.0, r), 2.0 * math.pi, -2.0 * math.pi),)))
    outline = box(0.0, 0.0, far + 3.0 * size, far)
    prime = Region(name="prime", outlines=(box(0.0, 0.0, far + 0.5 * size, far),))
    hide = Sheet(name="hide", outline=outline, holes=tuple(flaws), regions=(prime,), count=count)
    stock = Sheets(sheets=(hide,), margin=margin)
    lay = Lay(name="sheets", parts=tuple(parts), stock=stock, spacing=spacing)
    return Marker(lay=lay, placements=tuple(placements), sheets=(0,) * count)


FAMILIES = (good_cells, good_tiling, good_print, good_sheets)


def good(seed):
    rng = np.random.default_rng(seed)
    return FAMILIES[seed % len(FAMILIES)](rng), rng


def faults(marker):
    return [finding for finding in check(marker) if finding.severity is Severity.FAULT]


@pytest.mark.parametrize("seed", MARKERS)
def test_good_markers_give_no_finding(seed):
    marker, _ = good(seed)
    assert check(marker) == ()


# ---- faults planted


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


# ---- independent measures


def area_of(ring):
    x, y = ring[:, 0], ring[:, 1]
    return 0.5 * float(np.sum(x * np.roll(y, -1) - y * np.roll(x, -1)))


def rings(marker, i, chord):
    """Outline and holes of a laid part as arrays of points."""
    placement, piece = marker.placements[i], marker.lay.parts[marker.placements[i].part].piece
    return [
        np.array([placement.affine(p) for p in path.points(chord)])
        for path in (piece.cut, *piece.holes)
    ]


def inside(points, ring):
    """Even-odd rule."""
    x, y = points[:, :1], points[:, 1:]
    x0, y0 = ring[:, 0], ring[:, 1]
    x1, y1 = np.roll(x0, -1), np.roll(y0, -1)
    crosses = (y0 > y) != (y1 > y)
    with np.errstate(divide="ignore", invalid="ignore"):
        left = x < x0 + (y - y0) * (x1 - x0) / (y1 - y0)
    return np.sum(crosses & left, axis=1) % 2 == 1


def edge_distance(points, ring):
    """Distance of points from the edges of a ring."""
    start, way = ring, np.roll(ring, -1, axis=0) - ring
    rel = points[:, None, :] - start[None]
    t = np.clip(np.sum(rel * way, axis=2) / np.sum(way * way, axis=1), 0.0, 1.0)
    return np.min(np.hypot(*np.moveaxis(rel - t[:, :, None] * way, 2, 0)), axis=1)


def ring_distance(a, b):
    """Distance of two outlines that don't cross (it is taken at a corner of one)."""
    return float(min(edge_distance(a, b).min(), edge_distance(b, a).min()))


def sampled_depth(a, b, n=60):
    """Largest depth in `a` or `b` among a grid of shared points: never above the truth."""
    low = np.maximum(a.min(axis=0), b.min(axis=0))
    high = np.minimum(a.max(axis=0), b.max(axis=0))
    if (low >= high).any():
        return 0.0
    grid = np.stack(np.meshgrid(*np.linspace(low, high, n).T), axis=-1).reshape(-1, 2)
    grid = np.vstack([grid, a, b])
    shared = grid[inside(grid, a) & inside(grid, b)]
    if len(shared) == 0:
        return 0.0
    return float(max(edge_distance(shared, a).max(), edge_distance(shared, b).max()))


def deep_point(marker, i):
    """Find a point well inside a laid part, by sampling."""
    outline, *holes = rings(marker, i, chord=0.5)
    low, high = outline.min(axis=0), outline.max(axis=0)
    grid = np.stack(np.meshgrid(*np.linspace(low, high, 40).T), axis=-1).reshape(-1, 2)
    grid = grid[inside(grid, outline)]
    depth = edge_distance(grid, outline)
    for hole in holes:
        depth = np.where(inside(grid, hole), 0.0, np.minimum(depth, edge_distance(grid, hole)))
    best = grid[int(np.argmax(depth))]
    return float(best[0]), float(best[1])


def convex(rng, n=12):
    turns = np.sort(rng.uniform(0.0, 2.0 * math.pi, n))
    ring = np.c_[50.0 * np.cos(turns), rng.uniform(20.0, 50.0) * np.sin(turns)]
    return ring if area_of(ring) > 500.0 else convex(rng, n)


def least_shift(a, b):
    """Shortest shift that parts two convex rings: separating axes (Gottschalk et al. 1996)."""
    normals = np.vstack([np.roll(ring, -1, axis=0) - ring for ring in (a, b)])[:, ::-1] * (1, -1)
    normals /= np.linalg.norm(normals, axis=1, keepdims=True)
    over = (normals @ a.T).max(axis=1) - (normals @ b.T).min(axis=1)
    under = (normals @ b.T).max(axis=1) - (normals @ a.T).min(axis=1)
    return float(min(over.min(), under.min()))


def clipped_area(a, b):
    """Area shared by two convex rings: clipping by half-planes (Sutherland and Hodgman 1974)."""
    out = a
    for p, q in zip(b, np.roll(b, -1, axis=0), strict=True):
        side = (q[0] - p[0]) * (out[:, 1] - p[1]) - (q[1] - p[1]) * (out[:, 0] - p[0])
        kept = []
        for k in range(len(out)):
            s, t, u, v = out[k - 1], out[k], side[k - 1], side[k]
            if (u < 0.0) != (v < 0.0):
                kept.append(s + (t - s) * u / (u - v))
            if v >= 0.0:
                kept.append(t)
        if len(kept) < 3:
            return 0.0
        out = np.array(kept)
    return abs(area_of(out))


@pytest.mark.parametrize("seed", range(60))
def test_depth_and_area_of_convex_overlaps(seed):
    rng = np.random.default_rng(seed)
    a, b = convex(rng), convex(rng)
    way = rng.normal(size=2)
    way /= np.linalg.norm(way)
    # Walk b away from a until they part; then come back by a known, small way.
    low, high = 0.0, 300.0
    while high - low > 1e-12 * high:
        mid = 0.5 * (low + high)
        low, high = (mid, high) if least_shift(a, b + mid * way) > 0.0 else (low, mid)
    for back in (1e-3, 0.1, 2.0, 20.0):
        moved = b + (high - back) * way
        shift = least_shift(a, moved)
        depth, area, at = overlap_depth(Polygon(a), Polygon(moved))
        assert depth <= shift * 1.003
        assert depth >= sampled_depth(a, moved) * 0.997
        assert area == pytest.approx(clipped_area(a, moved), rel=1e-6)
        where = np.array([at])
        reach = max(edge_distance(where, a)[0], edge_distance(where, moved)[0])
        assert reach == pytest.approx(depth, rel=3e-3)
        if back <= 0.1:
            # A corner in an edge: the depth is the shortest way out.
            assert depth == pytest.approx(shift, rel=3e-3)


@pytest.mark.parametrize("seed", range(40))
def test_depth_of_concave_overlaps(seed):
    rng = np.random.default_rng(seed)
    a = np.array(star(rng, 100.0).points(1e-3))
    b = np.array(star(rng, 100.0).points(1e-3)) + rng.uniform(-60.0, 60.0, 2)
    depth, _, _ = overlap_depth(Polygon(a), Polygon(b))
    sampled = sampled_depth(a, b, n=150)
    assert depth >= sampled * 0.997
    # A grid point lies within half a cell's diagonal of the deepest point, if it is shared.
    assert depth <= sampled + 1.5 or sampled == 0.0
