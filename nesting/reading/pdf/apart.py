"""A PDF read in a process of its own, whose time and memory are bounded: files may be hostile."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path

from nesting.limits import LONGEST_PDF, MOST_PDF_MEMORY, MOST_PDF_PAGES

__all__ = ["read_apart"]


def read_apart(
    script: str, data: bytes, wanted: Sequence[int], **more: int
) -> subprocess.CompletedProcess[bytes]:
    """Return how a script ended that was given a file, and what it printed.

    `wanted`: its pages, from 1; all of it and `more` limits stand in the script's first argument.

    Raises
    ------
    subprocess.TimeoutExpired
        If it went on for much longer than the processor time it may have.

    """
    limits = {
        "wanted": list(wanted),
        "pages": MOST_PDF_PAGES,
        "memory": MOST_PDF_MEMORY,
        "cpu": LONGEST_PDF,
        **more,
    }
    return subprocess.run(
        [sys.executable, "-P", str(Path(script)), json.dumps(limits)],
        input=data,
        capture_output=True,
        timeout=4 * LONGEST_PDF,
        check=False,
    )
