"""The folder that a plan's files go into, made sure of before any work."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path as FilePath

from nesting.errors import NestingError, WriteError
from nesting.leftover import clear_leftovers, temporary_name
from nesting.whole import write_error

__all__ = ["PLAN_FILE", "UNFINISHED", "filled", "holds_another", "ready_folder"]

PLAN_FILE = "plan.json"

UNFINISHED = ".unfinished"
"""In the folder of a plan that was interrupted: what is kept for its next start."""


def ready_folder(folder: FilePath | str, *, overwrite: bool = False) -> FilePath:
    """Make sure, before any work, that a new plan's files can go into a folder.

    Raises
    ------
    WriteError
        It can't be made or written, or it holds a plan and `overwrite` is not set.

    """
    folder = FilePath(folder)
    try:
        folder.mkdir(parents=True, exist_ok=True)
        clear_leftovers(folder)
        trial = folder / temporary_name()
        trial.mkdir()
        trial.rmdir()
    except OSError as error:
        raise write_error(folder, error) from error
    if (folder / PLAN_FILE).exists() and not overwrite:
        raise holds_another(folder)
    return folder


@contextmanager
def filled(folder: FilePath, names: Iterable[str], *, overwrite: bool) -> Iterator[None]:
    """Make a folder that files of these names go into; one that comes to nothing is not left.

    Raises
    ------
    WriteError
        One of them is there and `overwrite` is not set, or the folder can't be written.

    """
    made = not folder.exists()
    try:
        folder.mkdir(parents=True, exist_ok=True)
        held = [name for name in names if (folder / name).exists()]
        if held and not overwrite:
            raise WriteError(
                "exists already",
                file=str(folder / held[0]),
                hint="say overwrite=True to replace what is there",
            )
        yield
    except BaseException as error:
        if made:
            with suppress(OSError):  # others may have put something there
                folder.rmdir()
        if isinstance(error, OSError) and not isinstance(error, NestingError):
            raise write_error(folder, error) from error
        raise


def holds_another(folder: FilePath) -> WriteError:
    """Return the complaint about a folder that holds a plan already."""
    return WriteError(
        "holds another plan already",
        file=str(folder),
        hint="name another folder, or say overwrite=True",
    )
