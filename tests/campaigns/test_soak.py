"""A small run of the soak, and that it sees what grows."""

from __future__ import annotations

import pytest

from benchmarks.campaigns import soak
from benchmarks.campaigns.soak import growth, run


def test_small_lays_leave_nothing_behind():
    already = soak._processes()  # a browser of other tests, for one
    tally = run(0.0, seed=3, size=20, every=0.0)
    # Memory still fills caches in so short a time: it is for a long run to judge.
    assert [line for line in tally.faults if "MB" not in line] == []
    assert tally.tried == {"lays": 20, "samples": 20, "plans written": 1}
    # The worker, and the fork server unless another test began it.
    assert already < tally.found["processes at the end"] <= already + 2


def test_the_slope_of_a_line_and_its_error():
    """The formulas of least squares: of points on a line the error is nought."""
    assert growth([0, 10, 20], [1.0, 2.0, 3.0]) == (pytest.approx(100.0), pytest.approx(0.0))
    # y = 0, 1, 0 at x = -1, 0, 1: slope 0, residuals of sum 2/3, error sqrt(2/3 / 1 / 2).
    slope, error = growth([-1, 0, 1], [0.0, 1.0, 0.0])
    assert slope == pytest.approx(0.0)
    assert error == pytest.approx(1000.0 * (1.0 / 3.0) ** 0.5)


def test_what_grows_is_seen(monkeypatch, hand_laid_plan):
    """Files do; what is laid meanwhile doesn't matter."""
    kept = []

    def leaking(text):
        kept.append(open("/dev/null"))  # noqa: SIM115
        return parse(text)

    parse = soak.parse_job
    monkeypatch.setattr(soak, "parse_job", leaking)
    monkeypatch.setattr(soak, "make_plan", lambda job, **how: hand_laid_plan)
    tally = run(0.0, seed=3, size=20, every=0.0)
    for file in kept:
        file.close()
    assert [line for line in tally.faults if "files per 1,000" in line]
