"""Temporary names that say whose they are, and what dead runs left under such names."""

from __future__ import annotations

import os
import re
import shutil
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from platform import node
from secrets import token_hex
from zlib import crc32

from nesting.errors import WriteError

__all__ = ["LOCK", "clear_leftovers", "locked", "temporary_name"]

LOCK = ".thriftlay-lock"
"""In a folder that a run writes into; the system lets go of it when the run ends."""

_OURS = re.compile(r"\.thriftlay-([0-9a-f]{8})-(\d+)-[0-9a-f]{16}(\.\w+)?")


def temporary_name(suffix: str = "") -> str:
    """Return a hidden name with this machine and process in it, for files not yet whole."""
    return f".thriftlay-{_machine()}-{os.getpid()}-{token_hex(8)}{suffix}"


def clear_leftovers(folder: Path) -> None:
    """Remove from a folder what runs of this machine left there that are dead now."""
    for path in folder.iterdir():
        match = _OURS.fullmatch(path.name)
        if match and match[1] == _machine() and not _lives(int(match[2])):
            if path.is_dir() and not path.is_symlink():
                shutil.rmtree(path, ignore_errors=True)
            else:
                with suppress(OSError):
                    path.unlink()


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
