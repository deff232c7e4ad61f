"""SPLINE entities (DXF reference, ENTITIES section): by control points, or by points to fit."""

from __future__ import annotations

from itertools import islice

from ezdxf.math import BSpline, fit_points_to_cad_cv

from nesting.errors import PatternError
from nesting.limits import MOST_CURVES
from nesting.pattern.path import Segment
from nesting.reading.dxf.beziers import beziers
from nesting.reading.dxf.tags import Entity

__all__ = ["spline"]

_HIGHEST_DEGREE = 25
"""Of a spline (own choice); drawings have 3, seldom 5."""

MOST_BITS = 50_000
"""Curves that the splines of a file may come to, blocks counted as often as inserted."""


def spline(entity: Entity) -> list[Segment]:
    """Return a spline as cubic Béziers, within what a file's splines may come to in all."""
    control = list(zip(entity.numbers(10), entity.numbers(20), strict=False))
    knots, weights = entity.numbers(40), entity.numbers(41)
    degree = entity.integer(71, 3)
    fit = list(zip(entity.numbers(11), entity.numbers(21), strict=False))
    many = max(len(control), len(knots) - degree - 1, 0 if control else len(fit))
    if many > MOST_CURVES:
        hint = f"at most {MOST_CURVES:,}"
        raise PatternError(f"a spline of {many:,} points", line=entity.line, hint=hint)
    try:
        if not 1 <= degree <= _HIGHEST_DEGREE:
            raise ValueError
        if not control:
            curve = fit_points_to_cad_cv(fit, tangents=_tangents(entity))
        else:
            curve = BSpline(control, order=degree + 1, knots=knots or None, weights=weights or None)
        bits = list(islice(beziers(curve), MOST_BITS - entity.document.spline_bits + 1))
    except Exception:  # ezdxf's spline tools fail in many ways on impossible knots
        raise PatternError(
            "a spline can't be made of these numbers",
            line=entity.line,
            hint="draw it anew, or as a polyline",
        ) from None
    entity.document.spline_bits += len(bits)
    if entity.document.spline_bits > MOST_BITS:
        raise PatternError(
            "the file's splines are of too many bits",
            line=entity.line,
            hint=f"at most {MOST_BITS:,}",
        )
    return bits


def _tangents(entity: Entity) -> list[tuple[float, float]] | None:
    if entity.raw(12) is None or entity.raw(13) is None:
        return None
    return [
        (entity.number(12), entity.number(22)),
        (entity.number(13), entity.number(23)),
    ]
