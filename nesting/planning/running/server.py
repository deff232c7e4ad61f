"""How a worker process is started, here and now: the end of its pipe that asks.

On Linux workers are forked from a server that has the search imported: the first one costs that
once, the next ones next to nothing. Elsewhere each is started anew.

Ctrl-C and a request to end (SIGTERM) are the parent's to answer: server and workers have
both blocked from their first moment on. There is no file, no socket with a name and no
semaphore that could be left behind.
"""

from __future__ import annotations

import atexit
import multiprocessing
import os
import signal
import socket
import subprocess
import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from multiprocessing.connection import Connection
from types import ModuleType
from typing import Any

__all__ = ["Line", "new_worker", "start_server"]

_SAFE = "PYTHONSAFEPATH"  # Python's own: the working folder is not searched for modules
_ORDER = "from nesting.planning.running.worker import serve; serve({})"
_BEHIND = 10  # niceness: a process of the usual one has nine times as much of a core
_PATIENCE = 5.0
"""Seconds that the server has for its end when this process ends."""


@dataclass(frozen=True, slots=True)
class Line:
    """A pipe to a worker; `hang_up` makes the worker end, and what it says with it."""

    pipe: Connection
    hang_up: Callable[[], None]


class _Server:
    """The process that forks workers."""

    def __init__(self) -> None:
        self.ask, theirs = socket.socketpair()
        with theirs, _undisturbed():
            self.process = subprocess.Popen(
                [sys.executable, "-P", "-c", _ORDER.format(theirs.fileno())],
                pass_fds=[theirs.fileno()],
                stdin=subprocess.DEVNULL,
                stdout=subprocess.DEVNULL,
            )

    def new_worker(self) -> Line:
        """Ask for a worker; it may take until the first is there."""
        ours, theirs = socket.socketpair()
        with theirs, suppress(OSError):  # if the server is gone the pipe's end says so
            socket.send_fds(self.ask, [b"w"], [theirs.fileno()])

        pipe = Connection(ours.detach())

        def hang_up() -> None:
            with suppress(OSError), socket.socket(fileno=os.dup(pipe.fileno())) as end:
                end.shutdown(socket.SHUT_WR)

        return Line(pipe, hang_up)

    def close(self) -> None:
        """End the server, and with it every worker."""
        self.ask.close()
        try:
            self.process.wait(_PATIENCE)
        except subprocess.TimeoutExpired:
            self.process.kill()
            self.process.wait()


class _Here:
    """The server of this process, if there is one."""

    server: _Server | None = None
    behind = False
    lock = threading.Lock()


def _server() -> _Server:
    with _Here.lock:
        if _Here.server is None or _Here.server.process.poll() is not None:
            if _Here.server is not None:
                atexit.unregister(_Here.server.close)
                _Here.server.close()
            _Here.server = _Server()
            if _Here.behind:
                least = max(_BEHIND, os.getpriority(os.PRIO_PROCESS, 0))  # less takes permission
                os.setpriority(os.PRIO_PROCESS, _Here.server.process.pid, least)
            atexit.register(_Here.server.close)
        return _Here.server


def _forget() -> None:
    """Leave a parent's server alone: it has to see when its parent is gone."""
    if _Here.server is not None:
        atexit.unregister(_Here.server.close)
        _Here.server.ask.close()
        _Here.server.process.returncode = 0  # not this process's child
    _Here.server, _Here.lock = None, threading.Lock()


if sys.platform == "linux":
    os.register_at_fork(after_in_child=_forget)


def start_server(*, behind: bool = False) -> None:
    """Start, without waiting for it, what workers are forked from: it takes a second or two.

    `behind`: searches let all else on this machine go first, so that whoever waits for an answer
    doesn't wait for them (on Linux).
    """
    _Here.behind = behind
    if sys.platform == "linux":
        _server()


def new_worker() -> Line:
    """Start a worker; it first says its process's number."""
    return _server().new_worker() if sys.platform == "linux" else _spawned()


def _spawned() -> Line:
    from nesting.planning.running.worker import work

    context = multiprocessing.get_context("spawn")
    ours, theirs = context.Pipe()
    process: Any = context.Process(target=work, args=(theirs,), daemon=True)
    with _undisturbed():
        process.start()
    theirs.close()

    def hang_up() -> None:
        process.kill()
        process.join()

    return Line(ours, hang_up)


@contextmanager
def _undisturbed() -> Iterator[None]:
    """Have processes that are started meanwhile stand apart from the one that runs.

    Signals to end are blocked for their whole life, and they don't import the script that
    runs: they need nothing of it, and one without the ``__main__`` idiom would run again. Nor
    do they import what happens to lie in the working folder (a ``random.py``, another copy
    of this library).
    """
    main = sys.modules["__main__"]
    held = {signal.SIGINT, signal.SIGTERM}
    blocking = hasattr(signal, "pthread_sigmask")
    before = signal.pthread_sigmask(signal.SIG_BLOCK, held) if blocking else None
    sys.modules["__main__"] = ModuleType("__main__")
    safe = os.environ.get(_SAFE)
    os.environ[_SAFE] = "1"
    try:
        yield
    finally:
        if safe is None:
            del os.environ[_SAFE]
        else:
            os.environ[_SAFE] = safe
        sys.modules["__main__"] = main
        if before is not None:
            signal.pthread_sigmask(signal.SIG_SETMASK, before)
