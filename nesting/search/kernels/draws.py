# mypy: disable-error-code="no-untyped-def, assignment"
"""What is drawn by lot: numbers, and shapes of an item."""

from __future__ import annotations

from nesting.search.kernels.compiled import inlined, kernel
from nesting.search.kernels.tables import (
    U,
    first_option_of,
    item_at,
    on_sheet,
    options_of,
    shape_at,
)

MULTIPLIER, INCREMENT, LAST = 25214903917, 11, (1 << 48) - 1
"""Of a linear congruential generator of 48 bits (that of POSIX's drand48)."""


@inlined
def draw(state):
    """Draw a uniform number of [0, 1)."""
    state.random = (state.random * MULTIPLIER + INCREMENT) & LAST
    return state.random * (1.0 / 281474976710656.0)


@kernel
def pick_shape(state, i, sheet):
    """Return one of the shapes that an item may take on a sheet, or -1."""
    first_option, options, item = first_option_of(state), options_of(state), item_at(state, i)
    k = on_sheet(state, i, sheet)
    first, count = first_option[k], first_option[k + U(1)] - first_option[k]
    if count == 0:
        return -1
    s = options[first + int(draw(state) * count)]
    if item.group >= 0:
        turn = shape_at(state, item.form).turn
        if shape_at(state, s).turn != turn:
            start = int(draw(state) * count)
            for k in range(count):
                s = options[first + (start + k) % count]
                if shape_at(state, s).turn == turn:
                    return s
            return -1
    return s
