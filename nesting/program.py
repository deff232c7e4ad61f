"""The program's name and version, for files and reports."""

from __future__ import annotations

from importlib.metadata import version

__all__ = ["program"]


def program() -> str:
    """Return the program's name and version: ``"thriftlay 1.2.3"``."""
    return f"thriftlay {version('thriftlay')}"
