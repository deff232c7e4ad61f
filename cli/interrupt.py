"""Ctrl-C and a request to end (SIGTERM), answered by what there is to lose.

While nothing is written the process ends on the spot, `end_on_the_spot`. A search is ended
with the best so far, `stopping`; where nothing was found yet that has a moment to come of it,
and a second interrupt ends all at once. Where files are being written it is an exception,
`unwinding`, so that half-written ones are removed.
"""

from __future__ import annotations

import os
import signal
import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from types import FrameType
from typing import Any, TypeVar

__all__ = [
    "ENDED",
    "NEWS",
    "SAVED",
    "Heard",
    "as_before",
    "end_on_the_spot",
    "no_more",
    "stopping",
    "unwinding",
]

ENDED, SAVED = 130, 3
"""Exit statuses of what was interrupted: nothing was saved; the best so far was."""

NEWS = "interrupted; nothing was written"

_SIGNALS = (signal.SIGINT, signal.SIGTERM)
_PATIENCE = 1.5
"""Seconds that a search has for its first find once it is to end; then nothing is saved."""

_SOON = 0.01
"""Seconds until an interrupt that was swallowed comes again."""

_ALARM: int | None = getattr(signal, "SIGALRM", None)
"""By which a moment's end is told, where there is such a thing."""

_News = TypeVar("_News")
_Answer = Callable[[int, FrameType | None], Any] | signal.Handlers


class Heard:
    """Which interrupts were heard, and whether anything was found that is worth waiting for."""

    def __init__(self, *, asked: bool = False) -> None:
        self.asked, self.ended, self._swallowed = asked, False, False
        self.worth = False

    def __call__(self) -> bool:
        """Whether the best so far is wanted."""
        return self.asked

    def hear(self, number: int, frame: FrameType | None) -> None:
        """Note a wish to stop; end what goes on if there was one already, but end it once."""
        if not self.asked:
            self.asked = True
            if _ALARM is not None:  # no thread: one can't be started safely from here
                signal.signal(_ALARM, self._waited)
                signal.setitimer(signal.ITIMER_REAL, _PATIENCE)
        elif self._swallowed or not self.ended:
            self.ended, self._swallowed = True, False
            raise KeyboardInterrupt

    def _waited(self, number: int, frame: FrameType | None) -> None:
        """End what goes on if nothing was found: a search may be deep in one long call."""
        if not self.worth:
            self.hear(number, frame)

    def noting(self, observer: Callable[[_News], None]) -> Callable[[_News], None]:
        """Return the observer of a search, whose news are worth waiting for."""

        def observe(news: _News) -> None:
            self.worth = True
            observer(news)

        return observe

    def again(self) -> None:
        """Have the interrupt come again: C code or a destructor has swallowed it."""
        self._swallowed = True
        os.kill(os.getpid(), signal.SIGINT)


def end_on_the_spot() -> None:
    """From now on end at an interrupt with one line and without another of Python's."""

    def end(number: int, frame: FrameType | None) -> None:
        try:
            os.write(2, f"thriftlay: {NEWS}\n".encode())
        finally:
            os._exit(ENDED)

    _answer(end)


def no_more() -> None:
    """Hear no interrupt any more: all is done, or is ending."""
    _answer(signal.SIG_IGN)


@contextmanager
def stopping() -> Iterator[Heard]:
    """Give what says whether an interrupt was heard in the ``with`` block; a second ends it."""
    with _hearing(Heard()) as heard:
        yield heard


@contextmanager
def unwinding() -> Iterator[None]:
    """End the ``with`` block with a KeyboardInterrupt at the first interrupt; none follows."""
    with _hearing(Heard(asked=True)):
        yield


@contextmanager
def _hearing(heard: Heard) -> Iterator[Heard]:
    """Have interrupts heard in a ``with`` block; at its end all is said, and none is any more."""
    _answer(heard.hear)
    hooks = sys.excepthook, sys.unraisablehook

    def swallowed(kind: type[BaseException] | None) -> bool:
        if kind is None or not issubclass(kind, KeyboardInterrupt):
            return False
        threading.Timer(_SOON, heard.again).start()
        return True

    def quiet(kind: type[BaseException], error: BaseException, trace: Any) -> None:
        if not swallowed(kind):
            hooks[0](kind, error, trace)

    sys.excepthook = quiet
    sys.unraisablehook = lambda told: None if swallowed(told.exc_type) else hooks[1](told)
    try:
        yield heard
    except Exception as error:  # an interrupt in the middle of an import may end as another
        if heard.ended:
            raise KeyboardInterrupt from error
        raise
    finally:
        no_more()
        if _ALARM is not None and _answerable():
            signal.setitimer(signal.ITIMER_REAL, 0.0)
            signal.signal(_ALARM, signal.SIG_DFL)
        sys.excepthook, sys.unraisablehook = hooks


@contextmanager
def as_before() -> Iterator[None]:
    """Have signals answered after a ``with`` block as before it."""
    before = {number: signal.getsignal(number) for number in _SIGNALS}
    try:
        yield
    finally:
        for number, answer in before.items() if _answerable() else ():
            signal.signal(number, answer)


def _answer(answer: _Answer) -> None:
    """Have signals answered so, but those that whoever started the command has ignored."""
    for number in _SIGNALS if _answerable() else ():
        if signal.getsignal(number) is not signal.SIG_IGN:
            signal.signal(number, answer)


def _answerable() -> bool:
    """Whether this thread may say how signals are answered: the first one alone may."""
    return threading.current_thread() is threading.main_thread()
