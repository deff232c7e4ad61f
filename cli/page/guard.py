"""Who is let in: the browser that was given the address, and what it may be sent.

A page of somebody else can send a browser here, too. So what is asked has to name this
server (`Host`, against names that are made to point here), has to come from a page of ours
(`Origin`, which all that changes anything must have), and has to bring the cookie that the
secret in the address was changed for. `SameSite=Strict` keeps that cookie from being sent
with what other pages ask. The cookie's name has the port in it: cookies know no ports.
"""

from __future__ import annotations

import secrets
from collections.abc import Collection
from http.cookies import CookieError, SimpleCookie
from urllib.parse import parse_qs

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import HTMLResponse, PlainTextResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

__all__ = ["CONTENT", "Guard", "Keys"]

CONTENT = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:;"
    " connect-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none';"
    " require-trusted-types-for 'script'; trusted-types 'none'"
)
"""What the page may load and do: its own files, and no markup from text."""

_HEADERS = {
    "Content-Security-Policy": CONTENT,
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Cache-Control": "no-store",
    "Permissions-Policy": "camera=(), microphone=(), geolocation=()",
}

_ENTER = (
    '<!doctype html><html lang="en"><meta charset="utf-8">'
    '<meta http-equiv="refresh" content="0;url=/"><link rel="icon" href="data:,">'
    "<title>Thriftlay</title></html>"
)
"""Sent with the cookie: what follows is asked by a page of ours, whoever sent the browser."""

_SAFE = ("GET", "HEAD")


class Keys:
    """The secrets of one start: the address's, one that is good for a single use, the cookie's."""

    def __init__(self) -> None:
        self.address = secrets.token_urlsafe(32)
        self.once = secrets.token_urlsafe(32)
        self.cookie = secrets.token_urlsafe(32)

    def fits(self, key: str) -> bool:
        """Whether a secret that somebody brought opens; the one for a single use does once."""
        if self.once and secrets.compare_digest(key.encode(), self.once.encode()):
            self.once = ""
            return True
        return secrets.compare_digest(key.encode(), self.address.encode())


class Guard:
    """Lets through what may come in, and says on every answer what the page may do.

    Parameters
    ----------
    app
        What is guarded.
    hosts
        What `Host` may be, with the port: ``"127.0.0.1:8000"``.
    keys
        The secrets.
    most, most_dropped
        Bytes of what may be sent: anything, and files (to paths that begin with `dropped`).

    """

    def __init__(
        self,
        app: ASGIApp,
        *,
        hosts: Collection[str],
        keys: Keys,
        most: int = 1_000_000,
        most_dropped: int = 100_000_000,
        dropped: str = "/drop",
    ) -> None:
        self._app, self._hosts, self._keys = app, frozenset(hosts), keys
        self._most, self._most_dropped, self._dropped = most, most_dropped, dropped
        port = next(iter(sorted(hosts))).rpartition(":")[2]
        self.cookie = f"thriftlay-{port}"

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer a request, or let it through."""
        if scope["type"] == "lifespan":
            await self._app(scope, receive, send)
            return
        if scope["type"] != "http":
            await send({"type": "websocket.close", "code": 1008})
            return

        async def told(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in _HEADERS.items():
                    headers[name] = value
            await send(message)

        answer = self._answer(scope, Headers(scope=scope))
        await (self._app if answer is None else answer)(scope, receive, told)

    def _answer(self, scope: Scope, headers: Headers) -> Response | None:
        """Return the answer to what is not let through, or to who comes with the secret."""
        if headers.getlist("host") != [headers.get("host")] or headers["host"] not in self._hosts:
            return _no(421, "this server is asked for by another name than its own")
        origin, method = headers.get("origin"), scope["method"]
        ours = origin is not None and origin in {f"http://{host}" for host in self._hosts}
        if (origin is not None and not ours) or (method not in _SAFE and not ours):
            return _no(403, "only the page of this server may ask for that")
        if method not in (*_SAFE, "POST"):
            return _no(405, "nothing is asked for so")
        if "\0" in scope["path"]:
            return _no(404, "nothing is called so")
        given = parse_qs(scope["query_string"].decode("latin-1")).get("key")
        if scope["path"] == "/" and given and method in _SAFE:
            return self._enter() if self._keys.fits(given[0]) else _no(403, _ASK)
        if not self._known(headers):
            return _no(403, _ASK)
        return self._too_large(scope["path"], headers)

    def _enter(self) -> Response:
        answer = HTMLResponse(_ENTER)
        answer.set_cookie(self.cookie, self._keys.cookie, httponly=True, samesite="strict")
        return answer

    def _known(self, headers: Headers) -> bool:
        try:
            held = SimpleCookie(headers.get("cookie", "")).get(self.cookie)
        except CookieError:
            return False
        value = "" if held is None else held.value
        return secrets.compare_digest(value.encode(), self._keys.cookie.encode())

    def _too_large(self, path: str, headers: Headers) -> Response | None:
        if "transfer-encoding" in headers:
            return _no(411, "how large it is has to be said before it is sent")
        size = headers.get("content-length", "0")
        most = self._most_dropped if path.startswith(self._dropped) else self._most
        if not size.isdecimal() or len(size) > 15 or int(size) > most:
            return _no(413, f"more than {most // 1_000_000} MB is not taken")
        return None


_ASK = "open the address that thriftlay printed when it started: it has this page's key in it"


def _no(status: int, why: str) -> Response:
    return PlainTextResponse(f"thriftlay: {why}\n", status_code=status)
