"""The layer plan of sewn-product DXF: layers are numbers as names.

It follows the layer plan of the withdrawn ASTM D6673-10 and of its predecessor,
ANSI/AAMA-292, as two independent sets of public notes quote them. Nobody can claim
conformance from that, and this program doesn't.
"""

from __future__ import annotations

from typing import Final

from nesting.pattern.piece import NotchStyle

__all__ = [
    "ANNOTATION",
    "BOUNDARY",
    "CHECK_CURVES",
    "CURVE_POINTS",
    "CUT_OUT",
    "DRILL",
    "GRADE_REFERENCE",
    "GRAIN",
    "INTERNAL",
    "MIRROR",
    "NOTCHES",
    "PLAID",
    "SEW",
    "STRIPE",
    "TURN_POINTS",
]

BOUNDARY: Final = 1
TURN_POINTS: Final = 2
CURVE_POINTS: Final = 3
GRADE_REFERENCE: Final = 5
MIRROR: Final = 6
GRAIN: Final = 7
INTERNAL: Final = 8
STRIPE: Final = 9
PLAID: Final = 10
CUT_OUT: Final = 11
DRILL: Final = 13
SEW: Final = 14
ANNOTATION: Final = 15
CHECK_CURVES: Final = (84, 85, 86, 87)
"""Dense copies of layers 1, 8, 11 and 14: to check against, never geometry."""

NOTCHES: Final = {
    4: NotchStyle.SLIT,
    80: NotchStyle.T,
    81: NotchStyle.CASTLE,
    82: NotchStyle.CHECK,
    83: NotchStyle.U,
}
"""Layer 4 holds slits and V notches; a V has a width."""
