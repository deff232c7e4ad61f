"""Files that lie in and below a folder, while others write there."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path

__all__ = ["lying", "size_of"]


def lying(folder: Path, suffix: str = "", *, deep: int = 1) -> Iterator[Path]:
    """Give the files of one suffix (or of any) in a folder, by name, then those a folder deeper.

    Hidden files and folders and links are nobody's to offer. What goes away while one looks, as
    files do that are being written, is not there.
    """
    folders = []
    for entry in _entries(folder):
        with suppress(OSError):
            if entry.is_dir(follow_symlinks=False):
                folders.append(Path(entry.path))
            elif entry.is_file(follow_symlinks=False) and entry.name.lower().endswith(suffix):
                yield Path(entry.path)
    if deep > 1:
        for inner in folders:
            yield from lying(inner, suffix, deep=deep - 1)


def size_of(path: Path) -> int:
    """Return how many bytes a file has; -1 if it went away."""
    try:
        return path.stat().st_size
    except OSError:
        return -1


def _entries(folder: Path) -> list[os.DirEntry[str]]:
    try:
        with os.scandir(folder) as found:
            return sorted((e for e in found if not e.name.startswith(".")), key=lambda e: e.name)
    except OSError:
        return []
