"""What is heard of interrupts, and what becomes of what they break."""

from __future__ import annotations

import signal
import sys
import time
from collections.abc import Iterator

import pytest
from thriftlay.interrupt import as_before, stopping, unwinding


@pytest.fixture(autouse=True)
def kept() -> Iterator[None]:
    with as_before():
        yield


def waits(*, found: bool) -> bool:
    """Return whether what an interrupt asks to end is waited for once its moment is over."""
    told: list[int] = []
    with stopping() as stop:
        if found:
            stop.noting(told.append)(1)
        signal.raise_signal(signal.SIGTERM)
        left, _ = signal.getitimer(signal.ITIMER_REAL)
        assert 0.0 < left <= 2.0
        signal.raise_signal(signal.SIGALRM)
        assert stop.worth
        assert told == [1]
    return stop()


@pytest.mark.skipif(not hasattr(signal, "SIGALRM"), reason="there is no such signal")
@pytest.mark.parametrize("found", [False, True])
def test_a_search_that_has_found_nothing_is_not_waited_for(found: bool) -> None:
    """It may be deep in one long call; one that has found something ends with it."""
    if found:
        assert waits(found=True)
    else:
        with pytest.raises(KeyboardInterrupt):
            waits(found=False)
    assert signal.getitimer(signal.ITIMER_REAL) == (0.0, 0.0)
    assert signal.getsignal(signal.SIGALRM) is signal.SIG_DFL


def thrice(number: signal.Signals, heard: list[bool]) -> None:
    with stopping() as stop:
        heard.append(stop())
        signal.raise_signal(number)
        heard.append(stop())
        try:
            signal.raise_signal(number)
        finally:
            signal.raise_signal(number)
            heard.append(True)


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
def test_the_first_is_a_wish_the_second_ends_a_third_is_not_heard(number: signal.Signals) -> None:
    heard: list[bool] = []
    with pytest.raises(KeyboardInterrupt):
        thrice(number, heard)
    assert heard == [False, True, True]


@unwinding()
def broken() -> None:
    try:
        signal.raise_signal(signal.SIGINT)
    except KeyboardInterrupt as error:  # as an import in C does
        raise ImportError from error


def test_what_an_interrupt_breaks_is_the_interrupt() -> None:
    with pytest.raises(KeyboardInterrupt):
        broken()


def breaks() -> None:
    with stopping():
        signal.raise_signal(signal.SIGINT)
        raise EOFError


def test_what_breaks_by_itself_is_told() -> None:
    with pytest.raises(EOFError):
        breaks()


class Swallowing:
    def __del__(self) -> None:
        signal.raise_signal(signal.SIGINT)


@unwinding()
def swallows() -> None:
    Swallowing()
    began = time.monotonic()
    while time.monotonic() - began < 60.0:
        time.sleep(0.01)


def test_an_interrupt_that_was_swallowed_comes_again(capfd: pytest.CaptureFixture[str]) -> None:
    hook = sys.unraisablehook
    with pytest.raises(KeyboardInterrupt):
        swallows()
    assert sys.unraisablehook is hook
    assert capfd.readouterr().err == ""


def test_nothing_is_heard_when_all_is_done() -> None:
    with unwinding():
        pass
    signal.raise_signal(signal.SIGINT)


def test_what_was_ignored_from_the_start_stays_so() -> None:
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    with unwinding():
        signal.raise_signal(signal.SIGINT)
