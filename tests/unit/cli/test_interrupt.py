"""An interrupt is one, whatever breaks for it."""

from __future__ import annotations

import os
import signal

import pytest
from thriftlay.interrupt import stopping


def broken(*, interrupted: bool) -> None:
    with stopping():
        if interrupted:
            os.kill(os.getpid(), signal.SIGINT)
        raise EOFError


def test_what_an_interrupt_breaks_is_the_interrupt() -> None:
    with pytest.raises(KeyboardInterrupt):
        broken(interrupted=True)


def test_what_breaks_by_itself_is_told() -> None:
    with pytest.raises(EOFError):
        broken(interrupted=False)
