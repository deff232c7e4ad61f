# mypy: disable-error-code="no-untyped-def, no-untyped-call"
"""The state of a search, as kernels see it: one record, and the tables that it leads to.

A kernel is handed a single record `state`: its numbers are read by name, and its tables by
the functions below, the rows of which are again read by name: ``item_at(state, i).sheet``.
The state holds the address and the size of each table, so that a call hands over one pointer
rather than seven words for each of twenty-eight arrays; `nesting.search.prepared.state` owns the
arrays themselves.

A *shape* is an outline at one turn and flip; behind those of items come the obstacles: what
of a board its region leaves out. A *kind* is all parts that are alike.
"""

from __future__ import annotations

import ctypes
from collections.abc import Mapping
from typing import Any

import numpy as np
import numpy.typing as npt
from llvmlite import ir
from numba import config, types
from numba.extending import intrinsic
from numba.np.arrayobj import make_array, populate_array
from numba.np.numpy_support import from_dtype

from nesting.search.kernels.compiled import inlined
from nesting.search.kernels.vectors import BOXES

FAR = 1e300
U = np.uint64
"""Of an index in the innermost loops: if it can't be negative, its sign is not asked for."""

NOWHERE = -1
"""No group, no obstacle, no phase, no bucket, no item; as a sheet: not laid."""
LOW, HIGH = 1, 2
"""The edge that a kind must lie at (0: any)."""

LINE = 64
"""Bytes that a processor fetches at once: what is read together is to lie in few of them."""


def _record(floats: str, integers: str) -> np.dtype[Any]:
    fields: list[Any] = [(name, np.float64) for name in floats.split()]
    fields += [(name, np.int64) for name in integers.split()]
    return np.dtype((np.record, fields))


def _packed(fields: Mapping[type, str], *, at: int = 0, size: int = LINE) -> np.dtype[Any]:
    """Return a record of so many bytes, whose fields lie side by side from byte `at` on."""
    names = [name for some in fields.values() for name in some.split()]
    formats = [np.dtype(of) for of, some in fields.items() for _ in some.split()]
    offsets = [at + sum(one.itemsize for one in formats[:k]) for k in range(len(formats))]
    described: Any = {"names": names, "formats": formats, "offsets": offsets, "itemsize": size}
    return np.dtype((np.record, described))


ITEM = _packed(
    {
        np.float64: "x y",
        np.int64: "form sheet",
        np.int32: "kind group first_mate end_mate raised faded",
        np.int8: "held moved visited big",
    }
)
"""Where an item lies, and in which shape (`form`); its mates' places in `mates`; whether it is
held where it lies, and has moved since overlaps were listed; how many weights above 1 it has,
and the round in which they last faded; whether it has been visited in this round, and is too big
for the neighbour grid."""

KEPT = _record("x y", "form sheet")
"""Where an item lay when the overlap was least."""

SHAPE = _record(
    "cos sin left bottom right top true_left true_bottom true_right true_top"
    " factor extent anchor_x anchor_y mirror x",
    "outline turn",
)
"""Turn; box of the outline with its spacing, and of the true one, about the origin (mm); size
factor; extent: its size (mm); anchor (mm); -1 if flipped, else 1; where an obstacle's origin
lies (mm)."""

OUTLINE = _record("", "first end first_plain end_plain")
"""The places of its convex parts in `first_vertex`; those without spacing."""

KIND = _record("along across drop origin_x origin_y tolerance", "edge phase")
"""The lattice (mm; 0: free) that its anchor lies on, and the edge that it lies at."""

BOX = _record("left bottom right top", "")
POINT = _record("x y", "")

PAIR = _record(
    "left bottom right top factor per_x per_y hits region",
    "cells_x cells_y blocks count depths lists key",
)
"""Where the second of two shapes may not lie, seen from the first.

Its box; the pair's size factor; cells per mm; how often it was asked for without a table; the
size of the part if the second is an obstacle, else 0; the number of cells (0: no table);
where its `count` part pairs begin in `blocks` (0: not written yet), its table in `depths`,
its lists in `lists`; its own number.
"""

CANDIDATE = _record("score x y", "form sheet")
OVERLAP = _record("depth", "first second")
"""Two items that overlap, the first the lower; the region counts as number `items`."""

BUCKET = _packed(
    {np.uint64: "begin_x begin_y", np.int64: "count following"}, at=20 * BOXES, size=3 * LINE
)
"""Bits of the boxes that begin in the column and in the row; their number; the next bucket.

Before these stand, in the same lines, the ends of BOXES boxes and the items that they are of:
`ends` and `members` are the same memory, read as such.
"""
WORDS, MEMBERS = BUCKET.itemsize // 4, 4 * BOXES
"""Numbers of `ends` and `members` for a bucket, and where its items begin among them."""

_ROWS: Mapping[str, Any] = {
    "items": ITEM,
    "kept": KEPT,
    "shapes": SHAPE,
    "outlines": OUTLINE,
    "kinds": KIND,
    "phases": POINT,
    "domains": BOX,
    "boxes": np.float64,
    "options": np.int64,
    "first_option": np.int64,
    "obstacles": np.int64,
    "first_vertex": np.int64,
    "vertices": POINT,
    "scratch": POINT,
    "mates": np.int64,
    "order": np.int64,
    "movers": np.int64,
    "neighbours": np.int64,
    "big": np.int64,
    "buckets": BUCKET,
    "ends": np.float32,
    "members": np.int32,
    "candidates": CANDIDATE,
    "overlaps": OVERLAP,
    "weights": np.float32,
    "raised": np.int32,
    "own": np.float32,
    "keys": np.int32,
    "pairs": PAIR,
    "blocks": np.float64,
    "depths": np.float32,
    "lists": np.int32,
    "wanted": np.int64,
}
TABLES: Mapping[str, np.dtype[Any]] = {name: np.dtype(row) for name, row in _ROWS.items()}
"""All tables, and what their rows are.

`boxes`: all left ends, then all bottoms, rights and tops, `stride` apart. By kind and sheet:
`domains` (where origins of the true boxes' corners may lie), `obstacles` and the places of
`options` (shapes). `buckets`: see `grid`; `ends`: of the boxes in them, sorted like
`boxes`, of 32 bits and rounded outwards; `members`: the items that they are of. `weights`
above 1, and whom they are against (`raised`; number `items`: the region): a list for each item,
items + 1 apart; `own`: one of them spread out, see `weights`. `movers`: the items that have
moved. `keys`: the pair of two shapes, shapes of items × shapes. `blocks`, `depths`, `lists`: see
`pairs`. `wanted`: pairs that are to get a table.
"""

STATE = _record(
    "tolerance per_cell origin_x origin_y grow_least grow_most decay least_total"
    " total pull apart near alike",
    "item_count sheet_count shape_count item_shapes stride grid_x grid_y spare big_count"
    " mover_count overlap_count wanted_count blocks_used room depths_used lists_used most_cells"
    " meetings rounds looked_at top nearby anywhere polish exchanges patience has_mates has_lattice"
    " has_held random weighed since " + " ".join(f"{name}_at {name}_size" for name in TABLES),
)
"""Numbers of a search, and the addresses of its tables.

Lengths in mm. `tolerance`: overlaps less deep do not count; `near`: how far around an item
it is tried anew (parts of its size) `nearby` times, beside `anywhere` times, of which the best
`top` are polished `polish` times; `exchanges`: so often a round an item is to change places
with one that is up to `alike` times as large; `grow_least`, `grow_most`, `decay`: of weights;
`pull`: what a mm of distance from a mate counts for, `apart`: what another sheet does.
`spare`: the first bucket that is free. `room`: floats left for pair records; `meetings` until a
pair gets its table. `random`: of the generator; `weighed`: positions so far; `since`: rounds
since the total fell; `rounds`: of all; `looked_at`: the item whose weights are spread out.
"""


def bound(numbers: Mapping[str, float], arrays: Mapping[str, npt.NDArray[Any]]) -> Any:
    """Return a state with these numbers and tables; the arrays must outlive it."""
    state = np.zeros(1, dtype=STATE)
    for name, value in numbers.items():
        state[name] = value
    for name, dtype in TABLES.items():
        array = arrays[name]
        if array.dtype != dtype or not array.flags.c_contiguous:
            raise TypeError(f"{name}: {array.dtype}, not contiguous {dtype}")
        state[f"{name}_at"], state[f"{name}_size"] = array.ctypes.data, array.size
    return state[0]


def _table(name: str) -> Any:
    """Return a function from a state to one of its tables."""
    address, size = f"{name}_at", f"{name}_size"
    dtype = TABLES[name]

    def plain(state):
        count = int(state[size])
        raw: Any = (ctypes.c_char * (count * dtype.itemsize)).from_address(int(state[address]))
        table = np.ndarray(count, dtype, buffer=raw)
        return table.view(np.recarray) if dtype.names else table

    if config.DISABLE_JIT:
        return plain

    def table(typing, state):
        array = types.Array(from_dtype(dtype), 1, "C")

        def code(context, builder, signature, values):
            word = ir.IntType(64)
            start = builder.bitcast(values[0], ir.IntType(8).as_pointer())

            def number(field):
                place = builder.gep(start, [ir.Constant(word, signature.args[0].offset(field))])
                load = builder.load(builder.bitcast(place, word.as_pointer()))
                # It never changes: the compiler need not load it again after each store.
                load.set_metadata("invariant.load", builder.module.add_metadata([]))
                return load

            out = make_array(array)(context, builder)
            count, width = number(size), ir.Constant(word, dtype.itemsize)
            data = builder.inttoptr(number(address), out.data.type)
            populate_array(out, data, [count], [width], width, None)
            return out._getvalue()

        return array(state), code

    return intrinsic(table)


items_of = _table("items")
kept_of = _table("kept")
shapes_of = _table("shapes")
outlines_of = _table("outlines")
kinds_of = _table("kinds")
phases_of = _table("phases")
domains_of = _table("domains")
boxes_of = _table("boxes")
options_of = _table("options")
first_option_of = _table("first_option")
obstacles_of = _table("obstacles")
first_vertex_of = _table("first_vertex")
vertices_of = _table("vertices")
scratch_of = _table("scratch")
mates_of = _table("mates")
order_of = _table("order")
movers_of = _table("movers")
neighbours_of = _table("neighbours")
big_of = _table("big")
buckets_of = _table("buckets")
ends_of = _table("ends")
members_of = _table("members")
candidates_of = _table("candidates")
overlaps_of = _table("overlaps")
weights_of = _table("weights")
raised_of = _table("raised")
own_of = _table("own")
keys_of = _table("keys")
pairs_of = _table("pairs")
blocks_of = _table("blocks")
depths_of = _table("depths")
lists_of = _table("lists")
wanted_of = _table("wanted")


@inlined
def item_at(state, i):
    """Return an item's row."""
    return items_of(state)[U(i)]


@inlined
def shape_at(state, s):
    """Return a shape's row."""
    return shapes_of(state)[U(s)]


@inlined
def kind_of(state, i):
    """Return the row of an item's kind."""
    return kinds_of(state)[U(item_at(state, i).kind)]


@inlined
def on_sheet(state, i, sheet):
    """Return an item's place in the tables by kind and sheet."""
    return U(item_at(state, i).kind * state.sheet_count + sheet)
