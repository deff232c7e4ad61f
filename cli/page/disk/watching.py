"""Files that others may write: pages are told as soon as one is another than it was."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterable
from pathlib import Path

__all__ = ["Watch"]

_EVERY = 1.0
"""Seconds between looks."""


class Watch:
    """Looks at files now and then, and tells when one of them has changed.

    Parameters
    ----------
    files
        Gives the files to look at; not all have to be there.
    tell
        Is told from a thread of its own.

    """

    def __init__(self, files: Callable[[], Iterable[Path]], tell: Callable[[], None]) -> None:
        self._files, self._tell = files, tell
        self._ended = threading.Event()
        self._thread = threading.Thread(target=self._run, daemon=True)
        self._thread.start()

    def end(self) -> None:
        """Look no more."""
        self._ended.set()
        self._thread.join()

    def _run(self) -> None:
        before = self._seen()
        while not self._ended.wait(_EVERY):
            now = self._seen()
            if now != before:
                self._tell()
            before = now

    def _seen(self) -> dict[Path, tuple[int, int] | None]:
        return {file: _stand(file) for file in self._files()}


def _stand(file: Path) -> tuple[int, int] | None:
    try:
        found = file.stat()
    except OSError:
        return None
    return found.st_mtime_ns, found.st_size
