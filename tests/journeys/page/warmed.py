"""The command, forked from a process that has imported what the page and searches need.

It is the command itself, but for Python's start and the imports; `test_guarded.py` starts it as
a process of its own.
"""

from __future__ import annotations

import gc
import json
import os
import signal
import socket
import subprocess
import sys
import traceback
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from importlib import import_module
from pathlib import Path
from typing import IO, NoReturn

from benchmarks.campaigns.runs import as_its_own
from nesting.planning.running.worker import READY
from tests.journeys.page.late import answer_late

__all__ = ["Forked", "Warmed"]

_ROOT = Path(__file__).resolve().parents[3]
_ORDER = "from tests.journeys.page.warmed import serve; serve({})"
_LONGEST = 120.0
"""Seconds that a command may take to end."""


@dataclass(slots=True)
class Forked:
    """A command that runs: what it says on standard output, and its end."""

    told: socket.socket
    said: IO[str]
    number: int
    status: int | None = None

    def send(self, number: int) -> None:
        """Send it a signal."""
        with suppress(ProcessLookupError):
            os.kill(self.number, number)

    def wait(self) -> int:
        """Wait for its end; return its exit status, or minus a signal's number."""
        if self.status is None:
            self.told.settimeout(_LONGEST)
            self.status = int(self.told.recv(16))
        return self.status

    def close(self) -> None:
        """Kill it, unless it has ended."""
        if self.status is None:
            self.send(signal.SIGKILL)
            self.wait()
        self.said.close()
        self.told.close()


@dataclass(slots=True)
class Warmed:
    """The process that commands are forked from."""

    asks: socket.socket = field(init=False)
    process: subprocess.Popen[bytes] = field(init=False)

    def __post_init__(self) -> None:
        self.asks, theirs = socket.socketpair()
        with theirs:
            self.process = subprocess.Popen(
                [sys.executable, "-c", _ORDER.format(theirs.fileno())],
                cwd=_ROOT,
                pass_fds=[theirs.fileno()],
            )

    def begin(self, words: Sequence[str], folder: Path) -> Forked:
        """Start the command in a folder."""
        ours, theirs = socket.socketpair()
        reads, writes = os.pipe()
        asked = json.dumps([str(folder), *words]).encode()
        with theirs, os.fdopen(writes, "wb"):
            socket.send_fds(self.asks, [asked], [theirs.fileno(), writes])
        number = int(ours.recv(16))
        return Forked(ours, os.fdopen(reads, encoding="utf-8"), number)

    def close(self) -> None:
        """End it."""
        self.asks.close()
        self.process.wait()


def serve(number: int) -> None:
    """Fork a command for every request that comes through a socket, until its other end is gone."""
    for module in (READY, "thriftlay.page.app", "thriftlay.page.server"):
        import_module(module)
    answer_late()
    gc.collect()
    gc.freeze()  # so that forks share the memory
    signal.signal(signal.SIGCHLD, signal.SIG_IGN)  # whoever asked is told how it ended
    with socket.socket(fileno=number) as asked:
        while True:
            message, files, _, _ = socket.recv_fds(asked, 65536, 2)
            if not message:
                break
            if os.fork() == 0:
                asked.close()
                folder, *words = json.loads(message)
                _attend(words, Path(folder), socket.socket(fileno=files[0]), files[1])
            for file in files:
                os.close(file)


def _attend(words: list[str], folder: Path, asker: socket.socket, out: int) -> NoReturn:
    """Fork the command, say its number, and how it has ended."""
    signal.signal(signal.SIGCHLD, signal.SIG_DFL)
    number = os.fork()
    if number == 0:
        status = 99
        try:
            asker.close()
            os.dup2(out, 1)
            os.close(out)
            os.chdir(folder)
            signal.signal(signal.SIGINT, signal.default_int_handler)
            status = as_its_own(words)
        except BaseException:
            traceback.print_exc()
        os._exit(status)
    os.close(out)
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    asker.send(str(number).encode())
    _, how = os.waitpid(number, 0)
    with suppress(OSError):
        asker.send(str(os.waitstatus_to_exitcode(how)).encode())
    os._exit(0)
