"""The server of the page, from its address to its end."""

from __future__ import annotations

import asyncio
import ipaddress
import signal
import socket
import threading
import webbrowser
from collections.abc import Iterator
from contextlib import closing, contextmanager

import uvicorn
from starlette.types import ASGIApp

from nesting.errors import JobError

from .app import Page, page_app
from .guard import Keys

__all__ = ["address_of", "hosts_of", "listening", "serve"]

LOCAL = "127.0.0.1"
_MOST = 200
"""Connections that are answered at once."""


def address_of(host: str) -> str:
    """Return the address to listen at, of this machine.

    Raises
    ------
    JobError
        It is none, or stands for all addresses at once.

    """
    try:
        address = ipaddress.ip_address(host)
    except ValueError:
        raise JobError(f"{host!r} is no address", hint=_hint()) from None
    if address.is_unspecified or address.is_multicast:
        raise JobError(f"{host} is no single address of this machine", hint=_hint())
    return str(address)


def _hint() -> str:
    return f"name this machine's own in your workshop's network: --host {_own()}"


def _own() -> str:
    """Return this machine's address in its network; nothing is sent to find it."""
    with closing(socket.socket(socket.AF_INET, socket.SOCK_DGRAM)) as one:
        try:
            one.connect(("192.0.2.1", 9))  # kept for examples (RFC 5737): nobody's
            return str(one.getsockname()[0])
        except OSError:
            return LOCAL


def hosts_of(host: str, port: int) -> frozenset[str]:
    """Return what `Host` may be of a server there."""
    address = ipaddress.ip_address(host)
    names = {f"[{host}]" if address.version == 6 else host}
    if address.is_loopback:
        names.add("localhost")
    return frozenset(f"{name}:{port}" for name in names)


def listening(host: str, port: int) -> socket.socket:
    """Return a socket that listens; port 0 is any that is free.

    Raises
    ------
    JobError
        It can't listen there.

    """
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    one = socket.socket(family, socket.SOCK_STREAM)
    one.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        one.bind((host, port))
        one.listen()  # before the address is told: who is quick waits, and is not refused
    except OSError as error:
        one.close()
        why = (error.strerror or str(error)).lower()
        raise JobError(
            f"can't listen at {host}, port {port}: {why}", hint="name another with --port"
        ) from error
    return one


def serve(page: Page, door: socket.socket, keys: Keys, *, browse: bool) -> bool:
    """Serve a page until an interrupt, and save; False if a second one ended that.

    Parameters
    ----------
    page
        What is served.
    door
        Where it listens.
    keys
        The secrets of this start.
    browse
        Open the browser.

    """
    host, port = door.getsockname()[:2]
    hosts = hosts_of(host, port)
    app = page_app(page, hosts=hosts, keys=keys)
    here = next(h for h in sorted(hosts) if not h.startswith("localhost"))
    threading.Thread(target=_letters, daemon=True).start()
    if browse:
        _open(f"http://{here}/?key={keys.once}")
    return asyncio.run(_serve(page, app, door))


def _letters() -> None:
    """Read the font that names are measured with, before the first are asked for."""
    from nesting.writing.neutral.font import text_width

    text_width("")


def _open(address: str) -> None:
    threading.Thread(target=webbrowser.open, args=(address,), daemon=True).start()


class _Server(uvicorn.Server):
    """Leaves signals to us: the command has its own answers to them."""

    @contextmanager
    def capture_signals(self) -> Iterator[None]:
        """Capture none."""
        yield


async def _serve(page: Page, app: ASGIApp, door: socket.socket) -> bool:
    server = _Server(
        uvicorn.Config(
            app,
            log_level="critical",
            access_log=False,
            server_header=False,
            limit_concurrency=_MOST,
            timeout_graceful_shutdown=2,
            lifespan="on",
        )
    )
    loop = asyncio.get_running_loop()

    def end() -> None:
        server.force_exit = server.should_exit
        server.should_exit = True
        page.news.end()

    for number in (signal.SIGINT, signal.SIGTERM):
        loop.add_signal_handler(number, end)
    try:
        await server.serve([door])
    finally:
        for number in (signal.SIGINT, signal.SIGTERM):
            loop.remove_signal_handler(number)
    return not server.force_exit
