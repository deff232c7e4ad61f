"""Random markers that are good by construction: cells, tilings, prints, sheets."""

import math
from dataclasses import replace

import numpy as np

from nesting.errors import Severity
from nesting.marker.check import check
from nesting.marker.lay import (
    Binding,
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


def area_of(ring):
    x, y = ring[:, 0], ring[:, 1]
    return 0.5 * float(np.sum(x * np.roll(y, -1) - y * np.roll(x, -1)))
