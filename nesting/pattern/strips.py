"""Bias binding and straps: how long, from how much cloth, with how many joins and what loss.

Lengths in mm. Bias strips run at 45° to the grain. They are joined along the grain,
which is a slanting seam across the strip: each of the two loses √2 × the allowance.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from nesting.errors import JobError
from nesting.units import round_up

__all__ = [
    "Joined",
    "bias_strips",
    "binding_length",
    "binding_square",
    "continuous_binding",
    "joined_bias",
    "joined_strip",
    "strap_interfacing",
    "strap_width",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Joined:
    """A long strip joined from pieces.

    `pieces`: their cut lengths along the middle (mm). `joins` between them. `length`
    of the joined strip (mm). `lost`: what of the pieces' length the seams take (mm).
    """

    pieces: tuple[float, ...]
    joins: int
    length: float
    lost: float


def binding_length(area: float, *, strip: float) -> float:
    """Return the length of strip (mm) in an area (mm²), nothing lost: area / width."""
    return area / strip


def binding_square(length: float, *, strip: float, step: float, seam: float = 0.0) -> float:
    """Return the side of the square for a length of binding, up to the step: √(length × width).

    A seam allowance is added, which the square loses each way when it is sewn to a tube.
    """
    return round_up(math.sqrt(length * strip) + seam, step=step)


def continuous_binding(length: float, *, width: float, strip: float, seam: float) -> float:
    """Return the binding from a rectangle sewn to a tube and cut round and round (mm).

    The rectangle (`length` × `width`) is cut along its diagonal and sewn together
    again, then to a tube: each way it loses one seam allowance, as the trade reckons.
    """
    return binding_length((length - seam) * (width - seam), strip=strip)


def bias_strips(length: float, *, width: float, strip: float) -> tuple[float, ...]:
    """Return the usable lengths of the bias strips that a rectangle gives, longest first.

    The first line is the true bias through a corner, strips are ruled from it both
    ways. A strip is used as far as it is a parallelogram with its ends along one
    grain, the same for all strips so that they can be joined right sides together.
    """
    short, long = sorted((length, width))
    step = strip * math.sqrt(2.0)
    first = -math.floor(short / step + 1e-9)
    last = math.floor(long / step + 1e-9)
    starts = [short + k * step for k in range(first, last)]
    starts = [c for c in starts if c + step <= short + long + 1e-9]
    one_way = [_between(c, step, along=length, across=width) for c in starts]
    other_way = [_between(c, step, along=width, across=length) for c in starts]
    best = max(one_way, other_way, key=sum)
    return tuple(sorted((piece for piece in best if piece > 1e-9), reverse=True))


def _between(start: float, step: float, *, along: float, across: float) -> float:
    """Return how far the strip between x + y = start and start + step goes with upright ends."""
    reach = min(along, start) - max(0.0, start + step - across)
    return math.sqrt(2.0) * max(0.0, reach)


def joined_bias(length: float, *, width: float, strip: float, seam: float) -> Joined:
    """Return the binding joined from the separate bias strips of a rectangle.

    Strips so short that their own join eats them are left out.
    """
    per_join = 2.0 * math.sqrt(2.0) * seam
    strips = bias_strips(length, width=width, strip=strip)
    kept = strips[:1] + tuple(piece for piece in strips[1:] if piece > per_join)
    return _joined(kept, per_join=per_join)


def joined_strip(length: float, *, longest: float, per_join: float) -> Joined:
    """Return a strip of `length` from the fewest equal pieces of at most `longest`.

    A join takes `per_join`: twice the seam allowance if it runs straight across, the
    strip's width if two strips are crossed and sewn from corner to corner.

    Raises
    ------
    JobError
        If the pieces are too short to be joined.

    """
    if length <= longest:
        return _joined((length,), per_join=per_join)
    if longest <= per_join:
        raise JobError(
            f"pieces of {longest:g} mm can't be joined, each join takes {per_join:g} mm",
            hint="use longer cloth or a smaller seam allowance",
        )
    count = math.ceil((length - per_join) / (longest - per_join) - 1e-9)
    return _joined(((length + (count - 1) * per_join) / count,) * count, per_join=per_join)


def _joined(pieces: tuple[float, ...], *, per_join: float) -> Joined:
    joins = max(0, len(pieces) - 1)
    lost = joins * per_join
    return Joined(pieces=pieces, joins=joins, length=sum(pieces) - lost, lost=lost)


def strap_width(finished: float, *, ease: float = 0.0) -> float:
    """Return the cut width of a strap folded in four; `ease` if it wraps webbing (mm)."""
    return 4.0 * finished + ease


def strap_interfacing(cut_width: float) -> float:
    """Return the width of interfacing for a strip folded in four: three of its quarters (mm)."""
    return 0.75 * cut_width
