"""The command run in a session of its own, as a process or as a fork of a warmed one.

A fork of a process that has imported everything runs what a process of its own would run, but
for Python's start and the imports; so does the server that its workers are forked from.
"""

from __future__ import annotations

import atexit
import gc
import io
import os
import resource
import signal
import sys
import tempfile
import time
import traceback
from collections.abc import Callable, Sequence
from contextlib import redirect_stderr, redirect_stdout, suppress
from dataclasses import dataclass
from importlib import import_module
from pathlib import Path
from typing import Any, NoReturn

from nesting.planning.running import server
from nesting.planning.running.worker import READY, serve

__all__ = ["Run", "alive", "as_its_own", "warm_up"]

_LATEST = 120.0
"""Seconds after which a run that doesn't end is killed."""


def warm_up(commands: Sequence[Sequence[object]]) -> None:
    """Import what the search needs, and run commands that do not search, in this process."""
    import_module(READY)
    main: Callable[[Sequence[str]], int] = import_module("thriftlay.main").main
    for words in commands:
        with redirect_stdout(io.StringIO()), redirect_stderr(io.StringIO()):
            main([str(word) for word in words])
    gc.collect()
    gc.freeze()  # so that forks share the memory


@dataclass(slots=True)
class Run:
    """A run of the command that goes on, or has ended with `status` (minus a signal's number)."""

    number: int
    folder: Path
    status: int | None = None

    @classmethod
    def begin(
        cls,
        words: Sequence[object],
        folder: Path,
        *,
        forked: bool,
        out: Path | None = None,
        largest: int | None = None,
    ) -> Run:
        """Start the command; its temporary folder and what it says go into `folder`.

        `out`: where its standard output goes instead; `largest`: of a file that it may write.
        """
        (folder / "tmp").mkdir(parents=True, exist_ok=True)
        number = os.fork()
        if number == 0:
            _be([str(word) for word in words], folder, forked, out, largest)
        return cls(number, folder)

    @property
    def said(self) -> str:
        """What it said on standard error."""
        file = self.folder / "err"  # not there if it was killed before it began
        return file.read_text(encoding="utf-8", errors="replace") if file.exists() else ""

    def listens(self) -> bool:
        """Wait until it answers a request to end, as the command does; False if it has ended."""
        while not self.over():
            with suppress(OSError):
                text = Path(f"/proc/{self.number}/status").read_text(encoding="ascii")
                caught = int(text.partition("SigCgt:")[2].split()[0], 16)
                if caught >> (signal.SIGTERM - 1) & 1:
                    return True
            time.sleep(0.001)
        return False

    def over(self) -> bool:
        """Whether it has ended."""
        if self.status is None:
            number, how = os.waitpid(self.number, os.WNOHANG)
            if number:
                self.status = os.waitstatus_to_exitcode(how)
        return self.status is not None

    def wait(self, seconds: float = _LATEST) -> bool:
        """Wait for its end; False if that doesn't come in time."""
        until = time.monotonic() + seconds
        while not self.over():
            if time.monotonic() > until:
                return False
            time.sleep(0.002)
        return True

    def hit(self, number: int, *, everybody: bool) -> None:
        """Send a signal to its process, or to everybody in its group, as a terminal does."""
        with suppress(ProcessLookupError):
            (os.killpg if everybody else os.kill)(self.number, number)

    def others(self) -> list[int]:
        """Return the processes of its session that live, without itself."""
        found = []
        for folder in Path("/proc").iterdir():
            if folder.name.isdigit() and int(folder.name) != self.number:
                with suppress(OSError, IndexError):
                    fields = (folder / "stat").read_text().rpartition(")")[2].split()
                    if int(fields[3]) == self.number and fields[0] != "Z":
                        found.append(int(folder.name))
        return found


def alive(run: Run, *, within: float) -> list[int]:
    """Return which processes of a run that has ended still live after so many seconds."""
    until = time.monotonic() + within
    while (others := run.others()) and time.monotonic() < until:
        time.sleep(0.005)
    return others


def as_its_own(words: Sequence[str]) -> int:
    """Run the command in this process, a fork, as one of its own would to its very end.

    Returns its exit status.
    """
    atexit._clear()
    tempfile.tempdir = None
    sys.stdout, sys.stderr = (open(number, "w", encoding="utf-8") for number in (1, 2))  # noqa: SIM115
    sys.argv = ["thriftlay", *words]
    vars(server)["subprocess"] = _Forking()
    main: Callable[[], int] = import_module("thriftlay.__main__").main
    try:
        status = main()
    except SystemExit as error:
        status = error.code if isinstance(error.code, int) else 1
    with suppress(OSError):
        sys.stderr.flush()
    atexit._run_exitfuncs()
    return status


def _be(
    words: list[str], folder: Path, forked: bool, out: Path | None, largest: int | None
) -> NoReturn:
    """Be the command."""
    status = 99
    try:
        os.setsid()
        for number, path in ((1, out or folder / "out"), (2, folder / "err")):
            file = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o644)
            os.dup2(file, number)
            os.close(file)
        os.environ["TMPDIR"] = str(folder / "tmp")
        if largest is not None:
            resource.setrlimit(resource.RLIMIT_FSIZE, (largest, largest))
        signal.signal(signal.SIGINT, signal.default_int_handler)
        if not forked:
            os.execv(sys.executable, [sys.executable, "-m", "thriftlay", *words])
        status = as_its_own(words)
    except BaseException:
        traceback.print_exc()
        sys.stderr.flush()
    os._exit(status)


class _Forking:
    """Stands for `subprocess` where the server is started: a fork needs no imports."""

    DEVNULL = -1
    TimeoutExpired = TimeoutError

    class Popen:
        """A server forked from this process."""

        def __init__(self, words: Sequence[str], *, pass_fds: Sequence[int], **_: Any) -> None:
            self.returncode: int | None = None
            self.pid = os.fork()
            if self.pid == 0:
                try:
                    server._Here.server = None
                    nothing = os.open(os.devnull, os.O_RDWR)
                    os.dup2(nothing, 1)
                    # As a program that is started would have: no file but these.
                    kept = os.dup(pass_fds[0])
                    os.closerange(3, kept)
                    os.closerange(kept + 1, 4096)
                    serve(kept)
                finally:
                    os._exit(0)

        def poll(self) -> int | None:
            """Return how it ended, if it has."""
            if self.returncode is None:
                number, how = os.waitpid(self.pid, os.WNOHANG)
                self.returncode = os.waitstatus_to_exitcode(how) if number else None
            return self.returncode

        def wait(self, seconds: float | None = None) -> int | None:
            """Wait for its end."""
            while self.poll() is None:
                time.sleep(0.001)
            return self.returncode
