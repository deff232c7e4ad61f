# mypy: disable-error-code="no-untyped-def, assignment"
"""Two items change places, where that weighs less."""

from __future__ import annotations

from nesting.search.kernels.compiled import kernel
from nesting.search.kernels.draws import draw, pick_shape
from nesting.search.kernels.places import admit, put, remove, unmark
from nesting.search.kernels.tables import FAR, candidates_of, item_at, shape_at
from nesting.search.kernels.touching import polish
from nesting.search.kernels.weighing import weigh


@kernel
def settle(state, i, sheet, x, y, least):
    """Lay an item with its middle at a point, in its shape or a drawn one, and move it to touch.

    Returns what its place weighs; it is the first candidate. It is given up where there is no
    hope of less than `least`.
    """
    s = item_at(state, i).form
    if draw(state) < 0.5:
        s = pick_shape(state, i, sheet)
        if s < 0:
            return FAR
    shape, first = shape_at(state, s), candidates_of(state)[0]
    x -= 0.5 * (shape.left + shape.right)
    y -= 0.5 * (shape.bottom + shape.top)
    ok, x, y = admit(state, i, s, sheet, x, y)
    if not ok:
        return FAR
    first.x, first.y, first.form, first.sheet = x, y, s, sheet
    first.score = weigh(state, i, s, sheet, x, y, FAR)
    polish(state, i, 0, least)
    return first.score


@kernel
def exchange(state, i, j):
    """Exchange two items if that weighs less; return whether they were."""
    one, other, first = item_at(state, i), item_at(state, j), candidates_of(state)[0]
    form_i, sheet_i, xi, yi = one.form, one.sheet, one.x, one.y
    form_j, sheet_j, xj, yj = other.form, other.sheet, other.x, other.y
    a, b = shape_at(state, form_i), shape_at(state, form_j)
    marked = state.mover_count
    now = weigh(state, i, form_i, sheet_i, xi, yi, FAR)
    remove(state, i)
    now += weigh(state, j, form_j, sheet_j, xj, yj, FAR)
    remove(state, j)
    x, y = xj + 0.5 * (b.left + b.right), yj + 0.5 * (b.bottom + b.top)
    then = settle(state, i, sheet_j, x, y, 0.5 * now)
    if then < now:
        put(state, i, first.form, first.sheet, first.x, first.y)
        x, y = xi + 0.5 * (a.left + a.right), yi + 0.5 * (a.bottom + a.top)
        then += settle(state, j, sheet_i, x, y, 0.5 * (now - then))
        if then < now:
            put(state, j, first.form, first.sheet, first.x, first.y)
            return True
    put(state, i, form_i, sheet_i, xi, yi)
    put(state, j, form_j, sheet_j, xj, yj)
    unmark(state, marked)
    return False


@kernel
def exchange_some(state, i):
    """Try to exchange an item for others of another kind, alike in size, until one is."""
    one = item_at(state, i)
    if one.held == 1:
        return
    size = shape_at(state, one.form).extent
    for _ in range(state.exchanges):
        j = int(draw(state) * state.item_count)
        other = item_at(state, j)
        if other.kind == one.kind or other.held == 1 or other.sheet != one.sheet:
            continue
        ratio = shape_at(state, other.form).extent / size
        if max(ratio, 1.0 / ratio) <= state.alike and exchange(state, i, j):
            return
