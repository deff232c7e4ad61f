"""Files written whole or not at all."""

from __future__ import annotations

import os
import shutil
from collections.abc import Collection, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from nesting.errors import WriteError
from nesting.leftover import clear_leftovers, move_in, temporary_name, undisturbed

__all__ = ["exists_already", "whole_file", "whole_folder", "write_error"]


def write_error(path: Path, error: OSError) -> WriteError:
    """Say in the program's words why a file could not be written."""
    return WriteError(
        f"can't be written: {(error.strerror or str(error)).lower()}",
        file=str(path),
        hint="name a folder that can be written",
    )


def exists_already(path: Path) -> WriteError:
    """Say that a file is there that was not to be replaced."""
    hint = "name another file, or say overwrite=True"
    return WriteError("exists already", file=str(path), hint=hint)


@contextmanager
def whole_file(path: Path, *, overwrite: bool = False) -> Iterator[Path]:
    """Give a temporary file to write to; it becomes `path` only if all goes well.

    Raises
    ------
    WriteError
        `path` exists and `overwrite` is not set, or its folder can't be written.

    """
    if path.exists() and not overwrite:
        raise exists_already(path)
    temporary = path.with_name(temporary_name(path.suffix))
    try:
        clear_leftovers(path.parent)
        temporary.touch(exist_ok=False)
        yield temporary
        with undisturbed():
            os.replace(temporary, path)
    except WriteError:
        raise
    except OSError as error:
        raise write_error(path, error) from error
    finally:
        with suppress(OSError):
            temporary.unlink(missing_ok=True)


@contextmanager
def whole_folder(folder: Path, *, stale: Collection[str] = ()) -> Iterator[Path]:
    """Give a hidden folder to write into; if all goes well all its files are moved to `folder`.

    Files of `folder` named in `stale` are removed then. A run that is killed in the midst of
    that has the rest done by the next one (`clear_leftovers`).

    Raises
    ------
    OSError
        Something can't be written: nothing was, or was removed.

    """
    waiting = folder / temporary_name()
    try:
        clear_leftovers(folder)
        waiting.mkdir()
        yield waiting
        with undisturbed():
            move_in(waiting, stale)
    finally:
        shutil.rmtree(waiting, ignore_errors=True)
