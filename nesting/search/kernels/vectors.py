# mypy: disable-error-code="no-untyped-def, no-untyped-call"
"""Vector instructions for the search's innermost loops.

The compiler makes none of loops of so few rounds, so they are written out for it. Where numba
compiles nothing their plain twins stand in for them.
"""

from __future__ import annotations

import numpy as np
from llvmlite import ir
from numba import config, types
from numba.core import cgutils
from numba.extending import intrinsic

LANES, BOXES = 4, 8
"""So many half-planes, and so many boxes, are looked at in one go."""


def spread(builder, value, lanes):
    """Return a vector of so many times a number."""
    vector = ir.VectorType(value.type, lanes)
    one = builder.insert_element(ir.Constant(vector, ir.Undefined), value, cgutils.int32_t(0))
    return builder.shuffle_vector(
        one, one, ir.Constant(ir.VectorType(cgutils.int32_t, lanes), [0] * lanes)
    )


def load(builder, start, at, lanes):
    """Return the vector of numbers at an index from a pointer to the first of all."""
    number = start.type.pointee
    pointer = ir.VectorType(number, lanes).as_pointer()
    align = 4 if number == ir.FloatType() else 8
    return builder.load(builder.bitcast(builder.gep(start, [at]), pointer), align=align)


@intrinsic
def least_slack(typing, floats, at, groups, dx, dy):
    """Return the least c - a·dx - b·dy of some groups of half-planes, LANES at a time.

    In a group all a come first, then all b, then all c.
    """
    signature = types.float64(floats, types.uint64, types.int64, types.float64, types.float64)

    def code(context, builder, signature, values):
        floats, at, groups, dx, dy = values
        start = context.make_array(signature.args[0])(context, builder, floats).data
        vector = ir.VectorType(ir.DoubleType(), LANES)

        def less(one, two):
            return builder.select(builder.fcmp_ordered("<", one, two), one, two)

        along, across = spread(builder, dx, LANES), spread(builder, dy, LANES)
        least = cgutils.alloca_once_value(builder, ir.Constant(vector, [float("inf")] * LANES))
        with cgutils.for_range(builder, groups) as loop:
            place = builder.add(at, builder.mul(loop.index, ir.Constant(at.type, 3 * LANES)))
            a, b, c = (
                load(builder, start, builder.add(place, ir.Constant(at.type, k * LANES)), LANES)
                for k in range(3)
            )
            slack = builder.fsub(builder.fsub(c, builder.fmul(a, along)), builder.fmul(b, across))
            builder.store(less(slack, builder.load(least)), least)
        found = builder.load(least)
        width = LANES
        while width > 1:
            width //= 2
            low, high = (
                builder.shuffle_vector(
                    found,
                    found,
                    ir.Constant(
                        ir.VectorType(cgutils.int32_t, width), [s + k for k in range(width)]
                    ),
                )
                for s in (0, width)
            )
            found = less(low, high)
        return builder.extract_element(found, cgutils.int32_t(0))

    return signature, code


@intrinsic
def hits(typing, floats, at, stride, a0, b0, a1, b1):
    """Return which of BOXES boxes overlap a box, as bits.

    All least x come first, the least y are `stride` behind them, then the largest x and y.
    """
    number = floats.dtype
    signature = types.uint64(floats, types.uint64, types.uint64, number, number, number, number)

    def code(context, builder, signature, values):
        floats, at, stride, a0, b0, a1, b1 = values
        start = context.make_array(signature.args[0])(context, builder, floats).data
        found = None
        for side, limit in (("<", a1), ("<", b1), (">", a0), (">", b0)):
            here = load(builder, start, at, BOXES)
            inside = builder.fcmp_ordered(side, here, spread(builder, limit, BOXES))
            found = inside if found is None else builder.and_(found, inside)
            at = builder.add(at, stride)
        bits = builder.bitcast(found, ir.IntType(BOXES))
        return builder.zext(bits, ir.IntType(64))

    return signature, code


@intrinsic
def lowest_bit(typing, bits):
    """Return the number of the lowest bit that is set."""

    def code(context, builder, signature, values):
        return builder.cttz(values[0], cgutils.true_bit)

    return types.uint64(types.uint64), code


def plain_least_slack(floats, at, groups, dx, dy):
    """Return what `least_slack` does."""
    planes = floats[int(at) : int(at) + 3 * LANES * int(groups)].reshape(-1, 3, LANES)
    return (planes[:, 2] - planes[:, 0] * dx - planes[:, 1] * dy).min(initial=np.inf)


def plain_hits(floats, at, stride, a0, b0, a1, b1):
    """Return what `hits` does."""
    left, bottom, right, top = (floats[int(at) + k * int(stride) :][:BOXES] for k in range(4))
    found = (left < a1) & (bottom < b1) & (right > a0) & (top > b0)
    return np.uint64(sum(1 << int(n) for n in np.flatnonzero(found)))


def plain_lowest_bit(bits):
    """Return what `lowest_bit` does."""
    return np.uint64((int(bits) & -int(bits)).bit_length() - 1)


if config.DISABLE_JIT:
    least_slack, hits, lowest_bit = plain_least_slack, plain_hits, plain_lowest_bit
