"""How kernels are compiled, and where what is compiled is kept.

The folder is named by the sources of all kernels. numba by itself looks only at the file
that a kernel stands in, and would go on using one whose callee has changed elsewhere.
"""

from __future__ import annotations

import hashlib
import shutil
import tempfile
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

from numba import config
from numba.core.caching import CompileResultCacheImpl, FunctionCache, _CacheLocator
from platformdirs import user_cache_path

from nesting.search.kernels.whole import whole

__all__ = ["compiled", "folder", "inlined", "is_cached", "kernel"]

_SOURCES = Path(__file__).parent


def _key() -> str:
    """Return a name for the text of all kernels, and for how they are compiled."""
    text = hashlib.sha256()
    for source in sorted(_SOURCES.glob("*.py")):
        text.update(source.name.encode() + b"\0" + source.read_bytes() + b"\0")
    checked = "_checked" if config.BOUNDSCHECK else ""
    return f"kernels_{text.hexdigest()[:16]}{checked}"


@cache
def folder() -> Path | None:
    """Return where compiled kernels are kept, or None if they can't be.

    That is under `NUMBA_CACHE_DIR` if it is set, else beside the sources, else, where that
    can't be written, in the user's cache.
    """
    key = _key()
    user = user_cache_path("thriftlay", appauthor=False)
    beside = _SOURCES / "__pycache__"
    for root in (Path(config.CACHE_DIR),) if config.CACHE_DIR else (beside, user):
        try:
            if root == beside and not (root / key).is_dir():
                _sweep(root, keep=key.partition("_checked")[0])
            (root / key).mkdir(parents=True, exist_ok=True)
            tempfile.TemporaryFile(dir=root / key).close()
        except OSError:
            continue
        return root / key
    return None


def _sweep(root: Path, *, keep: str) -> None:
    """Remove what was compiled from sources that are no more."""
    for old in root.glob("kernels_*"):
        if not old.name.startswith(keep):
            shutil.rmtree(old, ignore_errors=True)


class _Locator(_CacheLocator):  # type: ignore[misc]
    """Tells numba the folder; whatever lies in it is fresh."""

    def __init__(self, line: int, path: Path) -> None:
        self._line, self._path = line, path

    def get_cache_path(self) -> str:
        return str(self._path)

    def get_source_stamp(self) -> str:
        return self._path.name

    def get_disambiguator(self) -> str:
        return str(self._line)

    @classmethod
    def from_function(cls, function: Any, _: str) -> _Locator | None:
        path = folder()
        return None if path is None else cls(function.__code__.co_firstlineno, path)


class _Files(CompileResultCacheImpl):  # type: ignore[misc]
    _locator_classes = (_Locator,)


class _Cache(FunctionCache):  # type: ignore[misc]
    _impl_class = _Files


def compiled(**options: Any) -> Callable[[Callable[..., Any]], Any]:
    """Compile a function when Python first calls it, or take it from the folder.

    Those that it calls are compiled with it, see `whole`.
    Where numba is told to compile nothing (`NUMBA_DISABLE_JIT=1`) it stays as it is.
    """

    def make(function: Callable[..., Any]) -> Any:
        made = whole(function, error_model="numpy", **options)
        if made is not function and folder() is not None:
            made._cache = _Cache(function)
        return made

    return make


def is_cached(function: Any) -> bool:
    """Tell whether a kernel is compiled already, in this process or in the folder."""
    if getattr(function, "signatures", True):  # or nothing is to be compiled
        return True
    path = folder()
    return path is not None and any(path.glob(f"*.{function.__name__}-*.nbi"))


kernel = compiled(_nrt=False)
"""Nothing is allocated here, so no references are counted: it cost a third of all time."""
inlined = compiled(_nrt=False, forceinline=True)
