"""A picture made flat: as the ground looks from straight above, at one scale, in mm."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import cv2
import numpy as np
from numpy.typing import NDArray

from nesting.errors import Finding, PatternError, Severity
from nesting.reading.pictures.camera import Camera, Known, Regular, camera_of
from nesting.reading.pictures.edges import Points
from nesting.reading.pictures.picture import Picture, Pixels
from nesting.reading.pictures.references.find import Finder
from nesting.reading.pictures.references.reference import HOW, Kind, Reference

__all__ = ["Flat", "flatten"]

_SURE = 3.0
"""What may be off is told as so many standard deviations."""
_NODES = 25
_DPI_OFF = 0.004
"""By what share a scanner's pixels per inch may be off (three standard deviations): own choice."""
_SMALLEST_SCALE = 3.0
"""What is seen so many times smaller than the picture's middle, or more, is too far off."""
_DISAGREE = (5.0, 0.01, 1.0)
"""References contradict one another if their sides lie off by so many times more than they are
rough, and one is by so large a share not what it should be or the sides are so many pixels off."""
_SQUARE_OFF = 0.006
"""A square that is one to this share is seen from straight above, as a scanner sees it."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Flat:
    """A flat picture of the ground.

    `pixels`: rows × columns × (red, green, blue). `mm_per_pixel`: its scale, the same everywhere.
    `origin`: where the middle of its first pixel lies (mm, y up), so that the middle of pixel
    (column, row) lies at (origin x + column · scale, origin y - row · scale). `seen`: which pixels
    show something of the picture. `off`: how far (mm) places may be off in the whole of
    it, `off_of` for some of it. `references`: where what gave the scale lies, in its pixels
    (4 × 2 each), and whether it lies `alone`, not on paper of its own; `lying`: whether something
    is seen there at all, and its corners were not only said. `said`: what gave the
    scale, in words; `findings`: what else there is to tell. `of_picture`: where places of the
    picture (columns and rows, n × 2) lie in it, `in_picture`: the other way. `again`: the same
    picture made flat with what repeats in it (in pixels of the picture), None of a scan.
    """

    pixels: Pixels
    mm_per_pixel: float
    origin: tuple[float, float]
    seen: NDArray[np.bool_]
    off: float
    references: tuple[Points, ...]
    alone: tuple[bool, ...]
    lying: tuple[bool, ...]
    said: str
    modes: NDArray[np.float64]
    of_picture: Callable[[Points], Points]
    in_picture: Callable[[Points], Points]
    again: Callable[[Regular], Flat] | None = None
    findings: tuple[Finding, ...] = ()

    def to_mm(self, points: Points) -> Points:
        """Return where places of it (columns and rows, n × 2) lie, in mm with y up."""
        return np.asarray(
            points * [self.mm_per_pixel, -self.mm_per_pixel] + self.origin, np.float64
        )

    def off_of(self, points: Points) -> float:
        """Return how far (mm) the shape that has these points (pixels, n × 2) may be off.

        What the camera isn't known by, three standard deviations of it, at the worst of the points;
        a turn or a move of the whole shape is no matter.
        """
        height, width = self.pixels.shape[:2]
        return _off(_between(self.modes, points / [width - 1.0, height - 1.0]), self.to_mm(points))

    def stretch(self, points: Points, way: Points) -> float:
        """Return by what share lengths along a way (y up) may be off, over all of these points.

        One standard deviation of what the camera isn't known by; `points` in pixels, n × 2.
        """
        height, width = self.pixels.shape[:2]
        modes = _between(self.modes, points / [width - 1.0, height - 1.0])
        terms = np.column_stack([self.to_mm(points), np.ones(len(points))])
        slopes = np.linalg.lstsq(terms, modes.reshape(len(points), -1), rcond=None)[0][:2]
        along = way / np.hypot(*way)
        each = np.einsum("i,ijk,j->k", along, slopes.reshape(2, 2, -1), along)
        return float(np.sqrt(np.sum(each**2)))


def flatten(picture: Picture, references: Sequence[Reference]) -> Flat:
    """Return the picture made flat by what is known in it.

    Raises
    ------
    PatternError
        If nothing gives the scale, something isn't there, or they contradict one another.

    """
    finder = Finder(picture=picture)
    references = references or _default(finder)
    lens, known, said, flat = _camera(finder, references)
    found = _flattened(picture, lens, known, said)
    if flat:
        return found

    def again(regular: Regular) -> Flat:
        better = camera_of(known, finder.size, regular=regular)
        return _flattened(picture, better, known, said)

    return replace(found, again=again)


def _default(finder: Finder) -> list[Reference]:
    """Return our own marks where they are seen."""
    from nesting.reading.pictures.references.reference import parse_reference

    if finder.marks:
        return [parse_reference("marks")]
    dpi = finder.picture.dpi
    also = (
        f"; its file says {dpi[0]:.4g} dpi: if it is a flat scan at its full size, say"
        f' "{dpi[0]:.4g} dpi"'
        if dpi and not finder.picture.camera
        else ""
    )
    raise PatternError(
        "nothing says how large things in the picture are", field="reference", hint=HOW + also
    )


def _camera(
    finder: Finder, references: Sequence[Reference]
) -> tuple[Camera, list[Known], str, bool]:
    """Return the camera, what is known, in words, and whether the picture is a flat scan."""
    said = " and ".join(dict.fromkeys(reference.name for reference in references))
    scans = [reference for reference in references if reference.kind is Kind.DPI]
    others = [reference for reference in references if reference.kind is not Kind.DPI]
    if not others:
        return _scanned(scans[0].dpi, finder.size), [], said, True
    known = _known(finder, others)
    flat = bool(scans) or _is_scan(finder.picture, others, known)
    lens = camera_of(known, finder.size, flat=flat)
    _agree(lens, known, finder.size)
    for scan in scans:
        dpi = 25.4 / _scale_at(lens, np.array([lens.middle]))
        if abs(dpi / scan.dpi - 1.0) > 0.01:
            raise PatternError(
                f"the picture is said to have {scan.dpi:g} dpi, and by {others[0].name!r} it has"
                f" {dpi:.4g}",
                field="reference",
                hint="say only what is right",
            )
    count = f", {len(known)} of them" if len(known) > len(others) else ""
    return lens, known, said + count + (", a flat scan" if flat else ""), flat


def _known(finder: Finder, references: Sequence[Reference]) -> list[Known]:
    """Return where all references are; one that several things could be is known by the others."""
    known: list[Known] = []
    doubtful: list[Reference] = []
    for reference in references:
        try:
            known += finder.known(reference)
        except PatternError:
            if len(references) == 1:
                raise
            doubtful.append(reference)
    for reference in doubtful:
        known += finder.known(reference, given=known)
    return known


def _is_scan(picture: Picture, references: Sequence[Reference], known: Sequence[Known]) -> bool:
    """Tell whether a picture with nothing but drawn squares was taken from straight above.

    So a scanner sees; a small square in a photograph would say nothing of what is far from it.
    """
    if picture.camera or any(reference.kind is not Kind.SQUARE for reference in references):
        return False
    lens = camera_of(known, (picture.width, picture.height), flat=True)
    a, b, _, c, d, _ = lens.values[:6]
    along, across = np.hypot(a, c), np.hypot(b, d)
    skew = abs(a * b + c * d) / (along * across)
    if lens.misfit > 0.5:
        return False
    return bool(abs(along / across - 1.0) < _SQUARE_OFF and skew < _SQUARE_OFF)


def _agree(lens: Camera, known: Sequence[Known], size: tuple[int, int]) -> None:
    """Refuse references that contradict one another."""
    times, largest, most = _DISAGREE
    if len(known) < 2 or lens.misfit <= times * max(one.quad.noise for one in known):
        return
    first = camera_of(known[:1], size)
    worst, share = known[1], 1.0
    for one in known[1:]:
        seen = first.to_ground(one.quad.corners)
        gaps = np.roll(seen, -1, axis=0) - seen
        ratio = float(np.hypot(gaps[:, 0], gaps[:, 1]).sum() / (2.0 * sum(one.sides)))
        if abs(ratio - 1.0) >= abs(share - 1.0):
            worst, share = one, ratio
    if abs(share - 1.0) < largest and lens.misfit < most:
        return
    raise PatternError(
        f"the references contradict one another: by {known[0].name!r} the other, {worst.name!r},"
        f" is {100.0 * share:.1f} % of its size",
        field="reference",
        hint="see that all lie flat on one ground and are what is said, or say only one",
    )


def _scanned(dpi: float, size: tuple[int, int]) -> Camera:
    """Return how a scanner sees that is believed to have so many pixels per inch."""
    radius = 0.5 * float(np.hypot(*size))
    unit = radius * 25.4 / dpi
    values = np.zeros(14)
    values[[0, 4]] = 1.0
    spread = np.zeros((14, 2))
    spread[0, 0] = spread[4, 1] = _DPI_OFF / _SURE
    return Camera(
        values=values,
        spread=spread,
        middle=((size[0] - 1) / 2.0, (size[1] - 1) / 2.0),
        radius=radius,
        unit=unit,
    )


def _scale_at(lens: Camera, points: Points) -> float:
    """Return how many mm a pixel of the picture is at places, the mean."""
    return float(np.mean(_scales(lens, points)))


def _scales(lens: Camera, points: Points) -> NDArray[np.float64]:
    here, right, down = (lens.to_ground(points + step) for step in ([0, 0], [1, 0], [0, 1]))
    a, b = right - here, down - here
    return np.asarray(np.sqrt(np.abs(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0])), np.float64)


def _flattened(picture: Picture, lens: Camera, known: Sequence[Known], said: str) -> Flat:
    middle = np.array([lens.middle])
    scale = _scale_at(lens, middle)
    step = (lens.to_ground(middle + np.array([1.0, 0.0])) - lens.to_ground(middle))[0]
    way = _right(step, lens.rectangles)
    turn = np.array([[way[0], way[1]], [-way[1], way[0]]])
    x, y = np.meshgrid(
        np.linspace(0, picture.width - 1, 33), np.linspace(0, picture.height - 1, 33)
    )
    net = np.column_stack([x.ravel(), y.ravel()])
    net = net[_scales(lens, net) < _SMALLEST_SCALE * scale]
    ground = lens.to_ground(net)
    ground = ground[~lens.beyond(ground)] @ turn.T
    low, high = ground.min(axis=0), ground.max(axis=0)
    room = float(np.prod((high - low) / scale))
    scale *= max(1.0, (room / (2.0 * picture.pixels.size / 3.0)) ** 0.5)
    width, height = (int(n) + 1 for n in np.ceil((high - low) / scale))
    pixels, seen = _warped(picture, lens, turn, low, scale, (width, height))
    nodes = _nodes(width, height)
    places = lens.to_picture((nodes * scale + low) @ turn)
    modes = np.einsum("ij,njk->nik", turn * [[1.0], [-1.0]], lens.shifts(places))
    modes = modes.reshape(_NODES, _NODES, 2, -1)
    origin = (0.0, float(high[1] - low[1]))
    inside = _inside(places, picture)
    mm = nodes * [scale, -scale] + origin
    return Flat(
        pixels=pixels,
        mm_per_pixel=scale,
        origin=origin,
        seen=seen,
        off=_off(modes.reshape(-1, 2, modes.shape[-1])[inside], mm[inside]),
        references=tuple((corners @ turn.T - low) / scale for corners in lens.rectangles),
        alone=tuple(not one.name.startswith("mark ") for one in known),
        lying=tuple(one.quad.seen for one in known),
        said=said,
        modes=modes,
        of_picture=lambda points: (lens.to_ground(points) @ turn.T - low) / scale,
        in_picture=lambda points: lens.to_picture((points * scale + low) @ turn),
        findings=_told(lens, known),
    )


def _right(step: Points, rectangles: Sequence[Points]) -> Points:
    """Return what becomes right: the side of the first reference that is nearest to it.

    `step`: right in the picture. So a scan that lay askew comes out straight.
    """
    ways = [step]
    for corners in rectangles[:1]:
        side = corners[1] - corners[0]
        ways = [side, -side, side[::-1] * [-1, 1], side[::-1] * [1, -1]]
    every = [way / np.hypot(*way) for way in ways]
    return max(every, key=lambda way: float(way @ step))


def _nodes(width: int, height: int) -> Points:
    x, y = np.meshgrid(np.linspace(0, width - 1, _NODES), np.linspace(0, height - 1, _NODES))
    return np.column_stack([x.ravel(), y.ravel()])


def _inside(places: Points, picture: Picture) -> NDArray[np.bool_]:
    low = (places > -0.5).all(axis=1)
    return np.asarray(
        low & (places[:, 0] < picture.width - 0.5) & (places[:, 1] < picture.height - 0.5), bool
    )


def _warped(
    picture: Picture,
    lens: Camera,
    turn: Points,
    low: Points,
    scale: float,
    size: tuple[int, int],
) -> tuple[Pixels, NDArray[np.bool_]]:
    """Return the picture as seen from above, and which pixels have something to show.

    The way back into the picture is reckoned at every sixteenth pixel, and evenly in between.
    """
    width, height = size
    net = 16
    columns = np.arange(0, width + net, net)
    share = np.arange(width) / net
    left, part = share.astype(int), (share % 1.0)[None, :, None]
    out = np.empty((height, width, 3), np.uint8)
    seen = np.empty((height, width), bool)
    most = np.array([picture.width - 0.5, picture.height - 0.5])
    for top in range(0, height, net):
        x, y = np.meshgrid(columns, [top, top + net])
        plane = (np.column_stack([x.ravel(), y.ravel()]) * scale + low) @ turn
        ends = lens.to_picture(plane).reshape(2, -1, 2)
        wide = ends[:, left] * (1.0 - part) + ends[:, left + 1] * part
        rows = min(net, height - top)
        down = (np.arange(rows) / net)[:, None, None]
        there = wide[0] * (1.0 - down) + wide[1] * down
        seen[top : top + rows] = ((there > -0.5) & (there < most)).all(axis=2)
        maps = np.clip(there, -1e4, 1e5).astype(np.float32)
        out[top : top + rows] = cv2.remap(
            picture.pixels,
            np.ascontiguousarray(maps[..., 0]),
            np.ascontiguousarray(maps[..., 1]),
            cv2.INTER_LINEAR,
            borderMode=cv2.BORDER_REPLICATE,
        )
    return out, seen


def _between(modes: NDArray[np.float64], share: Points) -> NDArray[np.float64]:
    """Return the modes at places (shares of width and height), between the nodes."""
    at = np.clip(share, 0.0, 1.0) * (_NODES - 1)
    low = np.minimum(at.astype(int), _NODES - 2)
    u, v = ((at - low)[:, i, None, None] for i in (0, 1))
    column, row = low.T
    upper = modes[row, column] * (1.0 - u) + modes[row, column + 1] * u
    lower = modes[row + 1, column] * (1.0 - u) + modes[row + 1, column + 1] * u
    return np.asarray(upper * (1.0 - v) + lower * v, np.float64)


def _off(modes: NDArray[np.float64], mm: Points) -> float:
    """Return the largest error of places, but for a turn and a move of all of them together."""
    if not len(mm):
        return 0.0
    x, y = (mm - mm.mean(axis=0)).T
    one, none = np.ones_like(x), np.zeros_like(x)
    moves = np.stack([[one, none], [none, one], [-y, x]]).transpose(2, 1, 0).reshape(-1, 3)
    basis = np.linalg.qr(moves)[0]
    every = modes.reshape(len(mm) * 2, -1)
    left = (every - basis @ (basis.T @ every)).reshape(len(mm), 2, -1)
    spread = np.einsum("nik,njk->nij", left, left)
    return _SURE * float(np.sqrt(np.linalg.eigvalsh(spread)[:, -1].max()))


def _told(lens: Camera, known: Sequence[Known]) -> tuple[Finding, ...]:
    """Return how well references agree, and what is believed of sheets."""
    told = []
    if len(known) > 1:
        text = f"the {len(known)} references agree to within {_apart(lens, known):.1f} mm"
        told.append(Finding(kind="agree", text=text, severity=Severity.NOTE))
    sheets = {one.name for one in known if one.name in ("A2", "A3", "A4", "A5", "A6")}
    if not sheets:
        return tuple(told)
    text = (
        f"{', '.join(sorted(sheets))} is taken to be as large as its standard says, which lets "
        'sheets be off by 2 mm: if it matters, measure yours and say "209.8 x 296.9 mm"'
    )
    return (*told, Finding(kind="reference", text=text, severity=Severity.NOTE))


def _apart(lens: Camera, known: Sequence[Known]) -> float:
    """Return how far (mm) corners are seen from where they are by all that is known, at most."""
    gaps = [
        np.hypot(*(lens.to_ground(one.quad.corners) - laid).T).max()
        for one, laid in zip(known, lens.rectangles, strict=True)
    ]
    return float(max(gaps))
