"""Answers that come late, by a different time each: a slow network, a busy machine.

`LATE_ANSWERS=0.5 pytest tests/journeys/page` keeps each up to half a second before the page's
server is asked, and as long again after. What a journey or the page takes to be done already,
or to happen in the order it was asked for, shows itself then.
"""

from __future__ import annotations

import asyncio
import os
import random

from starlette.types import ASGIApp, Message, Receive, Scope, Send
from thriftlay.page import server

__all__ = ["answer_late"]


def answer_late() -> None:
    """Have the server answer as late as the environment says, if it says so."""
    longest = float(os.environ.get("LATE_ANSWERS", "0"))
    if longest <= 0.0:
        return
    made = server.page_app
    server.page_app = lambda *given, **named: _late(made(*given, **named), longest)


def _late(app: ASGIApp, longest: float) -> ASGIApp:
    async def end(scope: Scope, receive: Receive, send: Send) -> None:
        answered = scope["type"] == "http" and not scope["path"].startswith(("/static", "/news"))
        if not answered:
            await app(scope, receive, send)
            return

        async def sent(message: Message) -> None:
            if message["type"] == "http.response.start":
                await asyncio.sleep(random.uniform(0.0, longest))
            await send(message)

        await asyncio.sleep(random.uniform(0.0, longest))
        await app(scope, receive, sent)

    return end
