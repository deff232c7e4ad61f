"""Which turns and flips a part may take: nap, grain and symmetry."""

from __future__ import annotations

from nesting.job.job import Cut
from nesting.marker.lay import Turns
from nesting.material.material import Goods, Nap
from nesting.pattern.piece import Piece
from nesting.pattern.variants.symmetry import distinct_turns, is_mirror_symmetric, maps_on_itself

__all__ = ["flips", "turns_of"]

_ROUND = (37.0, 90.0, 101.0)
"""A piece that is the same after each of these turns (degrees) is round."""


def turns_of(piece: Piece, cut: Cut, material: Goods, *, bound: bool = False) -> Turns:
    """Return the turns of a ready piece; `bound`: a print makes turns of a symmetric one differ."""
    nap = cut.nap or material.nap
    slack = material.turn_slack if cut.turn_slack is None else cut.turn_slack
    if nap is Nap.ANY or slack >= 180.0:
        return Turns() if is_round(piece) and not bound else Turns(slack=180.0)
    if nap is Nap.ONE_WAY:
        angles: tuple[float, ...] = (0.0,)
    elif cut.on_bias and not bound:
        angles = (0.0, 90.0, 180.0, 270.0)
    else:
        angles = (0.0, 180.0)
    if not bound:
        angles = distinct_turns(piece, angles)
    return Turns(angles=angles, slack=slack)


def is_round(piece: Piece) -> bool:
    """Whether every turn of the piece is the same."""
    return all(maps_on_itself(piece, angle) for angle in _ROUND)


def flips(piece: Piece, turns: Turns, material: Goods, *, bound: bool = False) -> bool:
    """Whether the piece may be laid face down, and differs if it is."""
    if not material.faces_alike or bound:
        return False
    return not is_mirror_symmetric(piece, turns=turns.angles)
