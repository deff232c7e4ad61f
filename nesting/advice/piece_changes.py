"""Changes to pieces: joined, turned, halved, a little smaller, or cut from a left-over."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from nesting.advice.change import Change, Kind, with_cuts, with_piece
from nesting.advice.lines import Line, lines_of
from nesting.job.job import Job
from nesting.material.material import Material, Nap, Remnant
from nesting.names import another_name
from nesting.pattern.affine import Affine
from nesting.pattern.measure import bounds
from nesting.pattern.piece import Piece
from nesting.pattern.shapes import rectangle
from nesting.pattern.variants.transform import transformed
from nesting.planning.lay.piecing import pieced
from nesting.quantity import Unit

__all__ = ["Held", "piece_changes"]

_SEAM = 10.0
_SEAM_INCH = 9.525
"""Seam allowance at each side of a join: 10 mm, or 3/8 in (common practice, no source)."""

_STRAP = 5.0
"""A piece is a strap if it is so many times as long as it is wide (our choice)."""

_MOST, _MOST_SHARE = 20.0, 0.05
"""A piece is made smaller by so much at most, mm and as a share (our choice)."""

_LARGE = 3
"""So many of the largest pieces are tried in halves."""
_NOT_HALVED = "only the three largest pieces, and those that hold the length, are tried in halves"

_REMNANT_STEP = 10.0
"""To what the sides of a left-over are rounded up (mm)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Held:
    """How the marker as it is depends on pieces.

    `gains`: by the name of a piece, what a mm less of it along the goods and across them gives
    (mm of length). `excess`: by how much (mm) the marker is too long for a step less; None if it
    isn't bought in steps. `width`: usable (mm), None on sheets.
    """

    gains: Mapping[str, tuple[float, float]]
    excess: float | None = None
    width: float | None = None


def piece_changes(job: Job, material: Material, held: Held) -> list[Change]:
    """Return what may be changed of the pieces that are cut from a material."""
    lines = lines_of(job, material)
    largest = sorted(lines, key=lambda line: -line.size[0] * line.size[1])[:_LARGE]
    found: list[Change] = []
    for line in lines:
        found += [*_joined(job, material, line), *_turned(job, material, line)]
        found += _smaller(job, material, line, held)
        tried = line in largest or line.piece.name in held.gains
        halves = _halves(job, material, line)
        found += halves if tried else (replace(one, aside=_NOT_HALVED) for one in halves)
        if tried:
            found += _leftover(job, material, line)
    return found


def _seam(job: Job) -> float:
    return _SEAM_INCH if job.amounts.inches else _SEAM


def _joined(job: Job, material: Material, line: Line) -> Iterator[Change]:
    """Yield a strap joined once, or once more than it may be."""
    cut, (long, short) = line.cut, sorted(line.size, reverse=True)
    if material.taken_in is not Unit.LENGTH or line.bound or long < _STRAP * short:
        return
    joins = 1 if cut.pieced is None else cut.joins + 1
    beyond = _seam(job) if cut.pieced is None else cut.pieced
    seams = joins * line.count
    write = f'pieced = "{job.amounts.setting(beyond)}"' + (
        f", joins = {joins}" if joins > 1 else ""
    )
    times = "" if joins == 1 else f" {joins} times"
    yield Change(
        kind=Kind.JOIN,
        material=material.name,
        what=f"{line.piece.name} joined{times} from shorter pieces",
        write=f"in its [[cut]]: {write}",
        beware=(
            f"{seams} {'seam' if seams == 1 else 'seams'} more to sew; a strap that carries weight"
            " is weaker and thicker there"
        ),
        job=with_cuts(job, lambda c: replace(c, pieced=beyond, joins=joins) if c is cut else c),
        pieces=(line.piece.name,),
    )


def _turned(job: Job, material: Material, line: Line) -> Iterator[Change]:
    """Yield a piece on the cross grain, or one on the bias put straight."""
    cut = line.cut
    free = (cut.nap or material.nap) is Nap.ANY or material.is_leather
    if free or line.bound or line.square:
        return
    if cut.on_bias:
        grain, what = 0.0, f"{line.piece.name} on the straight grain instead of the bias"
        beware = "a binding on the straight grain does not lie flat round curves"
    else:
        grain = 0.0 if cut.grain % 180.0 == 90.0 else 90.0
        what = f"{line.piece.name} turned on the {'cross ' if grain else ''}grain"
        beware = "it stretches and hangs the other way; a print lies on its side there"
    yield Change(
        kind=Kind.CROSS,
        material=material.name,
        what=what,
        write=f"in its [[cut]]: grain = {grain:g}",
        beware=beware,
        job=with_cuts(job, lambda c: replace(c, grain=grain) if c is cut else c),
        pieces=(line.piece.name,),
    )


def _halves(job: Job, material: Material, line: Line) -> Iterator[Change]:
    """Yield a piece cut as two halves that are sewn together across its longer side."""
    cut, piece, seam = line.cut, line.piece, _seam(job)
    long, short = max(line.size), min(line.size)
    plain = not (line.bound or cut.trimmed or cut.folded_back or cut.pieced is not None)
    if not plain or long >= _STRAP * short or material.is_leather or cut.mate or cut.mates:
        return
    x0, y0, x1, y1 = bounds(piece.cut)
    half = 0.5 * long + seam + 1e-9
    wide = x1 - x0 >= y1 - y0
    bits = pieced(piece, width=None if wide else half, length=half if wide else None, beyond=seam)
    if len(bits) != 2:
        return
    names = [
        another_name(f"{piece.name}, half {n}", [p.name for p in line.bag.pieces]) for n in (1, 2)
    ]
    made = tuple(replace(bit, name=name) for bit, name in zip(bits, names, strict=True))
    at = line.bag.cuts.index(cut)
    cuts = (
        *line.bag.cuts[:at],
        *(replace(cut, piece=name) for name in names),
        *line.bag.cuts[at + 1 :],
    )
    bag = replace(line.bag, pieces=(*line.bag.pieces, *made), cuts=cuts)
    a, b, c, d = bounds(made[0].cut)
    yield Change(
        kind=Kind.HALVES,
        material=material.name,
        what=f"{piece.name} as two halves with a seam",
        write=(
            f"two pieces of about {job.amounts.sizes(c - a, d - b)} with"
            f" {job.amounts.setting(seam)} beyond the seam, in place of {piece.name} in its [[cut]]"
        ),
        beware=(
            f"{line.count} {'seam' if line.count == 1 else 'seams'} more to sew, and a print"
            " is parted there"
        ),
        job=replace(job, bags=tuple(bag if one is line.bag else one for one in job.bags)),
        pieces=(piece.name,),
    )


def _smaller(job: Job, material: Material, line: Line, held: Held) -> Iterator[Change]:
    """Yield a piece so much smaller that the chain is a step shorter, or one more fits across."""
    piece = line.piece
    if line.slanted or line.bound:
        return
    wanted: dict[int, float] = {}
    for along, gain in enumerate(held.gains.get(piece.name, ())):
        if held.excess is not None and held.excess > 0.0 and gain > 0.0:
            wanted[along] = math.ceil(held.excess / gain)
    if held.width is not None and line.count > 1:
        room = held.width + material.spacing
        each = line.size[1] + material.spacing
        more = math.floor(room / each + 1e-9) + 1
        short = math.ceil((more * each - room) / more)
        wanted[1] = min(wanted.get(1, math.inf), short)
    for axis, less in wanted.items():
        size = line.size[axis]
        if 0.0 < less <= min(_MOST, _MOST_SHARE * size):
            yield _by(job, material, line, axis=axis, less=float(less))


def _by(job: Job, material: Material, line: Line, *, axis: int, less: float) -> Change:
    """Return the change of a piece by so much along its grain (0) or across it (1)."""
    size, amounts = line.size[axis], job.amounts
    share = (size - less) / size
    drawn = axis if line.along_x else 1 - axis
    scale = Affine(a=share) if drawn == 0 else Affine(d=share)
    return Change(
        kind=Kind.SMALLER,
        material=material.name,
        what=(
            f"{line.piece.name} {amounts.setting(less)} less"
            f" {'across' if axis else 'along'} its grain"
        ),
        write=(
            f"in its [[piece]]: {amounts.setting(size - less)} instead of {amounts.setting(size)}"
            f" as it is cut, {'upwards' if drawn else 'from left to right'}"
        ),
        beware="the bag gets smaller there: what is sewn to it, and its other materials, follow",
        job=with_piece(job, _scaled(line.piece, scale)),
        pieces=(line.piece.name,),
    )


def _scaled(piece: Piece, scale: Affine) -> Piece:
    return replace(transformed(piece, scale), grain=piece.grain)


def _leftover(job: Job, material: Material, line: Line) -> Iterator[Change]:
    """Yield a left-over that takes one copy of a piece."""
    if material.taken_in is Unit.HIDES or material.folded:
        return
    if line.bound or line.cut.pieced is not None:
        return
    room = 2.0 * material.spacing
    if material.taken_in is Unit.SHEETS:
        room += 2.0 * material.margin
    sides = [math.ceil((side + room) / _REMNANT_STEP) * _REMNANT_STEP for side in line.size]
    name = another_name("left-over", [one.name for one in material.remnants])
    rest = Remnant(name=name, outline=rectangle(sides[0], sides[1]))
    said = f'["{job.amounts.setting(sides[0])}", "{job.amounts.setting(sides[1])}"]'
    yield Change(
        kind=Kind.LEFTOVER,
        material=material.name,
        what=f"{line.piece.name} from a left-over of {job.amounts.sizes(*sides)}, if there is one",
        write=f'a [[remnant]] with material = "{material.name}" and rectangle = {said}',
        beware="of the same dye lot, its grain along the first side",
        job=job.with_material(replace(material, remnants=(*material.remnants, rest))),
        pieces=(line.piece.name,),
    )
