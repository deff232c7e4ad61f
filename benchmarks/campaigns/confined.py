"""The command run in a process of its own, forked from this one, under limits."""

from __future__ import annotations

import contextlib
import io
import json
import os
import resource
import select
import signal
import sys
import traceback
from collections.abc import Callable
from dataclasses import dataclass
from types import FrameType

__all__ = ["MEMORY", "SECONDS", "Outcome", "confined"]

SECONDS = 10
"""CPU time that a command may take."""

MEMORY = 1 << 30
"""Bytes that it may hold beyond what is there before."""

_ADDRESSES = 6 << 30
"""Bytes that it may ask for: the search asks for more than it touches."""

_HUNG = 180.0
"""Seconds after which it is given up, whatever it waits for."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """How a command ended: `status` is its exit status if it had one, `trouble` is what is wrong.

    `trouble`: "", "over time", "over memory", "traceback", "hung" or "died"; `trace`: where.
    `seconds` of CPU time.
    """

    status: int | None
    trouble: str = ""
    out: str = ""
    err: str = ""
    trace: str = ""
    seconds: float = 0.0


class _TooLongError(BaseException):
    """The time is over; no handler of the library's may swallow it."""


def confined(command: Callable[[], int], *, seconds: int = SECONDS) -> Outcome:
    """Run a command that prints and returns an exit status."""
    receiver, sender = os.pipe()
    sys.stdout.flush()
    before = _pages()[1]
    child = os.fork()
    if child == 0:
        os.close(receiver)
        told = json.dumps(_in_child(command, seconds)).encode()
        with os.fdopen(sender, "wb") as file, contextlib.suppress(OSError):
            file.write(told)
        os._exit(0)
    os.close(sender)
    chunks: list[bytes] = []
    hung = False
    while True:
        ready, _, _ = select.select([receiver], [], [], _HUNG)
        if not ready:
            hung = True
            os.kill(child, signal.SIGKILL)
            break
        chunk = os.read(receiver, 1 << 16)
        if not chunk:
            break
        chunks.append(chunk)
    os.close(receiver)
    _, status, used = os.wait4(child, 0)
    taken = used.ru_utime + used.ru_stime
    held = 1024 * used.ru_maxrss - before
    try:
        told = json.loads(b"".join(chunks))
        if held > MEMORY and not told["trouble"]:
            told |= {"trouble": "over memory", "trace": f"{held >> 20} MB"}
        return Outcome(**told, seconds=taken)
    except ValueError:
        over = taken >= seconds
        trouble = "hung" if hung else "over time" if over else "died"
        return Outcome(status=None, trouble=trouble, trace=f"status {status}", seconds=taken)


def _in_child(command: Callable[[], int], seconds: int) -> dict[str, object]:
    def over(_signal: int, _frame: FrameType | None) -> None:
        raise _TooLongError

    out, err = (io.TextIOWrapper(io.BytesIO(), encoding="utf-8") for _ in range(2))
    sys.stdout, sys.stderr = out, err
    now = _pages()[0]
    signal.signal(signal.SIGXCPU, over)
    resource.setrlimit(resource.RLIMIT_CPU, (seconds, seconds + 5))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    resource.setrlimit(resource.RLIMIT_AS, (now + _ADDRESSES, now + _ADDRESSES))
    status: int | None = None
    trouble = trace = ""
    try:
        status = command()
    except _TooLongError:
        trouble, trace = "over time", traceback.format_exc()
    except MemoryError:
        trouble, trace = "over memory", traceback.format_exc()
    except BaseException:
        trouble, trace = "traceback", traceback.format_exc()
    return {
        "status": status,
        "trouble": trouble,
        "trace": trace[-20_000:],
        "out": _text(out)[:200_000],
        "err": _text(err)[:200_000],
    }


def _pages() -> tuple[int, int]:
    """Return the bytes that this process has asked for, and that it holds."""
    with open("/proc/self/statm", encoding="ascii") as sizes:
        asked, held = (int(word) * resource.getpagesize() for word in sizes.read().split()[:2])
    return asked, held


def _text(stream: io.TextIOWrapper) -> str:
    stream.flush()
    raw = stream.buffer
    assert isinstance(raw, io.BytesIO)
    return raw.getvalue().decode("utf-8", "replace")
