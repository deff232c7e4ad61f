"""A worker process, and the server that workers are forked from.

A worker and whoever asks it talk through one pipe, which has no name: nothing is left of it
when they die, however they die. A process whose pipe has lost its other end ends itself.
"""

from __future__ import annotations

import os
import signal
import socket
import sys
import threading
import traceback
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from importlib import import_module
from multiprocessing.connection import Connection
from queue import SimpleQueue
from typing import Any

from nesting.marker.lay import Lay
from nesting.marker.marker import Marker
from nesting.search.result import Limits, Progress

__all__ = ["READY", "SearchTask", "serve", "work"]

READY = "nesting.search.ready"
_LOOK_EVERY = 20
"""Milliseconds between two looks at whether the server is still wanted, while it imports."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SearchTask:
    """One search of one lay, single-threaded; `start`: a marker of it to go on from.

    The rest of a marker is laid round some of its parts by ``kept = hold(marker, names)`` and a
    task with ``lay=kept.lay, start=kept``: an executor's `submit` gives the future of its result,
    `progress` what it tells meanwhile, `stop` ends it with the best it has.
    """

    name: str
    lay: Lay
    limits: Limits
    seed: int
    start: Marker | None = None


def work(pipe: Connection) -> None:
    """Search what comes through the pipe, task after task, until its other end is gone.

    In: tasks, and None as the wish that the search going on ends with the best it has.
    Out: the process's number; then for each task what its search tells and its result, or
    the exception that it ended with.
    """
    import_module(READY)
    tasks: SimpleQueue[SearchTask] = SimpleQueue()
    stopping = threading.Event()
    threading.Thread(target=_listen, args=(pipe, tasks, stopping), daemon=True).start()
    sending = threading.Lock()  # a search of rectangles tells from several threads

    def tell(what: object) -> None:
        with sending:
            pipe.send(what)

    try:
        tell(os.getpid())
        while True:
            tell(_outcome(tasks.get(), stopping, tell))
    except OSError:
        os._exit(1)


def _listen(pipe: Connection, tasks: SimpleQueue[SearchTask], stopping: threading.Event) -> None:
    try:
        while True:
            message = pipe.recv()
            if message is None:
                stopping.set()
            else:
                stopping.clear()
                tasks.put(message)
    except (EOFError, OSError):
        os._exit(1)


def _outcome(task: SearchTask, stopping: threading.Event, tell: Any) -> object:
    from nesting.search.solve import search

    def observe(progress: Progress) -> None:
        tell(progress)

    try:
        return search(
            task.lay,
            limits=task.limits,
            seed=task.seed,
            workers=1,
            observer=observe,
            stop=stopping.is_set,
            start=task.start,
        )
    except OSError:
        raise
    except Exception as error:
        error.add_note(traceback.format_exc())
        return error


def serve(number: int) -> None:
    """Fork a worker for every pipe that comes through a socket, until its other end is gone.

    The search is imported once, its kernels loaded: a worker costs next to nothing then.
    """
    with socket.socket(fileno=number) as asked:
        with _only_while_wanted(asked):
            import_module(READY)
        signal.signal(signal.SIGCHLD, signal.SIG_IGN)  # nobody asks how a worker ended
        while True:
            message, pipes, _, _ = socket.recv_fds(asked, 1, 1)
            if not message:
                break
            if os.fork() == 0:
                _forked(asked, pipes[0])
            os.close(pipes[0])
    try:
        while True:
            os.wait()
    except ChildProcessError:
        pass


def _forked(asked: socket.socket, pipe: int) -> None:
    """Be a worker."""
    try:
        signal.signal(signal.SIGCHLD, signal.SIG_DFL)
        asked.close()
        work(Connection(pipe))
    except BaseException:
        traceback.print_exc()
        sys.stderr.flush()
    os._exit(1)


@contextmanager
def _only_while_wanted(asked: socket.socket) -> Iterator[None]:
    """End the process as soon as nobody is there who could ask for a worker."""
    import select

    done = threading.Event()
    poll = select.poll()
    poll.register(asked, 0)  # that the other end is gone is told unasked

    def watch() -> None:
        while not done.is_set():
            if poll.poll(_LOOK_EVERY):
                os._exit(1)

    thread = threading.Thread(target=watch, daemon=True)
    thread.start()
    try:
        yield
    finally:
        done.set()
        thread.join()  # no process is forked beside a thread
