# mypy: disable-error-code="no-untyped-def, assignment"
"""What overlaps count for: pairs that overlap grow heavier, and fade from round to round.

Few pairs weigh more than 1: each item has a list of them. It fades when it is next asked for,
by all the rounds since; and while an item is moved its weights are spread out (`own`), so that
the innermost loops find them in a short table.
"""

from __future__ import annotations

from nesting.search.kernels.compiled import inlined, kernel
from nesting.search.kernels.tables import (
    NOWHERE,
    U,
    item_at,
    overlaps_of,
    own_of,
    raised_of,
    weights_of,
)

HEAVIEST = 1e12
"""No weight grows beyond this."""


@inlined
def list_at(state, i):
    """Return where an item's list begins."""
    return U(i * (state.item_count + 1))


@kernel
def look_away(state):
    """Let no item's weights be spread out any more."""
    if state.looked_at < 0:
        return
    own, raised, first = own_of(state), raised_of(state), list_at(state, state.looked_at)
    for k in range(item_at(state, state.looked_at).raised):
        own[U(raised[first + U(k)])] = 1.0
    state.looked_at = NOWHERE


@kernel
def look_at(state, i):
    """Spread an item's weights out, as they are in this round."""
    look_away(state)
    fade(state, i)
    own, raised, weights, first = (
        own_of(state),
        raised_of(state),
        weights_of(state),
        list_at(state, i),
    )
    for k in range(item_at(state, i).raised):
        own[U(raised[first + U(k)])] = weights[first + U(k)]
    state.looked_at = i


@kernel
def fade(state, i):
    """Let an item's weights fade by all the rounds since they last did."""
    item = item_at(state, i)
    rounds = state.rounds - item.faded
    if rounds == 0:
        return
    item.faded = state.rounds
    by = state.decay**rounds
    raised, weights, first, kept = raised_of(state), weights_of(state), list_at(state, i), U(0)
    for k in range(item.raised):
        weight = weights[first + U(k)] * by
        raised[first + kept], weights[first + kept] = raised[first + U(k)], weight
        kept += U(weight > 1.0)
    item.raised = kept


@kernel
def grow(state, i, j, factor):
    """Make a pair heavier in the first item's list."""
    fade(state, i)
    item = item_at(state, i)
    raised, weights, first = raised_of(state), weights_of(state), list_at(state, i)
    k, end = first, first + U(item.raised)
    while k < end and raised[k] != j:
        k += U(1)
    grown = min(factor * (weights[k] if k < end else 1.0), HEAVIEST)
    if k < end:
        weights[k] = grown
    elif grown > 1.0:
        raised[k], weights[k] = j, grown
        item.raised += 1


@kernel
def reweigh(state):
    """Make overlapping pairs heavier and let the others fade."""
    look_away(state)
    state.rounds += 1
    overlaps, decay = overlaps_of(state), state.decay
    largest = 0.0
    for k in range(state.overlap_count):
        largest = max(largest, overlaps[k].depth)
    low, high = state.grow_least, state.grow_most
    for k in range(state.overlap_count):
        one = overlaps[k]
        factor = (low + (high - low) * one.depth / largest) / decay
        grow(state, one.first, one.second, factor)
        if one.second < state.item_count:
            grow(state, one.second, one.first, factor)


@kernel
def unweigh(state):
    """Let all pairs weigh the same."""
    look_away(state)
    for i in range(state.item_count):
        item_at(state, i).raised = 0
