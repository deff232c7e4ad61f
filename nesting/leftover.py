"""Temporary names that say whose they are, and what dead runs left under such names."""

from __future__ import annotations

import os
import re
import shutil
import signal
import sys
from collections.abc import Collection, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from platform import node
from secrets import token_hex
from zlib import crc32

from nesting.errors import WriteError

__all__ = ["LOCK", "clear_leftovers", "locked", "move_in", "temporary_name", "undisturbed"]

LOCK = ".thriftlay-lock"
"""In a folder that a run writes into; the system lets go of it when the run ends."""

# Suffix of a hidden folder in which all is written: it is moved in, come what may.
_WHOLE = ".whole"
# In it: the names of files that are then to be removed.
_STALE = ".stale"

_OURS = re.compile(r"\.thriftlay-([0-9a-f]{8})-(\d+)-[0-9a-f]{16}(\.\w+)?")


def temporary_name(suffix: str = "") -> str:
    """Return a hidden name with this machine and process in it, for files not yet whole."""
    return f".thriftlay-{_machine()}-{os.getpid()}-{token_hex(8)}{suffix}"


def clear_leftovers(folder: Path) -> None:
    """Remove from a folder what runs of this machine left there that are dead now.

    Files that one of them had written whole, all of them, are moved in as it would have done.
    """
    for path in folder.iterdir():
        match = _OURS.fullmatch(path.name)
        if match and match[1] == _machine() and not _lives(int(match[2])):
            if match[3] == _WHOLE and path.is_dir() and not path.is_symlink():
                with suppress(OSError):
                    _move_in(path)
            elif path.is_dir() and not path.is_symlink():
                shutil.rmtree(path, ignore_errors=True)
            else:
                with suppress(OSError):
                    path.unlink()


def move_in(waiting: Path, stale: Collection[str]) -> None:
    """Move all files of a folder into the one that it is in, and remove the stale ones there.

    Once that has begun it is done in any case, if need be by `clear_leftovers` of another run.
    """
    (waiting / _STALE).write_text("\n".join(stale), encoding="utf-8")
    whole = waiting.with_name(waiting.name + _WHOLE)
    waiting.rename(whole)
    _move_in(whole)


def _move_in(whole: Path) -> None:
    listed = whole / _STALE
    if listed.exists():
        for name in listed.read_text(encoding="utf-8").split("\n"):
            if name:
                (whole.parent / name).unlink(missing_ok=True)
        listed.unlink()
    for file in sorted(whole.iterdir()):
        os.replace(file, whole.parent / file.name)
    whole.rmdir()


@contextmanager
def undisturbed() -> Iterator[None]:
    """Hold back interrupts and requests to end for a ``with`` block that has to be whole."""
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT, signal.SIGTERM})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


@contextmanager
def locked(folder: Path) -> Iterator[None]:
    """Have a folder to oneself for a ``with`` block.

    The system drops the lock when its process ends, however it ends: none can be stale.
    Without locks of this kind (not on POSIX), the folder is not locked.

    Raises
    ------
    WriteError
        Another run is at work in the folder.

    """
    if sys.platform == "win32":
        yield
        return
    import fcntl

    path = folder / LOCK
    number = os.open(path, os.O_RDWR | os.O_CREAT, 0o644)
    try:
        try:
            fcntl.flock(number, fcntl.LOCK_EX | fcntl.LOCK_NB)
            # Whoever held it may have removed the file between the two lines above.
            ours = path.exists() and os.path.samestat(os.fstat(number), path.stat())
        except BlockingIOError:
            ours = False
        if not ours:
            raise WriteError(
                "another run is writing into this folder",
                file=str(folder),
                hint="wait until it has ended, or name another folder",
            )
        try:
            yield
        finally:
            path.unlink(missing_ok=True)
    finally:
        os.close(number)


def _machine() -> str:
    """Return what tells this machine from others that share a folder."""
    return f"{crc32(node().encode()):08x}"


def _lives(process: int) -> bool:
    if sys.platform == "win32":
        return True  # nothing harmless asks there: leave it
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    except (PermissionError, OverflowError):
        return True
    return True
