"""Linear programs given to HiGHS."""

from __future__ import annotations

from dataclasses import dataclass

import highspy
import numpy as np
import numpy.typing as npt

from nesting.search.prepared.polygons import Floats

__all__ = ["Ints", "Solution", "solve", "solved"]

Ints = npt.NDArray[np.int64]

LONGEST = 8.0
"""Seconds that one program may take."""


class _Solver(highspy.Highs):  # type: ignore[misc]
    """HiGHS without its callbacks, whose preparation prints a banner."""

    def __init__(self, seconds: float) -> None:
        highspy.Highs.__bases__[0].__init__(self)
        self.callbacks: list[object] = []
        self.setOptionValue("output_flag", False)
        self.setOptionValue("threads", 1)
        self.setOptionValue("presolve", "off")  # it takes longer than it spares
        self.setOptionValue("time_limit", seconds)


@dataclass(frozen=True, slots=True, eq=False)
class Solution:
    """An answer: the columns' values, and what one more of each row or column's bound costs.

    `rows`: by how much the least cost grows with a row's lower bound (its dual value, at least
    0); `columns`: the same of a column's bound that holds it (its reduced cost).
    """

    values: Floats
    rows: Floats
    columns: Floats


def solve(
    *,
    cost: Floats,
    low: Floats,
    high: Floats,
    row_low: Floats,
    starts: Ints,
    columns: Ints,
    values: Floats,
    seconds: float = LONGEST,
) -> Floats | None:
    """Minimise cost·x for low <= x <= high and A·x >= row_low; None if there is no answer.

    `seconds`: the longest it may take.
    """
    found = solved(
        cost=cost, low=low, high=high, row_low=row_low, starts=starts, columns=columns,
        values=values, seconds=seconds,
    )  # fmt: skip
    return None if found is None else found.values


def solved(
    *,
    cost: Floats,
    low: Floats,
    high: Floats,
    row_low: Floats,
    starts: Ints,
    columns: Ints,
    values: Floats,
    seconds: float = LONGEST,
) -> Solution | None:
    """Do the same and return the dual values, too."""
    lp = highspy.HighsLp()
    lp.num_col_, lp.num_row_ = len(cost), len(row_low)
    lp.col_cost_, lp.col_lower_, lp.col_upper_ = cost, low, high
    lp.row_lower_ = row_low
    lp.row_upper_ = np.full(len(row_low), highspy.kHighsInf)
    lp.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
    lp.a_matrix_.start_, lp.a_matrix_.index_, lp.a_matrix_.value_ = starts, columns, values
    solver = _Solver(min(max(seconds, 0.0), LONGEST))
    solver.passModel(lp)
    solver.run()
    if solver.getModelStatus() != highspy.HighsModelStatus.kOptimal:
        return None
    answer = solver.getSolution()
    return Solution(
        np.asarray(answer.col_value, dtype=np.float64),
        np.asarray(answer.row_dual, dtype=np.float64),
        np.asarray(answer.col_dual, dtype=np.float64),
    )
