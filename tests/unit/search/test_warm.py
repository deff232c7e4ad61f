"""Compiling in two processes: what the second compiles is what the search then uses."""

import subprocess
import sys

import pytest

from nesting.search import warm
from nesting.search.kernels import overlaps, separation


def test_what_is_compiled_ahead_is_what_the_search_calls():
    """Other types would be compiled for nothing, and then again."""
    warm.compile_ahead()
    warm.warm()
    assert warm.is_warm()
    for kernel in (separation.separate, separation.start, overlaps.list_overlaps):
        assert len(kernel.signatures) == 1


def test_a_second_process_only_when_it_is_cold(monkeypatch):
    lines = []
    started = []
    monkeypatch.setattr(warm, "_helper", lambda: started.append(True))
    warm.warm(lines.append)
    assert (lines, started) == ([], [])
    monkeypatch.setattr(warm, "is_warm", lambda: False)
    warm.warm(lines.append)
    assert len(lines) == 1
    assert started == [True]


@pytest.mark.parametrize("trouble", ["no interpreter", "fails"])
def test_a_second_process_that_fails_does_no_harm(monkeypatch, trouble):
    def popen(command, **streams):
        if trouble == "no interpreter":
            raise FileNotFoundError(command[0])
        return real([sys.executable, "-c", "raise SystemExit(3)"], **streams)

    real = subprocess.Popen
    monkeypatch.setattr(warm.subprocess, "Popen", popen)
    monkeypatch.setattr(warm, "is_warm", lambda: False)
    assert warm.warm() > 0.0


def test_the_order_given_to_the_second_process_is_one_it_can_follow(monkeypatch):
    helper = warm._helper()
    if helper is None:
        pytest.skip("one core only")
    with helper:  # its input stays open until it is done
        assert helper.wait() == 0
