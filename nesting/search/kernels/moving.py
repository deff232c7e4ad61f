# mypy: disable-error-code="no-untyped-def, assignment"
"""One item moves to the best of some places: near by and anywhere, moved to touch."""

from __future__ import annotations

from nesting.search.kernels.compiled import kernel
from nesting.search.kernels.draws import draw, pick_shape
from nesting.search.kernels.places import admit, domain, put
from nesting.search.kernels.tables import FAR, candidates_of, item_at, shape_at
from nesting.search.kernels.touching import polish
from nesting.search.kernels.weighing import weigh


@kernel
def offer(state, i, s, sheet, x, y):
    """Weigh a position and keep it if it is among the best."""
    ok, x, y = admit(state, i, s, sheet, x, y)
    if not ok:
        return
    candidates = candidates_of(state)
    k = state.top - 1
    score = weigh(state, i, s, sheet, x, y, candidates[k].score)
    if score >= candidates[k].score:
        return
    while k > 0 and candidates[k - 1].score > score:
        candidates[k] = candidates[k - 1]
        k -= 1
    best = candidates[k]
    best.score, best.x, best.y, best.form, best.sheet = score, x, y, s, sheet


@kernel
def relocate(state, i):
    """Move an overlapping item to the best position found; return whether it moved."""
    item, candidates = item_at(state, i), candidates_of(state)
    if item.held == 1:
        return False
    own, sheet, x, y = item.form, item.sheet, item.x, item.y
    now = weigh(state, i, own, sheet, x, y, FAR)
    if now <= 0.0:
        return False
    for k in range(state.top):
        candidates[k].score = FAR
    size = shape_at(state, own).extent
    offer(state, i, own, sheet, x, y)
    for _ in range(state.nearby):
        s = pick_shape(state, i, sheet) if draw(state) < 0.5 else own
        if s < 0:
            continue
        u, v = draw(state) - 0.5, draw(state) - 0.5
        offer(state, i, s, sheet, x + u * size * state.near, y + v * size * state.near)
    for _ in range(state.anywhere):
        other = int(draw(state) * state.sheet_count)
        s = pick_shape(state, i, other)
        if s < 0:
            continue
        x0, y0, x1, y1 = domain(state, i, s, other)
        if x1 < x0 or y1 < y0:
            continue
        u, v = x0 + draw(state) * (x1 - x0), y0 + draw(state) * (y1 - y0)
        offer(state, i, s, other, u, v)
    best, least = 0, FAR
    for k in range(state.top):
        if candidates[k].score < FAR and least > 0.0:
            polish(state, i, k, least)
            if candidates[k].score < least:
                best, least = k, candidates[k].score
    if least > now:
        return False
    to = candidates[best]
    put(state, i, to.form, to.sheet, to.x, to.y)
    return True
