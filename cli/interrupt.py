"""Ctrl-C as a wish to stop: the best so far is kept; a second one ends at once."""

from __future__ import annotations

import signal
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from types import FrameType

__all__ = ["stopping"]


@contextmanager
def stopping() -> Iterator[Callable[[], bool]]:
    """Give a function that says whether Ctrl-C was pressed in the ``with`` block."""
    asked = False

    def on_interrupt(number: int, frame: FrameType | None) -> None:
        nonlocal asked
        if asked:
            raise KeyboardInterrupt
        asked = True

    before = signal.signal(signal.SIGINT, on_interrupt)
    try:
        yield lambda: asked
    except (EOFError, ConnectionError) as error:
        # Processes that were just being started when everybody was interrupted.
        if not asked:
            raise
        raise KeyboardInterrupt from error
    finally:
        signal.signal(signal.SIGINT, before)
