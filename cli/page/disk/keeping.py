"""What the page shows as saved is on disk; what others wrote meanwhile is not overwritten."""

from __future__ import annotations

import hashlib
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import TYPE_CHECKING

import nesting
from nesting.errors import JobError, NestingError, WriteError
from nesting.leftover import locked
from nesting.writing.folder import PLAN_FILE

if TYPE_CHECKING:
    from nesting import Plan

__all__ = ["Keeper", "Saver", "StaleError", "mark_of"]


class StaleError(JobError):
    """What was asked for concerns what is another by now: a marker, the job file."""


def mark_of(file: Path) -> str:
    """Return what tells a file's content from any other; empty if it isn't there."""
    try:
        return hashlib.sha256(file.read_bytes()).hexdigest()
    except OSError:
        return ""


class Keeper:
    """Writes plans into one folder, unless somebody else did since."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._writing = threading.Lock()
        self._known = mark_of(self.file)

    @property
    def file(self) -> Path:
        """The stored plan."""
        return self.folder / PLAN_FILE

    def changed(self) -> bool:
        """Whether the stored plan is another than was read or written here."""
        return mark_of(self.file) != self._known

    def accept(self) -> None:
        """Let what is stored now be overwritten."""
        self._known = mark_of(self.file)

    @contextmanager
    def alone(self) -> Iterator[None]:
        """Have the folder to oneself: who else writes there just now is waited for a moment.

        Raises
        ------
        WriteError
            Somebody else is at work there for long.

        """
        with self._writing:
            self.folder.mkdir(parents=True, exist_ok=True)
            for patience in (0.05, 0.1, 0.2, 0.4, 0.8, None):
                try:
                    lock = locked(self.folder)
                    lock.__enter__()
                except WriteError:
                    if patience is None:
                        raise
                    time.sleep(patience)
                else:
                    break
            try:
                yield
            finally:
                lock.__exit__(None, None, None)

    def write(
        self, plan: Plan, *, kinds: tuple[str, ...] = (), insist: bool = False
    ) -> tuple[Path, ...]:
        """Write a plan and files of these kinds, all or none.

        Raises
        ------
        WriteError
            The stored plan was changed by somebody else, or the folder can't be written.

        """
        new = not self.folder.exists()
        try:
            self.folder.mkdir(parents=True, exist_ok=True)
            with self._writing, locked(self.folder):
                if self.changed():
                    raise WriteError(
                        "was changed by another program meanwhile",
                        file=str(self.file),
                        hint="say which of the two is to be kept",
                    )
                files = nesting.write_plan(
                    plan, self.folder, kinds=kinds, overwrite=True, insist=insist
                )
                self._known = mark_of(self.file)
        except BaseException as error:
            if new:
                with suppress(OSError):
                    self.folder.rmdir()
            if isinstance(error, OSError) and not isinstance(error, NestingError):
                raise WriteError(
                    f"can't be written: {(error.strerror or str(error)).lower()}",
                    file=str(self.folder),
                    hint="make room, or have the folder made writable",
                ) from error
            raise
        return files


class Saver:
    """Saves the newest state, one after the other, beside what else goes on.

    Parameters
    ----------
    save
        Writes the newest state.
    told
        Hears after each time what went wrong; empty if nothing.

    """

    def __init__(self, save: Callable[[], None], told: Callable[[str], None]) -> None:
        self._save, self._told = save, told
        self._wanted = threading.Event()
        self._ended = False
        self._idle = threading.Event()
        self._idle.set()
        self._thread = threading.Thread(target=self._run, daemon=True)
        self._thread.start()

    def want(self) -> None:
        """Have what is new saved."""
        self._idle.clear()
        self._wanted.set()

    @property
    def pending(self) -> bool:
        """Whether something is not saved yet."""
        return not self._idle.is_set()

    def end(self) -> None:
        """Save what is not saved yet, then end."""
        self._ended = True
        self._wanted.set()
        self._thread.join()

    def _run(self) -> None:
        while True:
            self._wanted.wait()
            self._wanted.clear()
            if self.pending:
                self._once()
            if self._ended and not self._wanted.is_set():
                return

    def _once(self) -> None:
        try:
            self._save()
            trouble = ""
        except NestingError as error:
            trouble = str(error)
        if not self._wanted.is_set():
            self._idle.set()
        self._told(trouble)
