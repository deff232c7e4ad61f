"""News for every page that is open, as server-sent events (WHATWG HTML, 9.2)."""

from __future__ import annotations

import asyncio
import json
from collections.abc import AsyncIterator
from typing import Any

__all__ = ["MOST", "News"]

MOST = 64
"""Pages that hear news at once; one that isn't looked at hears none."""

_WAITING = 200
"""News that wait for a slow page; then it is told to ask for all anew."""

_QUIET = 15.0
"""Seconds after which a page is told that nothing is new, so that one that is gone is noticed."""


class News:
    """Spreads what happens to the pages that listen; may be told from any thread."""

    def __init__(self) -> None:
        self._loop: asyncio.AbstractEventLoop | None = None
        self._pages: set[asyncio.Queue[str | None]] = set()
        self._ended = False

    def begin(self) -> None:
        """Spread news on the loop that runs now."""
        self._loop = asyncio.get_running_loop()

    def end(self) -> None:
        """Let every page go; from the loop."""
        self._ended = True
        for page in self._pages:
            _put(page, None)

    @property
    def full(self) -> bool:
        """Whether no more pages are heard."""
        return len(self._pages) >= MOST or self._ended

    def tell(self, what: str, **more: Any) -> None:
        """Tell all pages what happened."""
        if self._loop is not None and not self._loop.is_closed():
            text = json.dumps({"what": what, **more})
            self._loop.call_soon_threadsafe(self._spread, text)

    def _spread(self, text: str) -> None:
        for page in self._pages:
            _put(page, text)

    async def heard(self) -> AsyncIterator[str]:
        """Yield events for one page, until it or the server ends."""
        page: asyncio.Queue[str | None] = asyncio.Queue(_WAITING)
        self._pages.add(page)
        try:
            yield "retry: 2000\n\n"
            while not self._ended:
                try:
                    text = await asyncio.wait_for(page.get(), _QUIET)
                except TimeoutError:
                    yield ": quiet\n\n"
                    continue
                if text is None:
                    return
                yield f"data: {text}\n\n"
        finally:
            self._pages.discard(page)


def _put(page: asyncio.Queue[str | None], text: str | None) -> None:
    if page.full():
        while not page.empty():
            page.get_nowait()
        text = None if text is None else json.dumps({"what": "all"})
    page.put_nowait(text)
